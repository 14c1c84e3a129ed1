//! Letters that nobody sends by hand: what waits still, and what is kept too long.

use super::store::{self, Roll};
use super::{mail, ticket};
use crate::clock::{Moment, Zone};
use crate::db::Tx;
use crate::error::Error;
use crate::{members, outbox};

/// A roll on the pick-up shelf is asked after when so many days have gone by, and again after as
/// many more (common practice, no source).
pub const KEPT_DAYS: i64 = 21;

/// Writes to owners whose negatives lie on the pick-up shelf for too long; returns how many.
///
/// # Errors
/// As the database's.
pub fn remind(tx: &mut Tx<'_>, now: Moment) -> Result<usize, Error> {
    let mut written = 0;
    for roll in store::ready_since(tx, now.plus(-KEPT_DAYS * 86_400))? {
        let Ok(to) = members::recipient(tx, roll.member_id) else { continue };
        let days = now.since(roll.since) / 86_400;
        if outbox::post(tx, now, &mail::kept(now, &to, &roll, days)?)? {
            written += 1;
        }
    }
    Ok(written)
}

/// Writes to the owner of a roll that got no run: why it waits, and until when at the latest. Once
/// for each day it was left over for.
///
/// # Errors
/// [`Error::NotFound`] where there is no such ticket.
pub fn tell_waiting(
    tx: &mut Tx<'_>,
    at: (Moment, Zone),
    ticket: &str,
    why: &str,
    until: Option<Moment>,
) -> Result<(), Error> {
    let ticket = ticket::read(ticket).ok_or(Error::NotFound)?;
    let roll: Roll = store::by_ticket(tx, &ticket, None)?;
    if let Ok(to) = members::recipient(tx, roll.member_id) {
        outbox::post(tx, at.0, &mail::waiting(at, &to, &roll, (why, until))?)?;
    }
    Ok(())
}
