//! The planner through its public surface: the file format, and what holds for any day.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::too_many_lines,
    clippy::str_to_string,
    clippy::needless_pass_by_value,
    missing_docs,
    unreachable_pub,
    reason = "tests say what they mean, and fail loudly"
)]

mod days;
mod file;
mod groups;
mod hand_worked;
mod properties;
mod proven;
mod watching;
