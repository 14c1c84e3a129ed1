//! Who holds what when: promises of single units, what is out of service, and the light.

use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;

use super::seating::{Placed, deal};
use super::{Light, Lit, Supply, store};

/// Kinds of things that can be promised to somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// A place at a sink.
    SinkPlace,
    /// Room for a tank at a sink.
    SinkTank,
    /// A tank.
    Tank,
    /// One reel of a kind.
    Reel,
    /// A place to hang a film.
    Hanging,
    /// A place to load reels in the dark.
    Loading,
    /// A place in a washer.
    Washer,
}

impl Kind {
    const ALL: [Kind; 7] = [
        Kind::SinkPlace,
        Kind::SinkTank,
        Kind::Tank,
        Kind::Reel,
        Kind::Hanging,
        Kind::Loading,
        Kind::Washer,
    ];

    /// The word for it in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Kind::SinkPlace => "sink_place",
            Kind::SinkTank => "sink_tank",
            Kind::Tank => "tank",
            Kind::Reel => "reel",
            Kind::Hanging => "hanging",
            Kind::Loading => "loading",
            Kind::Washer => "washer",
        }
    }

    /// The kind of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|k| k.word() == word)
    }
}

/// For what a thing is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// A member's booking.
    Booking(i64),
    /// A run of a published day plan.
    Run(i64),
    /// Out of service.
    Outage(i64),
    /// An offer to somebody on the waiting list.
    Offer(i64),
    /// Anything else.
    Other,
}

/// One thing held for a while.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Held {
    /// The sink, tank or reel kind.
    pub of_id: i64,
    /// Which one of them, from 1.
    pub seat: i64,
    /// When.
    pub span: Span,
    /// For what.
    pub why: Why,
}

/// Holds the first free one of a thing for that time.
///
/// # Errors
/// A refusal (`slot-taken`) when none is free.
pub fn hold(tx: &mut Tx<'_>, kind: Kind, of_id: i64, span: Span, why: Why) -> Result<(), Error> {
    let unit = store::free_unit(tx, kind, of_id, span)?.ok_or_else(taken)?;
    store::insert_hold(tx, unit, span, why)
}

/// Holds so many of a thing for that time. Where no single one is free all through, promises that
/// have not begun are dealt out anew among the like things.
///
/// # Errors
/// A refusal (`slot-taken`) when too few are free at some moment.
pub fn promise(
    tx: &mut Tx<'_>,
    now: Moment,
    (kind, of_id, count): (Kind, i64, usize),
    (span, why): (Span, Why),
) -> Result<(), Error> {
    let units = store::units(tx, kind, of_id)?;
    let mut free = units.clone();
    let busy = store::holds_meeting(tx, &units, span)?;
    free.retain(|u| !busy.iter().any(|b| b.unit == *u));
    if free.len() < count {
        free = reseat(tx, now, &units, (span, count))?;
    }
    for unit in free.into_iter().take(count) {
        store::insert_hold(tx, unit, span, why)?;
    }
    Ok(())
}

/// Makes room by moving promises to other units; returns the units that are then free.
fn reseat(
    tx: &mut Tx<'_>,
    now: Moment,
    units: &[i64],
    (span, count): (Span, usize),
) -> Result<Vec<i64>, Error> {
    let held = store::coming_holds(tx, units, Moment(now.0.min(span.from.0)))?;
    let seat_of = |unit: i64| units.iter().position(|u| *u == unit).unwrap_or(0);
    let placed: Vec<Placed> = held
        .iter()
        .map(|h| Placed {
            seat: seat_of(h.unit),
            span: h.span,
            // An offer is not ours to move.
            fixed: h.span.from < now || h.is_offer(),
        })
        .collect();
    let dealt = deal(units.len(), &placed, span, count).ok_or_else(taken)?;
    let moved: Vec<(store::HoldRow, i64)> = held
        .into_iter()
        .zip(&dealt.placed)
        .filter_map(|(hold, seat)| {
            let unit = *units.get(*seat)?;
            (hold.unit != unit).then_some((hold, unit))
        })
        .collect();
    store::move_holds(tx, &moved)?;
    Ok(dealt.new.iter().filter_map(|seat| units.get(*seat).copied()).collect())
}

/// Gives back everything a booking held, its light included.
///
/// # Errors
/// As the database's.
pub fn release_booking(tx: &mut Tx<'_>, booking: i64) -> Result<(), Error> {
    store::delete_holds(tx, Why::Booking(booking))
}

/// Gives back everything a run held, its light included.
///
/// # Errors
/// As the database's.
pub fn release_run(tx: &mut Tx<'_>, run: i64) -> Result<(), Error> {
    store::delete_holds(tx, Why::Run(run))
}

