//! Letters about bookings.

use serde::Serialize;

use super::{Booking, Place};
use crate::clock::Span;
use crate::db::Tx;
use crate::error::Error;
use crate::members;
use crate::outbox::{self, Letter};
use crate::sessions::{Person, Taste};
use crate::sinks;
use crate::web::Words;

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    sink: &'a str,
    when: String,
    by: &'a str,
    address: String,
}

pub(super) fn made(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (id, sink, span): (i64, &str, Span),
) -> Result<(), Error> {
    post(tx, place, person.id, ("booking_made", id, sink, span, &person.name))
}

pub(super) fn cancelled(
    tx: &mut Tx<'_>,
    place: &Place,
    by: &Person,
    booking: &Booking,
) -> Result<(), Error> {
    let all = sinks::sinks(tx)?;
    let sink = all.into_iter().find(|s| s.id == booking.sink_id).map(|s| s.name);
    let sink = sink.unwrap_or_default();
    let what = ("booking_cancelled", booking.id, sink.as_str(), booking.span, by.name.as_str());
    post(tx, place, booking.member_id, what)
}

fn post(
    tx: &mut Tx<'_>,
    place: &Place,
    to: i64,
    (kind, id, sink, span, by): (&'static str, i64, &str, Span, &str),
) -> Result<(), Error> {
    let reader = match members::recipient(tx, to) {
        // Who left is not written to.
        Err(Error::NotFound) => return Ok(()),
        found => found?,
    };
    let words = Words::in_studio(place.zone, &Taste::default());
    let date = place.zone.date(span.from);
    let about = About {
        name: &reader.name,
        sink,
        when: words.span(span.from, span.to),
        by,
        address: format!("{}/board?date={date}", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write(kind, &about)?;
    let letter = Letter {
        kind,
        to: reader,
        subject,
        body,
        optional: kind == "booking_made",
        link: None,
        dedupe_key: format!("{kind} {id}"),
        send_after: place.now,
    };
    outbox::post(tx, place.now, &letter)?;
    Ok(())
}
