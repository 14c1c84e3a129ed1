//! Who is in the building: check-in, check-out, the list that the last one out signs; who came to
//! their booking, and what is given back because nobody did.

mod arrivals;
mod closing;
mod mail;
mod pages;
mod rules;
mod store;

use crate::bookings::Place;
use crate::clock::Moment;
use crate::customs;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::members;
use crate::sinks;
use crate::web::Routes;

pub use arrivals::{Arrival, NoShows, arrivals_on, give_back_no_shows, mark_arrival, no_shows};
pub use closing::{Item, Line, SignedList, Signing, items, set_items, signed_lists};

/// Somebody who is in the building.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Visit {
    /// Its number.
    pub id: i64,
    /// Who.
    pub member_id: i64,
    /// Their name.
    pub name: String,
    /// Since when.
    pub since: Moment,
}

/// Who is in the building, the longest there first.
///
/// # Errors
/// As the database's.
pub fn inside(conn: &mut Conn) -> Result<Vec<Visit>, Error> {
    store::inside(conn)
}

/// Checks somebody in, and marks their booking of this hour as come to. Who is in already stays
/// so.
///
/// # Errors
/// As the database's.
pub fn check_in(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    if store::visit_of(tx, member)?.is_none() {
        store::insert(tx, now, member)?;
    }
    arrivals::arrive(tx, now, member)
}

/// Checks somebody out. The last one out signs the list; a list that nobody needs is left out.
///
/// # Errors
/// `last-one-out` when the list is wanted and was not sent; a sentence beside `note` when
/// something on it is left undone without a word why.
pub fn check_out(
    tx: &mut Tx<'_>,
    now: Moment,
    (visit, by): (i64, i64),
    signing: Option<&Signing>,
) -> Result<(), Error> {
    let inside = store::inside(tx)?;
    let Some(own) = inside.iter().find(|v| v.id == visit) else {
        return Ok(()); // Out already: pressed twice, or by a lead meanwhile.
    };
    if inside.len() == 1 {
        closing::sign(tx, now, by, signing)?;
    }
    store::close(tx, now, own.id, by)
}

/// The visit of a member who is in the building.
///
/// # Errors
/// As the database's.
pub fn visit_of(conn: &mut Conn, member: i64) -> Result<Option<i64>, Error> {
    store::visit_of(conn, member)
}

/// Writes to the leads, once an evening, when somebody is still checked in long after closing
/// time.
///
/// # Errors
/// As the database's.
pub fn tell_of_evenings_left_open(tx: &mut Tx<'_>, place: &Place) -> Result<(), Error> {
    let inside = store::inside(tx)?;
    let Some(first) = inside.first() else { return Ok(()) };
    let grace = customs::load(tx)?.left_open_min * 60;
    let date = place.zone.date(first.since);
    let open = sinks::opening(tx, place.zone, date)?;
    let closed = rules::closing_time(&open, place.zone.day(date), first.since);
    if place.now.since(closed) < grace {
        return Ok(());
    }
    for lead in members::leads(tx)? {
        mail::left_open(tx, place, lead, (date, closed), &inside)?;
    }
    Ok(())
}

/// Checks a leaver out; their records stay without the name.
///
/// # Errors
/// As the database's.
pub fn forget_member(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    match store::visit_of(tx, member)? {
        Some(visit) => store::close(tx, now, visit, member),
        None => Ok(()),
    }
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}
