//! The studio's limits on bookings: how long, how many, how far ahead, how late to give back.

use serde::Serialize;

use super::store;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::Hours;

/// The limits, all of the studio's choosing. What is absent does not limit.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Limits {
    /// Bookings begin and end on this grid of minutes: 5, 10, 15, 20, 30 or 60.
    pub grid_min: i64,
    /// The longest booking in minutes, 5 to 1440.
    pub longest_min: i64,
    /// How many bookings a member may have in a week from Monday.
    pub per_week: Option<i64>,
    /// How many minutes a member may have in a week.
    pub minutes_per_week: Option<i64>,
    /// How many days ahead one may book, 1 to 730.
    pub ahead_days: i64,
    /// How many minutes before it begins a booking can last be given back, 0 to 20160.
    pub notice_min: i64,
    /// How many minutes after each booking are for cleaning up, 0 to 240.
    pub gap_min: i64,
    /// How many newcomers may work at once for each lead on duty, 0 to 20; 0: none.
    pub newcomers_per_lead: i64,
    /// How many minutes of peak hours a member may have in a week.
    pub peak_minutes_per_week: Option<i64>,
    /// From so many minutes before a peak hour on, its quota no longer holds, 0 to 20160.
    pub peak_opens_min: i64,
    /// The peak hours of the week.
    pub peak: Vec<Hours>,
    /// The version an edit form is made from.
    pub version: i64,
}

/// The grids there are, in minutes.
pub const GRIDS: [i64; 6] = [5, 10, 15, 20, 30, 60];

/// The limits as they stand.
///
/// # Errors
/// As the database's.
pub fn limits(conn: &mut Conn) -> Result<Limits, Error> {
    store::limits(conn)
}

/// Changes the limits. Bookings that stand are not touched.
///
/// # Errors
/// A refusal when they changed meanwhile.
pub fn change_limits(tx: &mut Tx<'_>, limits: &Limits) -> Result<(), Error> {
    store::update_limits(tx, limits)
}
