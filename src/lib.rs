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
pub mod chemistry;
pub mod hazards;
pub mod planner;
pub mod units;

// The frame: what every room stands on.
#[cfg(feature = "server")]
pub mod clock;
#[cfg(feature = "server")]
pub mod config;
#[cfg(feature = "server")]
pub mod db;
#[cfg(feature = "server")]
pub mod error;
#[cfg(feature = "server")]
pub mod links;
#[cfg(feature = "server")]
pub mod outbox;
#[cfg(feature = "server")]
pub mod pulse;
#[cfg(feature = "server")]
pub mod secrets;
#[cfg(feature = "server")]
pub mod sessions;
#[cfg(feature = "server")]
pub mod studio;
#[cfg(feature = "server")]
pub mod throttle;
#[cfg(feature = "server")]
pub mod web;

// The rooms, from the ground up.
#[cfg(feature = "server")]
pub mod baths;
#[cfg(feature = "server")]
pub mod belongings;
#[cfg(feature = "server")]
pub mod bookings;
#[cfg(feature = "server")]
pub mod calendar;
#[cfg(feature = "server")]
pub mod costs;
#[cfg(feature = "server")]
pub mod customs;
#[cfg(feature = "server")]
pub mod day;
#[cfg(feature = "server")]
pub mod duty;
#[cfg(feature = "server")]
pub mod front;
#[cfg(feature = "server")]
pub mod incidents;
#[cfg(feature = "server")]
pub mod members;
#[cfg(feature = "server")]
pub mod presence;
#[cfg(feature = "server")]
pub mod recipes;
#[cfg(feature = "server")]
pub mod rolls;
#[cfg(feature = "server")]
pub mod safety;
#[cfg(feature = "server")]
pub mod series;
#[cfg(feature = "server")]
pub mod shelf;
#[cfg(feature = "server")]
pub mod sinks;
#[cfg(feature = "server")]
pub mod wall;
#[cfg(feature = "server")]
pub mod waste;

// The house as a whole.
#[cfg(feature = "server")]
pub mod api;
#[cfg(feature = "server")]
pub mod app;
#[cfg(feature = "server")]
pub mod cli;
#[cfg(feature = "server")]
pub mod demo;
#[cfg(feature = "server")]
pub mod jobs;
