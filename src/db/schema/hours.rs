//! The hours: what changed when, who is on duty or in the building, feeds of it all.

use super::{api_tokens, bookings, members, sessions, sinks};

diesel::table! {
    pulse (id) {
        id -> BigInt,
        n -> BigInt,
        people -> BigInt,
    }
}

diesel::table! {
    day_revisions (id) {
        id -> BigInt,
        n -> BigInt,
    }
}

diesel::table! {
    duties (id) {
        id -> BigInt,
        member_id -> BigInt,
        date -> Date,
        from_wall -> Text,
        to_wall -> Text,
        from_s -> BigInt,
        to_s -> BigInt,
        note -> Text,
        made_s -> BigInt,
    }
}

diesel::table! {
    customs (id) {
        id -> BigInt,
        remind_min -> BigInt,
        offer_min -> BigInt,
        no_show_min -> BigInt,
        left_open_min -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    visits (id) {
        id -> BigInt,
        member_id -> BigInt,
        in_s -> BigInt,
        out_s -> Nullable<BigInt>,
        out_by -> Nullable<BigInt>,
    }
}

diesel::table! {
    closing_items (id) {
        id -> BigInt,
        position -> BigInt,
        text -> Text,
    }
}

diesel::table! {
    closings (id) {
        id -> BigInt,
        member_id -> BigInt,
        at_s -> BigInt,
        note -> Text,
    }
}

diesel::table! {
    closing_lines (closing_id, position) {
        closing_id -> BigInt,
        position -> BigInt,
        text -> Text,
        done -> Bool,
    }
}

diesel::table! {
    arrivals (id) {
        id -> BigInt,
        booking_id -> BigInt,
        at_s -> BigInt,
        by_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    no_shows (id) {
        id -> BigInt,
        booking_id -> BigInt,
        member_id -> BigInt,
        at_s -> BigInt,
    }
}

diesel::table! {
    feeds (id) {
        id -> BigInt,
        member_id -> Nullable<BigInt>,
        number -> BigInt,
        made_s -> BigInt,
    }
}

diesel::table! {
    wall (id) {
        id -> BigInt,
        number -> BigInt,
        dark_until_s -> Nullable<BigInt>,
        with_room -> Bool,
    }
}

diesel::table! {
    wall_names (id) {
        id -> BigInt,
        member_id -> BigInt,
        shows -> Text,
    }
}

diesel::table! {
    wishes (id) {
        id -> BigInt,
        member_id -> BigInt,
        date -> Date,
        from_wall -> Text,
        to_wall -> Text,
        length_min -> BigInt,
        sink_id -> Nullable<BigInt>,
        state -> Text,
        made_s -> BigInt,
    }
}

diesel::table! {
    offers (id) {
        id -> BigInt,
        wish_id -> BigInt,
        sink_id -> BigInt,
        from_s -> BigInt,
        to_s -> BigInt,
        made_s -> BigInt,
        expires_s -> BigInt,
        state -> Text,
    }
}

diesel::table! {
    series (id) {
        id -> BigInt,
        member_id -> BigInt,
        title -> Text,
        sink_id -> BigInt,
        first_date -> Date,
        from_wall -> Text,
        to_wall -> Text,
        rule -> Text,
        made_s -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    occurrences (id) {
        id -> BigInt,
        series_id -> BigInt,
        original -> Text,
        booking_id -> Nullable<BigInt>,
        left_out -> Text,
    }
}

diesel::allow_tables_to_appear_in_same_query!(duties, members);
diesel::allow_tables_to_appear_in_same_query!(wishes, members);
diesel::allow_tables_to_appear_in_same_query!(wishes, offers);
diesel::allow_tables_to_appear_in_same_query!(series, sinks);
diesel::allow_tables_to_appear_in_same_query!(occurrences, series);
diesel::allow_tables_to_appear_in_same_query!(occurrences, bookings);
diesel::allow_tables_to_appear_in_same_query!(visits, members);
diesel::allow_tables_to_appear_in_same_query!(closings, members);
diesel::allow_tables_to_appear_in_same_query!(pulse, sessions);
diesel::allow_tables_to_appear_in_same_query!(pulse, api_tokens);
diesel::allow_tables_to_appear_in_same_query!(pulse, members);
diesel::allow_tables_to_appear_in_same_query!(no_shows, members);
diesel::allow_tables_to_appear_in_same_query!(arrivals, bookings);
diesel::allow_tables_to_appear_in_same_query!(arrivals, sinks);
