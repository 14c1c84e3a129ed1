//! Film follows the bottles that stand there: what was planned with a fixer that is poured away, or
//! that another took the place of, goes into the one in its place, and that one's ledger takes it.

use std::collections::BTreeMap;

use super::liquids;
use super::store::{self, Run, ToFix};
use crate::baths::{self, Bath, Place};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;

/// A run that was to begin longer ago than this is no longer led to another bottle: 30 days.
const LATEST_S: i64 = 30 * 86_400;

/// Gives every coming run whose fixer was retired before it begins the fixer that stands there now,
/// and so with the second of two baths, also where that has become the first; returns how many. Film
/// stays in them no shorter than the old or the new ask for.
///
/// # Errors
/// As the database's.
pub fn follow_baths(tx: &mut Tx<'_>, now: Moment) -> Result<usize, Error> {
    let (mut known, mut led) = (BTreeMap::new(), 0);
    for run in store::to_be_fixed(tx, now.plus(-LATEST_S))? {
        let first_is_gone = is_gone(bath(tx, &mut known, run.fixer)?, &run);
        let second_is_gone = match run.steps.second_fixer {
            Some(id) => {
                let second = bath(tx, &mut known, id)?;
                second.place != Place::Second || is_gone(second, &run)
            }
            None => false,
        };
        if !first_is_gone && !second_is_gone {
            continue;
        }
        let kept = (!first_is_gone).then_some(run.fixer);
        let present = match liquids::fixer_like(tx, now, kept) {
            Ok(fixer) => fixer,
            // Until one is mixed there is nothing to follow; what ends before that stays in the old
            // ledger.
            Err(Error::Refused { .. }) => return Ok(led),
            Err(e) => return Err(e),
        };
        store::set_fixer(tx, &into(run, &present))?;
        led += 1;
    }
    Ok(led)
}

fn bath<'a>(
    tx: &mut Tx<'_>,
    known: &'a mut BTreeMap<i64, Bath>,
    id: i64,
) -> Result<&'a Bath, Error> {
    use std::collections::btree_map::Entry;
    Ok(match known.entry(id) {
        Entry::Occupied(bath) => bath.into_mut(),
        Entry::Vacant(place) => place.insert(baths::one(tx, id)?),
    })
}

fn is_gone(bath: &Bath, run: &ToFix) -> bool {
    bath.retired.is_some_and(|at| at < run.from)
}

/// The run in the fixer that stands there: in two baths for equal times.
fn into(run: ToFix, present: &liquids::Fixer) -> ToFix {
    let fix_s = present.fix_s.max(run.fix_s);
    let (second_fixer, second_fix_s) = match present.second {
        Some((id, _)) => (Some(id), (fix_s + 1) / 2),
        None => (None, 0),
    };
    let fix_s = if second_fixer.is_some() { 2 * second_fix_s } else { fix_s };
    let steps = crate::day::rules::Steps { second_fixer, second_fix_s, ..run.steps };
    ToFix { fixer: present.id, fix_s, steps, ..run }
}

/// The run as it is once its fixers are those that stand there.
///
/// # Errors
/// As the database's.
pub(super) fn followed(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<Run, Error> {
    follow_baths(tx, now)?;
    store::run(tx, id)
}
