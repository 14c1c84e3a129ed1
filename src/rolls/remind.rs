//! Letters that nobody sends by hand: what waits still, and what is kept too long.

use super::customs::Customs;
use super::store::{self, Roll};
use super::{mail, ticket};
use crate::clock::{Moment, Zone};
use crate::db::Tx;
use crate::error::Error;
use crate::{members, outbox};

/// Writes to owners whose negatives lie on the pick-up shelf for too long, and to the leads about
/// film that waits longer than the studio wants; returns how many letters.
///
/// # Errors
/// As the database's.
pub fn remind(tx: &mut Tx<'_>, now: Moment) -> Result<usize, Error> {
    let customs = store::customs(tx)?;
    let mut written = overdue(tx, now, &customs)?;
    for roll in store::ready_since(tx, now.plus(-customs.kept_days * 86_400))? {
        let Ok(to) = members::recipient(tx, roll.member_id) else { continue };
        let days = now.since(roll.since) / 86_400;
        let time = days / customs.kept_days.max(1);
        if outbox::post(tx, now, &mail::kept(now, &to, &roll, (days, time))?)? {
            written += 1;
        }
    }
    Ok(written)
}

/// Tells the leads, once a day, which film has waited for too long.
fn overdue(tx: &mut Tx<'_>, now: Moment, customs: &Customs) -> Result<usize, Error> {
    let since = now.plus(-customs.wait_days * 86_400);
    let late: Vec<Roll> = store::waiting_since(tx, since)?
        .into_iter()
        .filter(|roll| roll.waits_until(customs) < now)
        .collect();
    if late.is_empty() {
        return Ok(0);
    }
    let mut written = 0;
    for to in members::leads(tx)? {
        if outbox::post(tx, now, &mail::overdue(now, &to, &late)?)? {
            written += 1;
        }
    }
    Ok(written)
}

/// Writes to the owner of a roll that got no run: why it waits, and until when at the longest;
/// where nothing else is said, for as long as the studio lets film wait. Once for each day it was
/// left over for.
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
    let until = match until {
        Some(until) => until,
        None => roll.waits_until(&store::customs(tx)?),
    };
    if let Ok(to) = members::recipient(tx, roll.member_id) {
        outbox::post(tx, at.0, &mail::waiting(at, &to, &roll, (why, until))?)?;
    }
    Ok(())
}
