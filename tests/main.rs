//! The house, told in stories over HTTP, each on SQLite and on PostgreSQL.
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

#[macro_use]
mod house;

mod access;
mod architecture;
mod backups;
mod bookings;
mod chart_files;
mod databases;
mod duty;
mod frame;
mod letters;
mod live;
mod members;
mod members_input;
mod program;
mod recipes;
mod rolls;
mod sign_in;
mod sinks;
mod walk;
