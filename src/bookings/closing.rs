//! Other opening hours, closures and outages: whom they hit is shown before it is done, and who is
//! hit is told.

use std::collections::BTreeMap;

use chrono::{Days, NaiveDate};

use super::changing::take_away;
use super::{Booking, Place, store, waitlist};
use crate::clock::{Moment, Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::Person;
use crate::sinks::{self, Held, Hours, Outage, SpecialDay, Why, most_at_once};

/// Whom a change of the room would hit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hits {
    /// Bookings that would be cancelled, by time.
    pub bookings: Vec<Booking>,
    /// When runs of the day plans stand in the way; they are planned again by hand.
    pub runs: Vec<Span>,
    /// Offers from the waiting list that would be taken back.
    pub offers: Vec<i64>,
}

impl Hits {
    /// Whether nobody is hit.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.bookings.is_empty() && self.runs.is_empty()
    }
}

/// Who makes the change, and which bookings they were shown that it cancels.
#[derive(Clone, Debug)]
pub struct Closing<'a> {
    /// The lead.
    pub by: &'a Person,
    /// The bookings they have seen.
    pub seen: &'a [i64],
    /// What the letters say.
    pub reason: &'a str,
}

/// What is said when a change hits more than was shown.
const UNSEEN: &str = "hits-unseen";

/// Whether the error is that a change hits bookings nobody was shown yet.
pub(super) fn is_unseen(e: &Error) -> bool {
    matches!(e, Error::Refused { code, .. } if *code == UNSEEN)
}

/// Whom other weekly hours would hit.
///
/// # Errors
/// As the database's.
pub fn hit_by_hours(
    conn: &mut Conn,
    (now, zone): (Moment, Zone),
    week: &[Hours],
) -> Result<Hits, Error> {
    let today = zone.date(now);
    let dates = (today, today.checked_add_days(Days::new(399)).unwrap_or(today));
    let special = sinks::special_days(conn, dates)?;
    hit(conn, (now, zone), dates, |date| sinks::open_with(zone, date, week, &special))
}

/// Whom special days would hit.
///
/// # Errors
/// As the database's.
pub fn hit_by_day(
    conn: &mut Conn,
    (now, zone): (Moment, Zone),
    day: &SpecialDay,
) -> Result<Hits, Error> {
    let week = sinks::hours(conn)?;
    let special = std::slice::from_ref(day);
    let dates = (day.from.max(zone.date(now)), day.to);
    hit(conn, (now, zone), dates, |date| sinks::open_with(zone, date, &week, special))
}

/// What lies inside the present hours of these dates, but not inside others.
fn hit(
    conn: &mut Conn,
    (now, zone): (Moment, Zone),
    (first, last): (NaiveDate, NaiveDate),
    after: impl Fn(NaiveDate) -> Vec<Span>,
) -> Result<Hits, Error> {
    let before = sinks::openings(conn, zone, (first, last))?;
    let inside =
        |open: &[Span], span: Span| open.iter().any(|o| o.from <= span.from && span.to <= o.to);
    let mut then: BTreeMap<NaiveDate, Vec<Span>> = BTreeMap::new();
    let mut is_hit = |span: Span| {
        let date = zone.date(span.from);
        let later = then.entry(date).or_insert_with(|| after(date));
        let was = before.get(&date).is_some_and(|open| inside(open, span));
        span.to > now && was && !inside(later, span)
    };
    let mut bookings = store::on(conn, (first, last))?;
    bookings.retain(|b| is_hit(b.span));
    let whole = Span { from: now, to: zone.day(last).to };
    let mut runs = Vec::new();
    if let Some(whole) = Span::new(whole.from, whole.to) {
        let held = sinks::held(conn, sinks::Kind::SinkPlace, whole)?;
        let of_runs = held.into_iter().filter(|h| matches!(h.why, Why::Run(_)));
        runs = of_runs.map(|h| h.span).filter(|s| is_hit(*s)).collect();
    }
    Ok(Hits { bookings, runs, offers: Vec::new() })
}

/// Replaces the weekly hours, and cancels what they hit.
///
/// # Errors
/// A refusal when bookings are hit that the lead was not shown.
pub fn set_hours(
    tx: &mut Tx<'_>,
    place: &Place,
    closing: &Closing<'_>,
    week: &[Hours],
) -> Result<usize, Error> {
    let hits = hit_by_hours(tx, (place.now, place.zone), week)?;
    sinks::set_hours(tx, week)?;
    let gone = cancel(tx, place, closing, hits)?;
    take_back_offers(tx, place, closing)?;
    Ok(gone)
}

