//! The room, what it promises and the limits on promising it.

diesel::table! {
    sinks (id) {
        id -> BigInt,
        name -> Text,
        position -> BigInt,
        places -> BigInt,
        note -> Text,
        version -> BigInt,
        room_id -> Nullable<BigInt>,
        is_sink -> Bool,
        tanks_at_once -> BigInt,
        retired -> Bool,
    }
}

diesel::table! {
    tanks (id) {
        id -> BigInt,
        name -> Text,
        position -> BigInt,
        stack_mm -> BigInt,
        max_reels -> BigInt,
        base_ml -> BigInt,
        min_ml -> BigInt,
        max_ml -> BigInt,
        note -> Text,
        version -> BigInt,
        rotary_ml -> Nullable<BigInt>,
        retired -> Bool,
    }
}

diesel::table! {
    reel_kinds (id) {
        id -> BigInt,
        kind -> Text,
        height_mm -> BigInt,
        cover_ml -> BigInt,
        owned -> BigInt,
        drying_s -> BigInt,
        position -> BigInt,
        note -> Text,
        version -> BigInt,
    }
}

diesel::table! {
    opening_hours (id) {
        id -> BigInt,
        weekday -> BigInt,
        from_min -> BigInt,
        to_min -> BigInt,
    }
}

diesel::table! {
    units (id) {
        id -> BigInt,
        kind -> Text,
        of_id -> BigInt,
        seat -> BigInt,
    }
}

diesel::table! {
    bookings (id) {
        id -> BigInt,
        member_id -> BigInt,
        sink_id -> BigInt,
        date -> Date,
        from_wall -> Text,
        to_wall -> Text,
        second_pass -> Bool,
        from_s -> BigInt,
        to_s -> BigInt,
        state -> Text,
        note -> Text,
        created_s -> BigInt,
        version -> BigInt,
        light -> Text,
        gap_s -> BigInt,
        to_second_pass -> Bool,
        made_by -> Nullable<BigInt>,
        changed_s -> BigInt,
    }
}

diesel::table! {
    holds (id) {
        id -> BigInt,
        unit_id -> BigInt,
        from_s -> BigInt,
        to_s -> BigInt,
        why -> Text,
        booking_id -> Nullable<BigInt>,
        run_id -> Nullable<BigInt>,
        outage_id -> Nullable<BigInt>,
        offer_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    rooms (id) {
        id -> BigInt,
        name -> Text,
        position -> BigInt,
        note -> Text,
        version -> BigInt,
    }
}

diesel::table! {
    tank_loads (tank_id, format) {
        tank_id -> BigInt,
        format -> Text,
        most -> BigInt,
    }
}

diesel::table! {
    reel_formats (reel_id, format) {
        reel_id -> BigInt,
        format -> Text,
        height_mm -> BigInt,
        cover_ml -> BigInt,
    }
}

diesel::table! {
    stations (id) {
        id -> BigInt,
        kind -> Text,
        name -> Text,
        position -> BigInt,
        places -> BigInt,
        room_id -> BigInt,
        drying_s -> BigInt,
        note -> Text,
        retired -> Bool,
        version -> BigInt,
    }
}

diesel::table! {
    special_days (id) {
        id -> BigInt,
        from_date -> Date,
        to_date -> Date,
        hours -> Text,
        reason -> Text,
    }
}

diesel::table! {
    outages (id) {
        id -> BigInt,
        kind -> Text,
        of_id -> BigInt,
        count -> BigInt,
        from_s -> BigInt,
        to_s -> BigInt,
        reason -> Text,
        made_s -> BigInt,
        made_by -> Nullable<BigInt>,
    }
}

diesel::table! {
    booking_limits (id) {
        id -> BigInt,
        grid_min -> BigInt,
        longest_min -> BigInt,
        per_week -> Nullable<BigInt>,
        minutes_per_week -> Nullable<BigInt>,
        ahead_days -> BigInt,
        notice_min -> BigInt,
        gap_min -> BigInt,
        newcomers_per_lead -> BigInt,
        peak_minutes_per_week -> Nullable<BigInt>,
        peak_opens_min -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    peak_hours (id) {
        id -> BigInt,
        weekday -> BigInt,
        from_min -> BigInt,
        to_min -> BigInt,
    }
}

diesel::table! {
    room_lights (id) {
        id -> BigInt,
        room_id -> BigInt,
        light -> Text,
        from_s -> BigInt,
        to_s -> BigInt,
        booking_id -> Nullable<BigInt>,
        run_id -> Nullable<BigInt>,
        offer_id -> Nullable<BigInt>,
    }
}
