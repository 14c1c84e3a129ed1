//! The pure computing of Wetside: quantities with their units, chemistry, hazards, and the planner.
//!
//! A package of its own, so that nothing in it can reach a database, a clock or a network, and so
//! that it is tested alone in seconds: `cargo test -p wetside-computing`.
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
pub mod hazards;
pub mod planner;
pub mod units;
