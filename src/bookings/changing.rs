//! What becomes of a booking: moved, shortened, given back, taken away.

use super::rules::{self, Refusal};
use super::{Booking, Place, Wish, asking, facts, hold, mail, own, store, waitlist, whose};
use crate::clock::{Moment, Span};
use crate::db::Tx;
use crate::error::Error;
use crate::sessions::{Person, Role};
use crate::sinks::{self, Why};

/// Moves, lengthens or shortens a booking, or changes what it has with it. Its owner does, or a
/// lead, who thereby writes to the owner.
///
/// # Errors
/// [`Error::NotFound`] for others'; the rule that refuses; `slot-taken`; a refusal when the booking
/// changed since the form was made.
pub fn change(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (id, version): (i64, i64),
    wish: &Wish,
) -> Result<Booking, Error> {
    let before = own(tx, person, id)?;
    move_to(tx, place, person, (&before, version), wish)?;
    let after = store::one(tx, id)?;
    offer_what_is_left(tx, place, &before)?;
    if after.span != before.span || after.sink_id != before.sink_id {
        mail::moved(tx, place, person, (&before, &after))?;
    }
    Ok(after)
}

/// The change itself, without what follows from it.
fn move_to(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (before, version): (&Booking, i64),
    wish: &Wish,
) -> Result<(), Error> {
    let id = before.id;
    if !before.stands {
        return Err(Error::refused("cancelled", "That booking was cancelled. Book a new time."));
    }
    let span = wish.span()?;
    let mut whose = whose(tx, person, Some(before.member_id))?;
    whose.changing = Some(id);
    rules::may_book(whose.owner)?;
    let date = place.zone.date(span.from);
    let facts = facts::facts(tx, (place.now, place.zone), whose, (date, date))?;
    let is_lead = person.role == Role::Lead;
    if before.span.from <= place.now {
        rules::may_give_back(place.now, before.span, &facts.limits, true)?;
        let same = span.from == before.span.from && wish.sink_id == before.sink_id;
        if !same || span.to < place.now {
            return Err(Refusal::HasBegun.into());
        }
        rules::check_shape(&facts, span)?;
    } else {
        let keeps = span.from <= before.span.from && before.span.to <= span.to;
        if !(keeps && wish.sink_id == before.sink_id) {
            rules::may_give_back(place.now, before.span, &facts.limits, is_lead)?;
        }
        rules::check(&facts, span)?;
    }
    let gap_s = facts.limits.gap_min * 60;
    let ask = asking::ask(wish, &wish.inventory(tx)?, gap_s)?;
    store::update(tx, place, (id, version, gap_s), (wish, span))?;
    sinks::release_booking(tx, id)?;
    hold(tx, place.now, (Why::Booking(id), span), &ask)
}

/// Cancels a booking: its owner, or a lead, who thereby writes to the owner. A second time does
/// nothing.
///
/// # Errors
/// [`Error::NotFound`] for others'; a rule when it is too late.
pub fn cancel(tx: &mut Tx<'_>, place: &Place, person: &Person, id: i64) -> Result<Booking, Error> {
    let booking = own(tx, person, id)?;
    if !booking.stands {
        return Ok(booking);
    }
    let limits = store::limits(tx)?;
    rules::may_give_back(place.now, booking.span, &limits, person.role == Role::Lead)?;
    withdraw(tx, place, (&booking, person), "")?;
    Ok(booking)
}

/// Takes a booking away, with the reason in the letter to its owner unless they do it themselves.
///
/// # Errors
/// As the database's.
pub fn withdraw(
    tx: &mut Tx<'_>,
    place: &Place,
    (booking, by): (&Booking, &Person),
    reason: &str,
) -> Result<(), Error> {
    take_away(tx, place, (booking, by), reason)?;
    offer_what_is_left(tx, place, booking)
}

/// As [`withdraw`], but its time is not offered to who waits: something else is to come there.
pub(super) fn take_away(
    tx: &mut Tx<'_>,
    place: &Place,
    (booking, by): (&Booking, &Person),
    reason: &str,
) -> Result<(), Error> {
    store::mark_cancelled(tx, place.now, booking.id)?;
    sinks::release_booking(tx, booking.id)?;
    if booking.member_id != by.id {
        mail::cancelled(tx, place, (booking, by), reason)?;
    }
    Ok(())
}

/// Offers the time a booking gave back to who waits for that day.
fn offer_what_is_left(tx: &mut Tx<'_>, place: &Place, before: &Booking) -> Result<(), Error> {
    waitlist::offer_freed(tx, place, place.zone.date(before.span.from))
}

/// Releases what a member who leaves had still booked.
///
/// # Errors
/// As the database's.
pub fn release_all_of(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    for id in store::coming_of(tx, now, member)? {
        store::mark_cancelled(tx, now, id)?;
        sinks::release_booking(tx, id)?;
    }
    Ok(())
}

/// Moves a booking to another time or sink with all it has, without a letter: for many at once, of
/// which their mover knows.
///
/// # Errors
/// As [`change`].
pub fn shift(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    (id, sink_id, span): (i64, i64, Span),
) -> Result<(), Error> {
    let before = own(tx, person, id)?;
    let all = sinks::inventory(tx)?;
    let wish = Wish { sink_id, span: Some(span), ..super::wish_of(tx, &all, &before)? };
    move_to(tx, place, person, (&before, before.version), &wish)?;
    offer_what_is_left(tx, place, &before)
}
