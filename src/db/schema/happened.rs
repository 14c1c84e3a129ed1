//! Incidents, checks of the eyewash, and what is barred.

diesel::table! {
    safety_settings (id) {
        id -> BigInt,
        safety_lead_id -> Nullable<BigInt>,
        keep_incidents_months -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    incidents (id) {
        id -> BigInt,
        filed_by -> BigInt,
        filed_s -> BigInt,
        happened -> Text,
        place -> Text,
        what -> Text,
        chemical -> Text,
        injury -> Text,
        first_aid -> Text,
        closed_s -> Nullable<BigInt>,
    }
}

diesel::table! {
    incident_follow_ups (id) {
        id -> BigInt,
        incident_id -> BigInt,
        at_s -> BigInt,
        by_id -> BigInt,
        text -> Text,
    }
}

diesel::table! {
    eyewash_checks (id) {
        id -> BigInt,
        at_s -> BigInt,
        by_id -> BigInt,
        works -> Bool,
        note -> Text,
    }
}

diesel::table! {
    taken_on (id) {
        id -> BigInt,
        what -> Text,
        taken_by -> BigInt,
        taken_s -> BigInt,
        reason -> Text,
    }
}
