//! The hours: what changed when, who is on duty or in the building, feeds of it all.

use super::{bookings, members};

diesel::table! {
    pulse (id) {
        id -> BigInt,
        n -> BigInt,
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

diesel::allow_tables_to_appear_in_same_query!(duties, members);
diesel::allow_tables_to_appear_in_same_query!(visits, members);
diesel::allow_tables_to_appear_in_same_query!(closings, members);
diesel::allow_tables_to_appear_in_same_query!(no_shows, members);
diesel::allow_tables_to_appear_in_same_query!(arrivals, bookings);
