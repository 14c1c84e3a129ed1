//! Film follows the bottle that stands there: what was planned with a fixer that is poured away goes
//! into the one in its place, and that one's ledger takes it.

use super::liquids;
use super::store::{self, Run};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;

/// Gives every coming run whose fixer was retired before it begins the fixer that stands there now;
/// returns how many. Film stays in it no shorter than either bath asks for.
///
/// # Errors
/// As the database's.
pub fn follow_baths(tx: &mut Tx<'_>, now: Moment) -> Result<usize, Error> {
    let left = store::without_their_fixer(tx)?;
    if left.is_empty() {
        return Ok(0);
    }
    // Until one is mixed there is nothing to follow; what ends before that stays in the old ledger.
    let present = match liquids::fixer(tx, now) {
        Ok(fixer) => fixer,
        Err(Error::Refused { .. }) => return Ok(0),
        Err(e) => return Err(e),
    };
    for (run, fix_s) in &left {
        store::set_fixer(tx, *run, (present.id, present.fix_s.max(*fix_s)))?;
    }
    Ok(left.len())
}

/// The run as it is once its fixer is the one that stands there.
///
/// # Errors
/// As the database's.
pub(super) fn followed(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<Run, Error> {
    follow_baths(tx, now)?;
    store::run(tx, id)
}
