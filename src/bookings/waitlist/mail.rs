//! The letter that offers a freed time.

use serde::Serialize;

use super::Wish;
use crate::bookings::Place;
use crate::clock::{Moment, Span};
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
    until: String,
    address: String,
}

pub(super) fn offered(
    tx: &mut Tx<'_>,
    place: &Place,
    wish: &Wish,
    (offer, sink, span, expires): (i64, &str, Span, Moment),
) -> Result<(), Error> {
    let to = match members::recipient(tx, wish.member_id) {
        // Who left is not written to.
        Err(Error::NotFound) => return Ok(()),
        found => found?,
    };
    let words = Words::in_studio(place.zone, &Taste::default());
    let about = About {
        name: &to.name,
        sink,
        when: words.span(span.from, span.to),
        until: words.moment(expires),
        address: format!("{}/waiting", place.address.trim_end_matches('/')),
    };
    let (subject, body) = outbox::write("slot_offered", &about)?;
    let letter = Letter {
        kind: "slot_offered",
        dedupe_key: format!("slot_offered {offer}"),
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
