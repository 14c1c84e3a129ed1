//! The eyewash, run every week.

use super::{Here, mail, readers, store};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::{safety, studio};

/// How often the eyewash is run: weekly (EYE-7, a summary of ANSI Z358.1-1998, secondary).
pub const EYEWASH_EVERY_S: i64 = 7 * 86_400;

/// How the eyewash stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Eyewash {
    /// Nobody has ever written a run down.
    NeverRun,
    /// It ran well within the last week, at that time.
    Good(Moment),
    /// Its last run is longer ago than a week.
    Overdue(Moment),
    /// It did not work at that time.
    Broken(Moment),
}

/// How the eyewash stands by its last run.
///
/// # Errors
/// As the database's.
pub fn eyewash(conn: &mut Conn, now: Moment) -> Result<Eyewash, Error> {
    let last = store::checks(conn, 1)?.pop();
    Ok(match last {
        None => Eyewash::NeverRun,
        Some(check) if !check.works => Eyewash::Broken(Moment(check.at_s)),
        Some(check) if now.0 - check.at_s > EYEWASH_EVERY_S => Eyewash::Overdue(Moment(check.at_s)),
        Some(check) => Eyewash::Good(Moment(check.at_s)),
    })
}

/// Writes a run of the eyewash down; a failed one is told to the safety lead at once.
///
/// # Errors
/// As the database's.
pub fn record_eyewash(
    tx: &mut Tx<'_>,
    here: &Here,
    by: i64,
    (works, note): (bool, &str),
) -> Result<(), Error> {
    store::record_check(tx, here.now, by, (works, note))?;
    if works {
        return Ok(());
    }
    let studio = studio::load(tx)?.name;
    for to in readers(tx)? {
        mail::eyewash_broken(tx, here, to, (&studio, note))?;
    }
    Ok(())
}

/// Reminds the safety lead once a week while the eyewash is due: after its first run by that, and
/// before it while something on the shelf can burn skin or eyes.
///
/// # Errors
/// As the database's.
pub fn remind_of_eyewash(tx: &mut Tx<'_>, here: &Here) -> Result<(), Error> {
    let state = eyewash(tx, here.now)?;
    let cause = match state {
        Eyewash::Good(_) | Eyewash::Broken(_) => return Ok(()),
        Eyewash::Overdue(last) => {
            format!("week {} after {}", here.now.since(last) / EYEWASH_EVERY_S, last.0)
        }
        Eyewash::NeverRun if safety::calling_for_eyewash(tx)?.is_empty() => return Ok(()),
        Eyewash::NeverRun => format!("first run, week {}", here.now.0 / EYEWASH_EVERY_S),
    };
    let studio = studio::load(tx)?.name;
    for to in readers(tx)? {
        let never = state == Eyewash::NeverRun;
        mail::eyewash_due(tx, here, to, (&studio, never, &cause))?;
    }
    Ok(())
}
