//! All tables, in the order of the migrations. Written once for both engines.
#![allow(missing_docs, unreachable_pub, reason = "the macro writes items that cannot carry either")]

mod day;
mod drop_box;
mod happened;
mod hours;
mod kept;
mod liquids;
mod notes;
mod room;

pub use day::*;
pub use drop_box::*;
pub use happened::*;
pub use hours::*;
pub use kept::*;
pub use liquids::*;
pub use notes::*;
pub use room::*;

diesel::table! {
    studio (id) {
        id -> BigInt,
        name -> Text,
        about -> Text,
        time_zone -> Text,
        joining -> Text,
        password_length -> BigInt,
        near_limit_percent -> BigInt,
        key_print -> Binary,
        version -> BigInt,
    }
}

diesel::table! {
    members (id) {
        id -> BigInt,
        name -> Text,
        email -> Nullable<Text>,
        email_key -> Nullable<Text>,
        password_hash -> Nullable<Text>,
        role -> Text,
        state -> Text,
        verified_s -> Nullable<BigInt>,
        time_zone -> Nullable<Text>,
        day_order -> Text,
        hours_24 -> Bool,
        us_units -> Bool,
        note -> Text,
        created_s -> BigInt,
        left_s -> Nullable<BigInt>,
        version -> BigInt,
    }
}

diesel::table! {
    sessions (id) {
        id -> BigInt,
        member_id -> BigInt,
        token_hash -> Binary,
        agent -> Text,
        address -> Text,
        created_s -> BigInt,
        seen_s -> BigInt,
        expires_s -> BigInt,
        second_factor -> Bool,
    }
}

diesel::table! {
    api_tokens (id) {
        id -> BigInt,
        member_id -> BigInt,
        token_hash -> Binary,
        label -> Text,
        created_s -> BigInt,
        seen_s -> Nullable<BigInt>,
        expires_s -> BigInt,
        second_factor -> Bool,
    }
}

diesel::table! {
    secret_links (id) {
        id -> BigInt,
        purpose -> Text,
        member_id -> Nullable<BigInt>,
        payload -> Nullable<Text>,
        created_s -> BigInt,
        expires_s -> BigInt,
        used_s -> Nullable<BigInt>,
    }
}

diesel::table! {
    tries (id) {
        id -> BigInt,
        key -> Text,
        at_s -> BigInt,
    }
}

diesel::table! {
    once_keys (scope, key) {
        scope -> Text,
        key -> Text,
        print -> Binary,
        answer -> Text,
        at_s -> BigInt,
    }
}

diesel::table! {
    outbox (id) {
        id -> BigInt,
        kind -> Text,
        member_id -> Nullable<BigInt>,
        to_name -> Text,
        to_address -> Text,
        subject -> Text,
        body -> Text,
        optional -> Bool,
        link_id -> Nullable<BigInt>,
        dedupe_key -> Text,
        message_id -> Text,
        created_s -> BigInt,
        send_after_s -> BigInt,
        attempts -> BigInt,
        claimed_by -> Nullable<Text>,
        claimed_until_s -> Nullable<BigInt>,
        last_error -> Nullable<Text>,
        sent_s -> Nullable<BigInt>,
        parked_s -> Nullable<BigInt>,
    }
}

diesel::table! {
    unwanted_letters (member_id, kind) {
        member_id -> BigInt,
        kind -> Text,
    }
}

diesel::table! {
    films (id) {
        id -> BigInt,
        name -> Text,
        speed -> BigInt,
        tabular -> Bool,
        formats -> Text,
    }
}

diesel::table! {
    developers (id) {
        id -> BigInt,
        name -> Text,
        water_parts -> BigInt,
        least_ul_per_roll -> BigInt,
        factor_milli -> Nullable<BigInt>,
        product -> Text,
        handling -> Text,
        growth_percent_milli -> Nullable<BigInt>,
        growth_every_milli -> Nullable<BigInt>,
        growth_counted -> Nullable<Text>,
        growth_on -> Nullable<Text>,
        takes_milli -> Nullable<BigInt>,
        on_hand -> Bool,
        version -> BigInt,
        parts -> Text,
    }
}

diesel::table! {
    recipes (id) {
        id -> BigInt,
        film_id -> BigInt,
        ei -> BigInt,
        developer_id -> BigInt,
        temperature_mc -> BigInt,
        agitation -> Text,
        pre_soak_s -> BigInt,
        time_s -> BigInt,
        source -> Text,
        entered_by -> Nullable<BigInt>,
        entered_s -> BigInt,
        line_id -> BigInt,
        number -> BigInt,
        state -> Text,
        contrast -> Text,
        why -> Text,
        decided_by -> Nullable<BigInt>,
        decided_s -> Nullable<BigInt>,
    }
}

