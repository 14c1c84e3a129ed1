//! The letter before a booking.

use serde::Serialize;

use super::{Kept, Place, beginning};
use crate::clock::Span;
use crate::db::Tx;
use crate::error::Error;
use crate::members;
use crate::outbox::{self, Letter};
use crate::sessions::Taste;
use crate::web::Words;

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    sink: &'a str,
    when: String,
    address: String,
}

/// Writes to everybody whose booking begins within so many minutes, once for each time it was
/// moved to. Who booked later than that needs no reminding; 0 reminds nobody.
///
/// # Errors
/// As the database's.
pub fn remind(tx: &mut Tx<'_>, place: &Place, ahead_min: i64) -> Result<(), Error> {
    let ahead_s = ahead_min * 60;
    if ahead_s == 0 {
        return Ok(());
    }
    let near = Span { from: place.now, to: place.now.plus(ahead_s + 1) };
    for booking in beginning(tx, near)? {
        if booking.created <= booking.span.from.plus(-ahead_s) {
            write_to(tx, place, &booking)?;
        }
    }
    Ok(())
}

fn write_to(tx: &mut Tx<'_>, place: &Place, booking: &Kept) -> Result<(), Error> {
    let Some(to) = members::reader(tx, booking.member_id)? else { return Ok(()) };
    let words = Words::in_studio(place.zone, &Taste::default());
    let date = place.zone.date(booking.span.from);
    let about = About {
        name: &to.name,
        sink: &booking.sink,
        when: words.span(booking.span.from, booking.span.to),
        address: format!("{}/board?date={date}", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write("booking_reminder", &about)?;
    let letter = Letter {
        kind: "booking_reminder",
        dedupe_key: format!("booking_reminder {} {}", booking.id, booking.span.from.0),
        to,
        subject,
        body,
        optional: true,
        link: None,
        send_after: place.now,
    };
    outbox::post(tx, place.now, &letter)?;
    Ok(())
}
