//! Wetside: the server of a shared black-and-white darkroom.
//!
//! The modules in reading order; each folder is one room of the house. What a change does is told
//! in `DEVELOPERS.md`.
#![cfg_attr(
    test,
    allow(
        clippy::as_conversions,
        clippy::too_many_lines,
        clippy::str_to_string,
        reason = "tests say what they mean with literals"
    )
)]

// Pure computing: no database, no clock, no network.
pub use wetside_computing::{chemistry, hazards, planner, units};

// The frame: what every room stands on.
pub mod clock;
pub mod config;
pub mod db;
pub mod error;
pub mod links;
pub mod outbox;
pub mod pulse;
pub mod secrets;
pub mod sessions;
pub mod studio;
pub mod throttle;
pub mod web;

// The rooms, from the ground up.
pub mod baths;
pub mod belongings;
pub mod bookings;
pub mod calendar;
pub mod costs;
pub mod customs;
pub mod data_sheets;
pub mod day;
pub mod duty;
pub mod find;
pub mod front;
pub mod incidents;
pub mod keeping;
pub mod members;
pub mod month;
pub mod presence;
pub mod recipes;
pub mod rolls;
pub mod safety;
pub mod series;
pub mod shelf;
pub mod sinks;
pub mod wall;
pub mod waste;

// The house as a whole.
pub mod api;
pub mod app;
pub mod cli;
pub mod demo;
pub mod jobs;
