//! The letters that offer a freed time, and that take the offer back.

use serde::Serialize;

use super::{Offer, Wish};
use crate::bookings::Place;
use crate::clock::{Moment, Span};
use crate::db::Tx;
use crate::error::Error;
use crate::members;
use crate::outbox::{self, Letter};
use crate::sessions::Taste;
use crate::sinks;
use crate::web::Words;

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    sink: &'a str,
    when: String,
    until: String,
    reason: &'a str,
    address: String,
}

/// A letter to be written: its text, what tells it from others, the sink and the time it speaks of.
struct Tells<'a> {
    kind: &'static str,
    dedupe_key: String,
    sink: &'a str,
    span: Span,
    until: Moment,
    reason: &'a str,
}

/// Something has come free.
pub(super) fn offered(
    tx: &mut Tx<'_>,
    place: &Place,
    wish: &Wish,
    (sink, span, until): (&str, Span, Moment),
) -> Result<(), Error> {
    let kind = "slot_offered";
    // A wish is offered one slot; another only where that one was taken back, later.
    let dedupe_key = format!("{kind} {} {} {}", wish.id, span.from.0, place.now.0);
    post(tx, place, wish, Tells { kind, dedupe_key, sink, span, until, reason: "" })
}

/// What was offered can no longer be had.
pub(super) fn taken_back(
    tx: &mut Tx<'_>,
    place: &Place,
    wish: &Wish,
    (offer, reason): (&Offer, &str),
) -> Result<(), Error> {
    let kind = "slot_withdrawn";
    let dedupe_key = format!("{kind} {} {} {}", wish.id, offer.span.from.0, place.now.0);
    let all = sinks::some_inventory(tx, (false, false, false))?;
    let sink = all.sink(offer.sink_id).map_or("", |s| s.name.as_str());
    let tells = Tells { kind, dedupe_key, sink, span: offer.span, until: offer.expires, reason };
    post(tx, place, wish, tells)
}

fn post(tx: &mut Tx<'_>, place: &Place, wish: &Wish, tells: Tells<'_>) -> Result<(), Error> {
    let Some(to) = members::reader(tx, wish.member_id)? else { return Ok(()) };
    let words = Words::in_studio(place.zone, &Taste::default());
    let about = About {
        name: &to.name,
        sink: tells.sink,
        when: words.span(tells.span.from, tells.span.to),
        until: words.moment(tells.until),
        reason: tells.reason,
        address: format!("{}/waiting", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write(tells.kind, &about)?;
    let letter = Letter {
        kind: tells.kind,
        dedupe_key: tells.dedupe_key,
        to,
        subject,
        body,
        optional: false,
        link: None,
        send_after: place.now,
    };
    outbox::post(tx, place.now, &letter)?;
    Ok(())
}
