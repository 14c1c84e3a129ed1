//! Plans of a day, their runs, and what happened at the sink.

diesel::table! {
    day_plans (id) {
        id -> BigInt,
        date -> Date,
        number -> BigInt,
        state -> Text,
        made_s -> BigInt,
        made_by -> BigInt,
        published_s -> Nullable<BigInt>,
        left_over -> Text,
        wish -> Text,
        outcome -> Text,
        made_from -> Nullable<BigInt>,
        said -> Text,
    }
}

diesel::table! {
    runs (id) {
        id -> BigInt,
        plan_id -> BigInt,
        number -> BigInt,
        sink_id -> BigInt,
        tank_id -> BigInt,
        developer_id -> BigInt,
        fixer_id -> Nullable<BigInt>,
        load_from_s -> BigInt,
        from_s -> BigInt,
        to_s -> BigInt,
        temperature_mc -> BigInt,
        agitation -> Text,
        pre_soak_s -> BigInt,
        time_s -> BigInt,
        fix_s -> BigInt,
        developer_ul -> BigInt,
        concentrate_ul -> BigInt,
        water_ul -> BigInt,
        fixer_milli -> BigInt,
        why -> Text,
        ended_s -> Nullable<BigInt>,
        ended_by -> Nullable<BigInt>,
        load_to_s -> BigInt,
        steps -> Text,
        measure -> Text,
        pinned -> Bool,
        withdrawn_s -> Nullable<BigInt>,
        developer_bath_id -> Nullable<BigInt>,
        shelf_ul -> BigInt,
    }
}

diesel::table! {
    run_rolls (run_id, place) {
        run_id -> BigInt,
        place -> BigInt,
        roll_id -> BigInt,
        recipe_id -> Nullable<BigInt>,
    }
}

diesel::table! {
    day_figures (name) {
        name -> Text,
        value -> BigInt,
    }
}

diesel::table! {
    day_changes (id) {
        id -> BigInt,
        date -> Date,
        number -> BigInt,
        at_s -> BigInt,
        by_id -> BigInt,
        sentence -> Text,
    }
}

diesel::table! {
    run_parts (run_id, place) {
        run_id -> BigInt,
        place -> BigInt,
        name -> Text,
        ul -> BigInt,
    }
}

diesel::table! {
    own_runs (id) {
        id -> BigInt,
        run_id -> BigInt,
        member_id -> BigInt,
        booking_id -> BigInt,
    }
}

diesel::table! {
    run_events (id) {
        id -> BigInt,
        run_id -> BigInt,
        kind -> Text,
        step -> Nullable<BigInt>,
        at_s -> BigInt,
        told_s -> BigInt,
        by_id -> Nullable<BigInt>,
        value -> Nullable<BigInt>,
        note -> Text,
    }
}

diesel::table! {
    planning_jobs (id) {
        id -> BigInt,
        date -> Date,
        rolls -> BigInt,
        begun_s -> BigInt,
        begun_by -> BigInt,
        state -> Text,
        wanted -> Text,
        seen_s -> BigInt,
        tries -> BigInt,
        runs -> BigInt,
        sentence -> Text,
        phase -> Text,
        steps_done -> BigInt,
        steps_all -> BigInt,
    }
}
