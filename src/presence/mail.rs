//! Letters about who came and who has not gone.

use chrono::NaiveDate;
use serde::Serialize;

use super::Visit;
use crate::bookings::{Kept, Place};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::members;
use crate::outbox::{self, Letter, Recipient};
use crate::sessions::Taste;
use crate::web::Words;

#[derive(Serialize)]
struct LeftOpen {
    name: String,
    day: String,
    closed: String,
    people: Vec<String>,
    address: String,
}

/// Somebody is still checked in long after closing time; one letter a day and lead.
pub(super) fn left_open(
    tx: &mut Tx<'_>,
    place: &Place,
    lead: Recipient,
    (date, closed): (NaiveDate, Moment),
    inside: &[Visit],
) -> Result<(), Error> {
    let words = Words::in_studio(place.zone, &Taste::default());
    let about = LeftOpen {
        name: lead.name.clone(),
        day: words.date(date),
        closed: words.time(closed),
        people: inside
            .iter()
            .map(|v| format!("{}, since {}", v.name, words.moment(v.since)))
            .collect(),
        address: format!("{}/presence", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write("evening_left_open", &about)?;
    let letter = Letter {
        kind: "evening_left_open",
        dedupe_key: format!("evening_left_open {date} {}", lead.member_id.unwrap_or_default()),
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

#[derive(Serialize)]
struct GivenBack<'a> {
    name: &'a str,
    sink: &'a str,
    when: String,
    address: String,
}

/// A booking was given back because nobody came.
pub(super) fn given_back(tx: &mut Tx<'_>, place: &Place, booking: &Kept) -> Result<(), Error> {
    let Some(to) = members::reader(tx, booking.member_id)? else { return Ok(()) };
    let words = Words::in_studio(place.zone, &Taste::default());
    let date = place.zone.date(booking.span.from);
    let about = GivenBack {
        name: &to.name,
        sink: &booking.sink,
        when: words.span(booking.span.from, booking.span.to),
        address: format!("{}/board?date={date}", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write("booking_given_back", &about)?;
    let letter = Letter {
        kind: "booking_given_back",
        dedupe_key: format!("booking_given_back {}", booking.id),
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
