//! Bookings: a member's promise of a sink, and of tanks with it, for a while.

pub(crate) mod api;
mod board;
mod mail;
mod pages;
pub mod rules;
mod store;

use chrono::{NaiveDate, NaiveTime};

use crate::clock::{Moment, Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::safety;
use crate::sessions::{Person, Role};
use crate::sinks::{self, Kind, Why};
use crate::web::Routes;

pub use board::{Board, Entry, board};

/// What somebody wants to book.
#[derive(Clone, Debug)]
pub struct Wish {
    /// The sink.
    pub sink_id: i64,
    /// Tanks to have with it.
    pub tank_ids: Vec<i64>,
    /// The local date.
    pub date: NaiveDate,
    /// From this wall-clock time.
    pub from: NaiveTime,
    /// Until this one; midnight is the end of the day.
    pub to: NaiveTime,
    /// What for.
    pub note: String,
}

/// A booking that stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Booking {
    /// Its number.
    pub id: i64,
    /// Whose it is.
    pub member_id: i64,
    /// Their name.
    pub member_name: String,
    /// The sink.
    pub sink_id: i64,
    /// When.
    pub span: Span,
}

/// Where a change happens: the clock, the studio's zone and its address.
#[derive(Clone, Debug)]
pub struct Place {
    /// The time now.
    pub now: Moment,
    /// The studio's time zone.
    pub zone: Zone,
    /// The base address for letters.
    pub address: String,
}

/// Books; returns the booking's number. The letter that says so is written with it.
///
/// # Errors
/// The rule that refuses, or `slot-taken`.
pub fn book(tx: &mut Tx<'_>, place: &Place, person: &Person, wish: &Wish) -> Result<i64, Error> {
    safety::refuse_unready(tx, person)?;
    rules::may_book(person.role, person.paused)?;
    let all = sinks::sinks(tx)?;
    let sink = all
        .into_iter()
        .find(|s| s.id == wish.sink_id)
        .ok_or_else(|| Error::field("sink", "There is no such sink. Choose one of the list."))?;
    let span = rules::span(place.zone, wish.date, wish.from, wish.to)?;
    rules::check(place.now, &sinks::opening(tx, place.zone, wish.date)?, span)?;
    let known = sinks::tanks(tx)?;
    let mut tanks = wish.tank_ids.clone();
    tanks.sort_unstable();
    tanks.dedup();
    if tanks.iter().any(|t| !known.iter().any(|k| k.id == *t)) {
        return Err(Error::field("tank_ids", "There is no such tank. Choose from the list."));
    }
    let id = store::insert(tx, place.now, person.id, wish, span)?;
    sinks::hold(tx, Kind::SinkPlace, sink.id, span, Why::Booking(id))?;
    for tank in tanks {
        sinks::hold(tx, Kind::Tank, tank, span, Why::Booking(id))?;
    }
    mail::made(tx, place, person, (id, &sink.name, span))?;
    Ok(id)
}

/// Cancels a booking: its owner, or a lead, who thereby writes to the owner. A second time does
/// nothing.
///
/// # Errors
/// [`Error::NotFound`] for others'; a rule once it has ended.
pub fn cancel(tx: &mut Tx<'_>, place: &Place, person: &Person, id: i64) -> Result<Booking, Error> {
    let (booking, stands) = store::one(tx, id)?;
    if booking.member_id != person.id && person.role != Role::Lead {
        return Err(Error::NotFound);
    }
    if !stands {
        return Ok(booking);
    }
    if booking.span.to <= place.now {
        return Err(Error::refused("rule", "That booking is over; it stays in the records."));
    }
    store::mark_cancelled(tx, id)?;
    sinks::release_booking(tx, id)?;
    if booking.member_id != person.id {
        mail::cancelled(tx, place, person, &booking)?;
    }
    Ok(booking)
}

/// Releases what a member who leaves had still booked.
///
/// # Errors
/// As the database's.
pub fn release_all_of(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    for id in store::coming_of(tx, now, member)? {
        store::mark_cancelled(tx, id)?;
        sinks::release_booking(tx, id)?;
    }
    Ok(())
}

/// The bookings that stand on a local date, by time.
///
/// # Errors
/// As the database's.
pub fn on(conn: &mut Conn, date: NaiveDate) -> Result<Vec<Booking>, Error> {
    store::on(conn, date)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}
