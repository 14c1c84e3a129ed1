//! Letters about bookings.

use serde::Serialize;

use super::{Booking, Followed, Place};
use crate::clock::Span;
use crate::db::Tx;
use crate::error::Error;
use crate::members;
use crate::outbox::{self, Letter, Recipient};
use crate::sessions::{Person, Taste};
use crate::sinks;
use crate::web::Words;

#[derive(Serialize)]
struct About<'a> {
    name: String,
    sink: String,
    when: String,
    was: String,
    by: &'a str,
    own: bool,
    with: Vec<String>,
    reason: &'a str,
    address: String,
}

/// A letter to be written: its text, the kind a reader may turn off, and what tells it from others.
struct Kind {
    text: &'static str,
    kind: &'static str,
    optional: bool,
    key: String,
}

/// A booking as its letter tells of it.
pub(super) struct Told {
    pub(super) id: i64,
    pub(super) member: i64,
    pub(super) sink: String,
    pub(super) span: Span,
    pub(super) with: Vec<String>,
}

impl Told {
    fn of(tx: &mut Tx<'_>, booking: &Booking) -> Result<Told, Error> {
        let all = sinks::some_inventory(tx, (false, false, false))?;
        let sink = all.sink(booking.sink_id).map(|s| s.name.clone()).unwrap_or_default();
        let (id, member, span) = (booking.id, booking.member_id, booking.span);
        Ok(Told { id, member, sink, span, with: Vec::new() })
    }
}

pub(super) fn made(tx: &mut Tx<'_>, place: &Place, by: &Person, told: Told) -> Result<(), Error> {
    let own = told.member == by.id;
    let key = format!("booking_made {}", told.id);
    let kind = Kind { text: "booking_made", kind: "booking_made", optional: own, key };
    post(tx, place, (told, by), (kind, String::new(), ""))
}

pub(super) fn moved(
    tx: &mut Tx<'_>,
    place: &Place,
    by: &Person,
    (before, after): (&Booking, &Booking),
) -> Result<(), Error> {
    let own = after.member_id == by.id;
    let key = format!("booking_moved {} {}", after.id, after.version);
    // Their own move is confirmed like a booking; others' moves are always told.
    let kind = if own { "booking_made" } else { "booking_moved" };
    let kind = Kind { text: "booking_moved", kind, optional: own, key };
    let was = describe(place, &Told::of(tx, before)?);
    let told = Told::of(tx, after)?;
    post(tx, place, (told, by), (kind, was, ""))
}

pub(super) fn cancelled(
    tx: &mut Tx<'_>,
    place: &Place,
    (booking, by): (&Booking, &Person),
    reason: &str,
) -> Result<(), Error> {
    let key = format!("booking_cancelled {}", booking.id);
    let kind = Kind { text: "booking_cancelled", kind: "booking_cancelled", optional: false, key };
    let told = Told::of(tx, booking)?;
    post(tx, place, (told, by), (kind, String::new(), reason))
}

#[derive(Serialize)]
struct Clock<'a> {
    name: &'a str,
    zone: &'static str,
    moved: usize,
    stay: Vec<String>,
    gone: Vec<String>,
    address: String,
}

/// To a lead: the rules of the zone changed, and these bookings could not follow.
pub(super) fn clock_changed(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: Recipient,
    followed: &Followed,
) -> Result<(), Error> {
    let mut said = Vec::new();
    for c in &followed.collisions {
        let line = describe(place, &Told::of(tx, &c.booking)?);
        said.push((c.stays, format!("{}: {line} ({})", c.booking.member_name, c.why)));
    }
    let of = |stays: bool| said.iter().filter(|s| s.0 == stays).map(|s| s.1.clone()).collect();
    let about = Clock {
        name: &lead.name,
        zone: place.zone.name(),
        moved: followed.moved,
        stay: of(true),
        gone: of(false),
        address: format!("{}/board", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write("clock_changed", &about)?;
    let letter = Letter {
        kind: "clock_changed",
        dedupe_key: format!("clock_changed {} {}", lead.member_id.unwrap_or_default(), place.now.0),
        to: lead,
        subject,
        body,
        optional: false,
        link: None,
        send_after: place.now,
    };
    outbox::post(tx, place.now, &letter)?;
    Ok(())
}

fn describe(place: &Place, told: &Told) -> String {
    let words = Words::in_studio(place.zone, &Taste::default());
    format!("{}, {}", told.sink, words.span(told.span.from, told.span.to))
}

fn post(
    tx: &mut Tx<'_>,
    place: &Place,
    (told, by): (Told, &Person),
    (kind, was, reason): (Kind, String, &str),
) -> Result<(), Error> {
    let Some(reader) = members::reader(tx, told.member)? else { return Ok(()) };
    let words = Words::in_studio(place.zone, &Taste::default());
    let date = place.zone.date(told.span.from);
    let about = About {
        name: reader.name.clone(),
        sink: told.sink,
        when: words.span(told.span.from, told.span.to),
        was,
        by: &by.name,
        own: by.id == told.member,
        with: told.with,
        reason,
        address: format!("{}/board?date={date}", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write(kind.text, &about)?;
    let letter = Letter {
        kind: kind.kind,
        to: reader,
        subject,
        body,
        optional: kind.optional,
        link: None,
        dedupe_key: kind.key,
        send_after: place.now,
    };
    outbox::post(tx, place.now, &letter)?;
    Ok(())
}
