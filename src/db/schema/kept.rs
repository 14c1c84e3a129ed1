//! Second factors; the trail of who changed what; how long what is past is kept.

diesel::table! {
    second_factors (id) {
        id -> BigInt,
        member_id -> BigInt,
        drawn -> Binary,
        begun_s -> BigInt,
        confirmed_s -> Nullable<BigInt>,
        last_step -> BigInt,
    }
}

diesel::table! {
    recovery_codes (id) {
        id -> BigInt,
        member_id -> BigInt,
        code_hash -> Binary,
        used_s -> Nullable<BigInt>,
    }
}

diesel::table! {
    keeping (id) {
        id -> BigInt,
        trail_days -> BigInt,
        letters_days -> BigInt,
        holds_days -> BigInt,
        leads_second_factor -> Bool,
        version -> BigInt,
    }
}

diesel::table! {
    trail (id) {
        id -> BigInt,
        at_s -> BigInt,
        actor_id -> Nullable<BigInt>,
        via -> Text,
        door -> Text,
        thing -> Text,
        owner_id -> Nullable<BigInt>,
        only_tried -> Bool,
    }
}

diesel::table! {
    jobs (name) {
        name -> Text,
        holder -> Text,
        fence -> BigInt,
        until_s -> BigInt,
        due_s -> BigInt,
    }
}
