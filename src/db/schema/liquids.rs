//! The tables of the baths, the shelf and the waste.

diesel::table! {
    baths (id) {
        id -> BigInt,
        kind -> Text,
        label -> Text,
        volume_ul -> BigInt,
        capacity_milli -> BigInt,
        fix_s -> BigInt,
        mixed_s -> BigInt,
        keeps_days -> BigInt,
        retired_s -> Nullable<BigInt>,
        number -> BigInt,
        place -> Text,
        material -> Text,
        way -> Text,
        product_id -> Nullable<BigInt>,
        water_parts -> Nullable<BigInt>,
        least_ul -> BigInt,
        half_keeps_days -> Nullable<BigInt>,
        growth_permille -> Nullable<BigInt>,
        growth_every_milli -> Nullable<BigInt>,
        replenish_ul -> Nullable<BigInt>,
        promotions -> BigInt,
        mixed_by -> Nullable<BigInt>,
        replenisher_id -> Nullable<BigInt>,
        replenisher_water -> Nullable<BigInt>,
    }
}

diesel::table! {
    bath_entries (id) {
        id -> BigInt,
        bath_id -> BigInt,
        at_s -> BigInt,
        by_id -> Nullable<BigInt>,
        kind -> Text,
        milli -> BigInt,
        seconds -> Nullable<BigInt>,
        run_id -> Nullable<BigInt>,
        corrects_id -> Nullable<BigInt>,
        note -> Text,
        film_milli -> BigInt,
        volume_ul -> BigInt,
        film -> Text,
        temperature_mc -> Nullable<BigInt>,
        pre_wet -> Bool,
        passed -> Nullable<Bool>,
    }
}

diesel::table! {
    bath_settings (id) {
        id -> BigInt,
        margin_percent -> BigInt,
        tabular_percent -> BigInt,
        carry_over_ul -> BigInt,
        second_bath_percent -> BigInt,
        most_promotions -> BigInt,
        opened_long_days -> BigInt,
        currency -> Text,
        version -> BigInt,
    }
}

diesel::table! {
    products (id) {
        id -> BigInt,
        name -> Text,
        kind -> Text,
        form -> Text,
        developer_id -> Nullable<BigInt>,
        water_parts -> Nullable<BigInt>,
        mg_per_litre -> Nullable<BigInt>,
        rolls_per_litre_milli -> Nullable<BigInt>,
        working_keeps_days -> Nullable<BigInt>,
        opened_keeps_days -> Nullable<BigInt>,
        size -> BigInt,
        reorder_at -> BigInt,
        price -> BigInt,
        note -> Text,
        version -> BigInt,
        developer_part -> BigInt,
    }
}

diesel::table! {
    product_hazards (product_id, strength) {
        product_id -> BigInt,
        strength -> Text,
        signal -> Text,
        codes -> Text,
        words -> Text,
    }
}

diesel::table! {
    lots (id) {
        id -> BigInt,
        product_id -> BigInt,
        number -> Text,
        expires -> Nullable<Date>,
        received_s -> BigInt,
    }
}

diesel::table! {
    bottles (id) {
        id -> BigInt,
        lot_id -> BigInt,
        size -> BigInt,
        held -> BigInt,
        price -> BigInt,
        opened_s -> Nullable<BigInt>,
        tested_s -> Nullable<BigInt>,
        emptied_s -> Nullable<BigInt>,
        set_aside_s -> Nullable<BigInt>,
        set_aside_why -> Text,
        version -> BigInt,
    }
}

diesel::table! {
    draws (id) {
        id -> BigInt,
        bottle_id -> BigInt,
        at_s -> BigInt,
        by_id -> Nullable<BigInt>,
        kind -> Text,
        amount -> BigInt,
        cost -> BigInt,
        bath_id -> Nullable<BigInt>,
        run_id -> Nullable<BigInt>,
        why -> Text,
    }
}

diesel::table! {
    waste_containers (id) {
        id -> BigInt,
        name -> Text,
        accepts -> Text,
        holds_ul -> BigInt,
        contact -> Text,
        note -> Text,
        version -> BigInt,
    }
}

diesel::table! {
    waste_log (id) {
        id -> BigInt,
        container_id -> BigInt,
        at_s -> BigInt,
        by_id -> Nullable<BigInt>,
        kind -> Text,
        what -> Text,
        bath_id -> Nullable<BigInt>,
        volume_ul -> BigInt,
        silver_least_mg -> BigInt,
        silver_most_mg -> BigInt,
        assumed -> Text,
        note -> Text,
    }
}

diesel::table! {
    waste_rules (id) {
        id -> BigInt,
        kind -> Text,
        rule -> Text,
        authority -> Text,
        dated -> Date,
        by_id -> Nullable<BigInt>,
        at_s -> BigInt,
    }
}
