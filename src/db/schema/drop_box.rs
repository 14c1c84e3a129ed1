//! How long film waits in the studio, and sheets of labels of its own.

diesel::table! {
    roll_customs (id) {
        id -> BigInt,
        wait_days -> BigInt,
        kept_days -> BigInt,
        join_min -> BigInt,
        version -> BigInt,
    }
}

diesel::table! {
    label_sheets (id) {
        id -> BigInt,
        name -> Text,
        page_width -> BigInt,
        page_height -> BigInt,
        across -> BigInt,
        down -> BigInt,
        label_width -> BigInt,
        label_height -> BigInt,
        left_margin -> BigInt,
        top_margin -> BigInt,
        gap_across -> BigInt,
        gap_down -> BigInt,
    }
}
