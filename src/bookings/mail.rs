//! Letters about bookings.

use serde::Serialize;

use super::{Booking, Place, store};
use crate::db::Tx;
use crate::error::Error;
use crate::members;
use crate::outbox::{self, Letter};
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

pub(super) fn made(
    tx: &mut Tx<'_>,
    place: &Place,
    by: &Person,
    (id, member): (i64, i64),
) -> Result<(), Error> {
    let own = member == by.id;
    let key = format!("booking_made {id}");
    let kind = Kind { text: "booking_made", kind: "booking_made", optional: own, key };
    let booking = store::one(tx, id)?;
    post(tx, place, (&booking, by), (kind, String::new(), ""))
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
    let was = describe(tx, place, before)?;
    post(tx, place, (after, by), (kind, was, ""))
}

pub(super) fn cancelled(
    tx: &mut Tx<'_>,
    place: &Place,
    (booking, by): (&Booking, &Person),
    reason: &str,
) -> Result<(), Error> {
    let key = format!("booking_cancelled {}", booking.id);
    let kind = Kind { text: "booking_cancelled", kind: "booking_cancelled", optional: false, key };
    post(tx, place, (booking, by), (kind, String::new(), reason))
}

fn describe(tx: &mut Tx<'_>, place: &Place, booking: &Booking) -> Result<String, Error> {
    let words = Words::in_studio(place.zone, &Taste::default());
    let sink = sinks::inventory(tx)?.sink(booking.sink_id).map(|s| s.name.clone());
    let when = words.span(booking.span.from, booking.span.to);
    Ok(format!("{}, {when}", sink.unwrap_or_default()))
}

fn post(
    tx: &mut Tx<'_>,
    place: &Place,
    (booking, by): (&Booking, &Person),
    (kind, was, reason): (Kind, String, &str),
) -> Result<(), Error> {
    let reader = match members::recipient(tx, booking.member_id) {
        // Who left is not written to.
        Err(Error::NotFound) => return Ok(()),
        found => found?,
    };
    let words = Words::in_studio(place.zone, &Taste::default());
    let all = sinks::inventory(tx)?;
    let with = sinks::held_by_booking(tx, booking.id)?
        .into_iter()
        .filter(|(k, ..)| !matches!(k, sinks::Kind::SinkPlace | sinks::Kind::SinkTank))
        .map(|(k, of_id, n)| {
            let name = all.name(k, of_id);
            if n > 1 || k == sinks::Kind::Reel { format!("{n} x {name}") } else { name }
        })
        .collect();
    let date = place.zone.date(booking.span.from);
    let about = About {
        name: reader.name.clone(),
        sink: all.sink(booking.sink_id).map(|s| s.name.clone()).unwrap_or_default(),
        when: words.span(booking.span.from, booking.span.to),
        was,
        by: &by.name,
        own: by.id == booking.member_id,
        with,
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
