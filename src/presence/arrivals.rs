//! Who came to their booking, and what is given back because nobody did.

use chrono::NaiveDate;

use super::{mail, rules, store};
use crate::bookings::{self, Kept, Place};
use crate::clock::{Moment, Span, Zone};
use crate::customs;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::members;

/// One booking of a day and whether its owner came.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrival {
    /// The booking.
    pub booking: Kept,
    /// When they came, if they did.
    pub at: Option<Moment>,
}

/// How often a member did not come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoShows {
    /// Who.
    pub member_id: i64,
    /// Their name.
    pub name: String,
    /// How often.
    pub count: i64,
    /// When last.
    pub last: Moment,
}

/// The bookings that stand on a local date, with who came.
///
/// # Errors
/// As the database's.
pub fn arrivals_on(conn: &mut Conn, zone: Zone, date: NaiveDate) -> Result<Vec<Arrival>, Error> {
    let all = bookings::beginning(conn, zone.day(date))?;
    let ids: Vec<i64> = all.iter().map(|b| b.id).collect();
    let came = store::arrivals(conn, &ids)?;
    let at = |id: i64| came.iter().find(|(b, _)| *b == id).map(|(_, at)| *at);
    Ok(all.into_iter().map(|booking| Arrival { at: at(booking.id), booking }).collect())
}

/// Marks the bookings of this hour as come to.
pub(super) fn arrive(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    let near = Span { from: now.plus(-86_400), to: now.plus(rules::EARLY_S + 1) };
    for booking in bookings::beginning(tx, near)? {
        if booking.member_id == member && rules::comes_to(booking.span, now) {
            store::insert_arrival(tx, now, booking.id, member)?;
        }
    }
    Ok(())
}

/// Marks a booking as come to, for somebody who did not check in; a lead's word.
///
/// # Errors
/// [`Error::NotFound`] where no such booking stands; a refusal when it is not its time.
pub fn mark_arrival(tx: &mut Tx<'_>, now: Moment, by: i64, booking: i64) -> Result<(), Error> {
    let kept = bookings::kept(tx, booking)?;
    if !kept.stands {
        return Err(Error::NotFound);
    }
    if kept.span.from.plus(-rules::EARLY_S) > now {
        return Err(Error::refused(
            "rule",
            "That booking is more than an hour ahead. Mark it when somebody has come.",
        ));
    }
    store::insert_arrival(tx, now, booking, by)
}

/// Gives back every booking that nobody came to within the studio's grace, tells its owner, and
/// counts it; returns what was given back.
///
/// # Errors
/// As the database's.
pub fn give_back_no_shows(tx: &mut Tx<'_>, place: &Place) -> Result<Vec<Kept>, Error> {
    let grace = customs::load(tx)?.no_show_min;
    if grace == 0 {
        return Ok(Vec::new());
    }
    let near = Span { from: place.now.plus(-86_400), to: place.now };
    let begun = bookings::beginning(tx, near)?;
    let late = begun.into_iter().filter(|b| rules::is_no_show(b.span, grace, place.now));
    let late: Vec<Kept> = late.collect();
    let ids: Vec<i64> = late.iter().map(|b| b.id).collect();
    let came = store::arrivals(tx, &ids)?;
    let mut given = Vec::new();
    for booking in late.into_iter().filter(|b| !came.iter().any(|(id, _)| *id == b.id)) {
        if bookings::give_up(tx, place, booking.id)? {
            store::insert_no_show(tx, place.now, &booking)?;
            mail::given_back(tx, place, &booking)?;
            given.push(booking);
        }
    }
    Ok(given)
}

/// Who did not come since then, the most often first.
///
/// # Errors
/// As the database's.
pub fn no_shows(conn: &mut Conn, since: Moment) -> Result<Vec<NoShows>, Error> {
    let rows = store::no_shows(conn, since)?;
    let ids: Vec<i64> = rows.iter().map(|r| r.0).collect();
    let names = members::names(conn, &ids)?;
    let noun = |(member_id, count, last): (i64, i64, Moment)| {
        let name = names.get(&member_id).cloned().unwrap_or_default();
        NoShows { member_id, name, count, last }
    };
    let mut all: Vec<NoShows> = rows.into_iter().map(noun).collect();
    all.sort_by_key(|n| (std::cmp::Reverse(n.count), n.member_id));
    Ok(all)
}
