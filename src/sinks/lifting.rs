//! Lifting what bookings hold, all at once, and putting it down again at other times: for when the
//! studio's clock changes, and everybody moves.

use std::collections::BTreeMap;

use super::holds::{need_light, promise};
use super::{Kind, Light, Why, store};
use crate::clock::{Moment, Span};
use crate::db::Tx;
use crate::error::Error;

/// What a booking held before it was lifted.
#[derive(Clone, Debug)]
pub struct Lifted {
    booking: i64,
    span: Span,
    things: BTreeMap<(Kind, i64), Vec<Span>>,
    lights: Vec<(i64, Light, Span)>,
}

/// Takes up all that a booking of this span holds, its light included.
///
/// # Errors
/// As the database's.
pub fn lift(tx: &mut Tx<'_>, booking: i64, span: Span) -> Result<Lifted, Error> {
    let mut things: BTreeMap<(Kind, i64), Vec<Span>> = BTreeMap::new();
    for (kind, of_id, held) in store::spans_of_booking(tx, booking)? {
        things.entry((kind, of_id)).or_default().push(held);
    }
    let lights = store::lights_of_booking(tx, booking)?;
    store::delete_holds(tx, Why::Booking(booking))?;
    Ok(Lifted { booking, span, things, lights })
}

/// Puts it down again for a booking that now lasts from one moment to another: what was held longer
/// than the booking, for cleaning and drying, is held just as much longer.
///
/// # Errors
/// A refusal (`slot-taken`) when something of it is not free then.
pub fn put_down(tx: &mut Tx<'_>, now: Moment, lifted: &Lifted, to: Span) -> Result<(), Error> {
    let moved = |held: &Span| Span {
        from: to.from.plus(held.from.since(lifted.span.from)),
        to: to.to.plus(held.to.since(lifted.span.to)),
    };
    let why = Why::Booking(lifted.booking);
    for ((kind, of_id), spans) in &lifted.things {
        for span in spans {
            promise(tx, now, (*kind, *of_id, 1), (moved(span), why))?;
        }
    }
    for (room, light, span) in &lifted.lights {
        need_light(tx, (*room, *light), (moved(span), why))?;
    }
    Ok(())
}
