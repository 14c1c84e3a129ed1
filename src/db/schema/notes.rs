//! Safety notes and the way in.

use super::members;

diesel::table! {
    note_fillings (id) {
        id -> BigInt,
        blank -> Text,
        value -> Text,
        authority -> Text,
        ruled_on -> Nullable<Date>,
        filled_s -> BigInt,
        filled_by -> Nullable<BigInt>,
    }
}

diesel::table! {
    note_questions (id) {
        id -> BigInt,
        slug -> Text,
        question -> Text,
        right_answer -> Text,
        wrong_answer -> Text,
        second_wrong -> Text,
        why -> Text,
        retired_s -> Nullable<BigInt>,
        version -> BigInt,
    }
}

diesel::table! {
    note_acknowledgements (id) {
        id -> BigInt,
        slug -> Text,
        number -> BigInt,
        member_id -> BigInt,
        at_s -> BigInt,
        questions -> BigInt,
    }
}

diesel::table! {
    induction_items (id) {
        id -> BigInt,
        position -> BigInt,
        text -> Text,
        retired_s -> Nullable<BigInt>,
        version -> BigInt,
    }
}

diesel::table! {
    induction_signatures (id) {
        id -> BigInt,
        item_id -> BigInt,
        member_id -> BigInt,
        signed_by -> BigInt,
        at_s -> BigInt,
    }
}

diesel::joinable!(note_acknowledgements -> members (member_id));

diesel::allow_tables_to_appear_in_same_query!(note_acknowledgements, members);
