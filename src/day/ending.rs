//! Ending a run: its rolls hang, the fixer's ledger takes it, its sink is free.

use super::store::{self, Run};
use crate::baths::{self, Use};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::rolls::{self, State};

/// Ends a run: its rolls are on the hook, and the fixer's ledger takes it, once however often the
/// run is ended.
///
/// # Errors
/// A refusal when the run is not published; [`Error::NotFound`] where there is none.
pub fn end_run(tx: &mut Tx<'_>, now: Moment, by: i64, run: i64) -> Result<Run, Error> {
    let run = store::run(tx, run)?;
    if !run.published || run.withdrawn.is_some() {
        return Err(Error::refused("not-published", "This run is only a draft. Publish it first."));
    }
    if !store::mark_ended(tx, now, by, run.id)? {
        return Ok(run);
    }
    for roll in &run.rolls {
        rolls::set_state(tx, now, (roll.roll_id, Some(by)), State::OnTheHook, "")?;
    }
    if let Some(bath) = run.fixer_id {
        let note = format!("Run {} in {}", run.number, run.tank);
        let wish = Use { bath, milli: run.fixer_milli, run: Some(run.id), note };
        baths::record_use(tx, now, Some(by), &wish)?;
    }
    Ok(run)
}