diesel::table! {
    recipe_times (recipe_id, temperature_mc) {
        recipe_id -> BigInt,
        temperature_mc -> BigInt,
        time_s -> BigInt,
    }
}

diesel::table! {
    chart_files (id) {
        id -> BigInt,
        member_id -> BigInt,
        body -> Text,
        made_s -> BigInt,
    }
}

diesel::table! {
    rolls (id) {
        id -> BigInt,
        ticket -> Text,
        member_id -> BigInt,
        film_id -> BigInt,
        format -> Text,
        ei -> BigInt,
        recipe_id -> Nullable<BigInt>,
        state -> Text,
        note -> Text,
        due_s -> Nullable<BigInt>,
        handed_in_s -> BigInt,
        version -> BigInt,
        sheets -> Nullable<BigInt>,
        backing -> Bool,
        spool -> Bool,
        torn -> Bool,
        guessed -> Bool,
        length -> Text,
        care -> Text,
        shares -> Bool,
        tolerance_percent -> Nullable<BigInt>,
        ready_s -> Nullable<BigInt>,
        terms_id -> Nullable<BigInt>,
        tank_id -> Nullable<BigInt>,
        place -> Nullable<BigInt>,
        peg -> Nullable<Text>,
        state_s -> BigInt,
        tested_s -> Nullable<BigInt>,
    }
}

diesel::table! {
    roll_events (id) {
        id -> BigInt,
        roll_id -> BigInt,
        at_s -> BigInt,
        by_id -> Nullable<BigInt>,
        state -> Text,
        note -> Text,
    }
}

diesel::table! {
    drop_off_terms (id) {
        id -> BigInt,
        number -> BigInt,
        body -> Text,
        published_s -> BigInt,
        published_by -> Nullable<BigInt>,
    }
}

diesel::table! {
    accepted_terms (terms_id, member_id) {
        terms_id -> BigInt,
        member_id -> BigInt,
        at_s -> BigInt,
    }
}

diesel::table! {
    processing_records (id) {
        id -> BigInt,
        roll_id -> BigInt,
        run_id -> Nullable<BigInt>,
        recipe_id -> Nullable<BigInt>,
        at_s -> BigInt,
        by_id -> Nullable<BigInt>,
        film_id -> BigInt,
        ei -> BigInt,
        format -> Text,
        developer -> Text,
        agitation -> Text,
        tank -> Text,
        place -> Nullable<BigInt>,
        concentrate_ul -> BigInt,
        water_ul -> BigInt,
        planned_mc -> BigInt,
        measured_mc -> Nullable<BigInt>,
        planned_s -> BigInt,
        actual_s -> Nullable<BigInt>,
        baths -> Text,
        note -> Text,
    }
}

diesel::table! {
    result_notes (id) {
        id -> BigInt,
        roll_id -> BigInt,
        at_s -> BigInt,
        by_id -> Nullable<BigInt>,
        look -> Text,
        note -> Text,
    }
}

diesel::table! {
    result_words (roll_id, word) {
        roll_id -> BigInt,
        word -> Text,
    }
}

diesel::table! {
    safety_notes (id) {
        id -> BigInt,
        slug -> Text,
        number -> BigInt,
        position -> BigInt,
        title -> Text,
        summary -> Text,
        body -> Text,
        essential -> Bool,
        published_s -> BigInt,
        published_by -> Nullable<BigInt>,
        change_note -> Text,
        withdrawn -> Bool,
    }
}

diesel::allow_tables_to_appear_in_same_query!(
    studio,
    members,
    sessions,
    api_tokens,
    secret_links,
    tries,
    once_keys,
    outbox,
    unwanted_letters,
    sinks,
    tanks,
    reel_kinds,
    opening_hours,
    units,
    bookings,
    holds,
    films,
    developers,
    recipes,
    recipe_times,
    chart_files,
    rolls,
    roll_events,
    drop_off_terms,
    accepted_terms,
    processing_records,
    result_notes,
    result_words,
    baths,
    bath_entries,
    bath_settings,
    products,
    product_hazards,
    lots,
    bottles,
    draws,
    waste_containers,
    waste_log,
    waste_rules,
    day_plans,
    runs,
    run_rolls,
    run_parts,
    day_figures,
    day_changes,
    own_runs,
    run_events,
    safety_notes,
    rooms,
    tank_loads,
    reel_formats,
    stations,
    special_days,
    outages,
    booking_limits,
    peak_hours,
    room_lights,
);
