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
#[path = "planner/days.rs"]
mod planned_days;

mod access;
mod architecture;
mod at_sink;
mod backups;
mod baths;
mod belongings;
mod board;
mod bookings;
mod calendar;
mod chart_files;
mod clocks;
mod databases;
mod day;
mod day_by_api;
mod day_liquids;
mod duty;
mod find;
mod frame;
mod front;
mod incidents;
mod jobs;
mod joining;
mod letters;
mod live;
mod members;
mod members_input;
mod month;
mod never_twice;
mod new_clock;
mod own_session;
mod pick_up;
mod plan_files;
mod presence;
mod program;
mod recipes;
mod rolls;
mod room;
mod runs_in_the_room;
mod safety;
mod second_factor;
mod series;
mod shelf;
mod sign_in;
mod sinks;
mod trail;
mod upgrades;
mod waiting;
mod walk;
mod wall;
mod way_in;
mod who_asks;
