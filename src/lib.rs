//! Wetside: the server of a shared black-and-white darkroom.
//!
//! The modules in reading order; each folder is one room of the house.
#![cfg_attr(
    test,
    allow(
        clippy::as_conversions,
        clippy::too_many_lines,
        clippy::str_to_string,
        reason = "tests say what they mean with literals"
    )
)]

pub mod chemistry;
pub mod planner;
pub mod units;