/// Gives back everything an offer held, its light included.
///
/// # Errors
/// As the database's.
pub fn release_offer(tx: &mut Tx<'_>, offer: i64) -> Result<(), Error> {
    store::delete_holds(tx, Why::Offer(offer))
}

/// Needs this light in a room for that time.
///
/// # Errors
/// A refusal (`slot-taken`) when somebody needs another light there then.
pub fn need_light(
    tx: &mut Tx<'_>,
    (room_id, light): (i64, Light),
    (span, why): (Span, Why),
) -> Result<(), Error> {
    // Asked before, because a refused insert would end the transaction on one engine.
    let others = store::lights(tx, span)?;
    if others.iter().any(|l| l.room_id == room_id && l.light != light) {
        return Err(other_light());
    }
    store::insert_light(tx, (room_id, light), (span, why))
}

/// What of a kind is held at some time within the span, by time.
///
/// # Errors
/// As the database's.
pub fn held(conn: &mut Conn, kind: Kind, span: Span) -> Result<Vec<Held>, Error> {
    let all = store::held(conn, span)?;
    Ok(all.into_iter().filter(|(k, _)| *k == kind).map(|(_, h)| h).collect())
}

/// The lights that are needed at some time within the span.
///
/// # Errors
/// As the database's.
pub fn lights(conn: &mut Conn, span: Span) -> Result<Vec<Lit>, Error> {
    store::lights(conn, span)
}

/// What there is of everything, and what of it is promised within the span.
///
/// # Errors
/// As the database's.
pub fn supply(conn: &mut Conn, span: Span) -> Result<Supply, Error> {
    let mut supply = Supply {
        seats: store::seats(conn)?,
        lights: store::lights(conn, span)?,
        ..Supply::default()
    };
    for (kind, held) in store::held(conn, span)? {
        supply.taken.entry((kind, held.of_id)).or_default().push(held);
    }
    Ok(supply)
}

/// What one booking holds: of which kind, which thing, and how many.
///
/// # Errors
/// As the database's.
pub fn held_by_booking(conn: &mut Conn, booking: i64) -> Result<Vec<(Kind, i64, i64)>, Error> {
    store::held_by_booking(conn, booking)
}

/// Something, or so many of it, not to be had for a while.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outage {
    /// Its number; 0 for one that is to be made.
    pub id: i64,
    /// The kind of thing.
    pub kind: Kind,
    /// Which thing.
    pub of_id: i64,
    /// How many of it.
    pub count: i64,
    /// From when to when.
    pub span: Span,
    /// Why.
    pub reason: String,
}

/// The end of an outage that lasts until further notice: the year 2200.
pub const FURTHER_NOTICE: Moment = Moment(7_258_118_400);

/// Takes something out of service; whatever was promised of it must be given back before.
///
/// # Errors
/// A refusal (`slot-taken`) while too many are promised.
pub fn add_outage(tx: &mut Tx<'_>, now: Moment, by: i64, outage: &Outage) -> Result<i64, Error> {
    let id = store::insert_outage(tx, now, by, outage)?;
    let count = usize::try_from(outage.count).unwrap_or(usize::MAX);
    let what = (outage.kind, outage.of_id, count);
    promise(tx, now, what, (outage.span, Why::Outage(id)))?;
    Ok(id)
}

/// Puts it into service again, now or as if it had never been out.
///
/// # Errors
/// [`Error::NotFound`] where there is no such outage.
pub fn end_outage(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<Outage, Error> {
    let outage = store::outage(tx, id)?;
    store::end_outage(tx, now, &outage)?;
    Ok(outage)
}

/// Outages that are not over, by their beginning.
///
/// # Errors
/// As the database's.
pub fn outages(conn: &mut Conn, now: Moment) -> Result<Vec<Outage>, Error> {
    store::outages(conn, now)
}

/// Why each of these outages is.
///
/// # Errors
/// As the database's.
pub fn outage_reasons(conn: &mut Conn, ids: &[i64]) -> Result<Vec<(i64, String)>, Error> {
    store::outage_reasons(conn, ids)
}

/// What is said when there is nothing free.
pub(super) fn taken() -> Error {
    Error::refused(
        "slot-taken",
        "That time is taken, or was taken a moment ago. Please look at the board for another.",
    )
}

/// What is said when the room's light is another.
pub(super) fn other_light() -> Error {
    Error::refused(
        "slot-taken",
        "Somebody needs another light in that room then: darkness, safelight and white light never \
         go together. Choose another time or another room.",
    )
}