/// Makes days special, and cancels what that hits.
///
/// # Errors
/// As [`set_hours`].
pub fn add_special_day(
    tx: &mut Tx<'_>,
    place: &Place,
    closing: &Closing<'_>,
    day: &SpecialDay,
) -> Result<usize, Error> {
    let hits = hit_by_day(tx, (place.now, place.zone), day)?;
    sinks::add_special_day(tx, day)?;
    let gone = cancel(tx, place, closing, hits)?;
    take_back_offers(tx, place, closing)?;
    Ok(gone)
}

/// Offers from the waiting list that no longer lie in the opening hours go back.
fn take_back_offers(tx: &mut Tx<'_>, place: &Place, closing: &Closing<'_>) -> Result<(), Error> {
    let today = place.zone.date(place.now);
    let last = today.checked_add_days(Days::new(399)).unwrap_or(today);
    let open: Vec<Span> =
        sinks::openings(tx, place.zone, (today, last))?.into_values().flatten().collect();
    waitlist::take_back(tx, place, closing.reason, |offer| {
        !open.iter().any(|o| o.from <= offer.span.from && offer.span.to <= o.to)
    })
}

/// Whom it would hit if something were out of service: with fewer of it, those who booked last.
///
/// # Errors
/// As the database's.
pub fn hit_by_outage(conn: &mut Conn, outage: &Outage) -> Result<Hits, Error> {
    let supply = sinks::supply(conn, outage.span)?;
    let left = supply.owned(outage.kind, outage.of_id) - outage.count;
    let left = usize::try_from(left).unwrap_or(0);
    let mut held: Vec<Held> = supply.held(outage.kind, outage.of_id).to_vec();
    // Runs and other outages stay as they are; then bookings, the earlier made ones before others;
    // last what is only offered.
    held.sort_by_key(|h| match h.why {
        Why::Booking(id) => (1, id),
        Why::Offer(id) => (2, id),
        Why::Run(id) | Why::Outage(id) => (0, id),
        Why::Other => (0, 0),
    });
    let mut kept: Vec<Span> = Vec::new();
    let mut gone = Vec::new();
    let mut hits = Hits::default();
    for h in held {
        let in_the_way = most_at_once(&kept, h.span) + 1 > left;
        match h.why {
            Why::Booking(id) if in_the_way => gone.push(id),
            Why::Run(_) if in_the_way => hits.runs.push(h.span),
            Why::Offer(id) if in_the_way => hits.offers.push(id),
            _ => kept.push(h.span),
        }
    }
    hits.bookings = store::some(conn, &gone)?;
    Ok(hits)
}

/// Takes something out of service, and cancels what that hits.
///
/// # Errors
/// As [`set_hours`]; a refusal when a run of a published plan is in the way.
pub fn add_outage(
    tx: &mut Tx<'_>,
    place: &Place,
    closing: &Closing<'_>,
    outage: &Outage,
) -> Result<usize, Error> {
    let hits = hit_by_outage(tx, outage)?;
    if !hits.runs.is_empty() {
        return Err(Error::refused(
            "runs-hit",
            "A run of a published day plan needs it then. Plan that day again first.",
        ));
    }
    let offers = hits.offers.clone();
    let gone = cancel(tx, place, closing, hits)?;
    waitlist::take_back(tx, place, closing.reason, |offer| offers.contains(&offer.id))?;
    sinks::add_outage(tx, place.now, closing.by.id, outage)?;
    Ok(gone)
}

fn cancel(
    tx: &mut Tx<'_>,
    place: &Place,
    closing: &Closing<'_>,
    hits: Hits,
) -> Result<usize, Error> {
    if hits.bookings.iter().any(|b| !closing.seen.contains(&b.id)) {
        return Err(Error::refused(
            UNSEEN,
            "This hits bookings: they stand under “Whom it hits”. If you go on, they are cancelled \
             and their owners are told.",
        ));
    }
    let gone = hits.bookings.len();
    for booking in hits.bookings {
        take_away(tx, place, (&booking, closing.by), closing.reason)?;
    }
    Ok(gone)
}
