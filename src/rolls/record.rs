//! The processing record: how each film was developed, for ever, and how it came out.

use super::rules::Look;
use super::store::{self, BathThen};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;

/// How a film was developed, in words that outlive what they name.
#[derive(Clone, Debug)]
pub struct Processed {
    /// The roll.
    pub roll_id: i64,
    /// The run, where there was one.
    pub run_id: Option<i64>,
    /// The version of the recipe, where there was one.
    pub recipe_id: Option<i64>,
    /// The developer with its dilution.
    pub developer: String,
    /// How the tank was moved.
    pub agitation: String,
    /// The tank.
    pub tank: String,
    /// The place on the column, counted from the bottom.
    pub place: Option<i64>,
    /// Concentrate or stock, in microlitres.
    pub concentrate_ul: i64,
    /// Water, in microlitres.
    pub water_ul: i64,
    /// The temperature it was planned for, in thousandths of a degree C.
    pub planned_mc: i64,
    /// The temperature that was measured.
    pub measured_mc: Option<i64>,
    /// The developing time it was planned for, in seconds.
    pub planned_s: i64,
    /// The developing time it had.
    pub actual_s: Option<i64>,
    /// The shared baths with their state.
    pub baths: Vec<BathThen>,
    /// Anything noted.
    pub note: String,
}

/// Writes down how a film was developed. A run is written down once for each of its rolls, however
/// often it is told; says whether it was new.
///
/// # Errors
/// [`Error::NotFound`] where there is no such roll.
pub fn record(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    told: &Processed,
) -> Result<bool, Error> {
    store::one(tx, told.roll_id)?;
    if let Some(run) = told.run_id
        && store::is_recorded(tx, told.roll_id, run)?
    {
        return Ok(false);
    }
    store::insert_record(tx, (now, by), told)?;
    Ok(true)
}

/// Notes how a film came out.
///
/// # Errors
/// A sentence beside `note` when it is not so plain that the word alone says it.
pub fn note_result(
    tx: &mut Tx<'_>,
    now: Moment,
    (roll, by): (i64, i64),
    look: Look,
    note: &str,
) -> Result<(), Error> {
    if look == Look::Other && note.trim().is_empty() {
        return Err(Error::field("note", "Say in a few words what is to be seen."));
    }
    store::insert_note(tx, (now, by), roll, (look, note.trim()))
}
