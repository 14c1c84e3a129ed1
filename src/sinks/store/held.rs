//! Holds, lights and outages as rows.

use std::collections::BTreeMap;

use diesel::prelude::*;
use diesel::result::Error as Diesel;

use crate::clock::{Moment, Span};
use crate::db::schema::{holds, outages, room_lights, units};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::supply::Lit;
use crate::sinks::{Held, Kind, Light, Why, holds as verbs};

/// No hold but an outage's is longer, in seconds; the database says so too. That is why holds that
/// reach into a stretch can be found by their beginning.
const LONGEST_S: i64 = 259_200;

/// A hold as it stands in its table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::sinks) struct HoldRow {
    pub(in crate::sinks) id: i64,
    pub(in crate::sinks) unit: i64,
    pub(in crate::sinks) span: Span,
    pub(super) why: String,
    pub(super) booking: Option<i64>,
    pub(super) run: Option<i64>,
    pub(super) outage: Option<i64>,
    pub(super) offer: Option<i64>,
}

impl HoldRow {
    pub(in crate::sinks) fn is_offer(&self) -> bool {
        self.offer.is_some()
    }
}

type Keys = (Option<i64>, Option<i64>, Option<i64>, Option<i64>);
type Row = (i64, i64, i64, i64, String, Keys);

fn row((id, unit, from, to, why, (booking, run, outage, offer)): Row) -> HoldRow {
    let span = Span { from: Moment(from), to: Moment(to) };
    HoldRow { id, unit, span, why, booking, run, outage, offer }
}

macro_rules! hold_columns {
    () => {
        (
            holds::id,
            holds::unit_id,
            holds::from_s,
            holds::to_s,
            holds::why,
            (holds::booking_id, holds::run_id, holds::outage_id, holds::offer_id),
        )
    };
}

/// The units of a thing, in the order of their seats.
pub(in crate::sinks) fn units(conn: &mut Conn, kind: Kind, of_id: i64) -> Result<Vec<i64>, Error> {
    Ok(units::table
        .filter(units::kind.eq(kind.word()))
        .filter(units::of_id.eq(of_id))
        .order(units::seat)
        .select(units::id)
        .load(conn)?)
}

/// The holds of these units that share an instant with the span.
pub(in crate::sinks) fn holds_meeting(
    conn: &mut Conn,
    of: &[i64],
    span: Span,
) -> Result<Vec<HoldRow>, Error> {
    let mut rows: Vec<Row> = holds::table
        .filter(holds::unit_id.eq_any(of))
        .filter(holds::from_s.gt(span.from.0.saturating_sub(LONGEST_S)))
        .filter(holds::from_s.lt(span.to.0))
        .filter(holds::to_s.gt(span.from.0))
        .select(hold_columns!())
        .load(conn)?;
    for outage in outages_meeting(conn, span)? {
        let long: Vec<Row> = holds::table
            .filter(holds::outage_id.eq(outage))
            .filter(holds::unit_id.eq_any(of))
            .filter(holds::from_s.le(span.from.0.saturating_sub(LONGEST_S)))
            .select(hold_columns!())
            .load(conn)?;
        rows.extend(long);
    }
    Ok(rows.into_iter().map(row).collect())
}

/// Outages that began so long before the span that their holds are not found by their beginning.
fn outages_meeting(conn: &mut Conn, span: Span) -> Result<Vec<i64>, Error> {
    Ok(outages::table
        .filter(outages::to_s.gt(span.from.0))
        .filter(outages::from_s.le(span.from.0.saturating_sub(LONGEST_S)))
        .select(outages::id)
        .load(conn)?)
}

/// All holds of these units that end after a moment.
pub(in crate::sinks) fn coming_holds(
    conn: &mut Conn,
    of: &[i64],
    after: Moment,
) -> Result<Vec<HoldRow>, Error> {
    holds_meeting(conn, of, Span { from: after, to: verbs::FURTHER_NOTICE })
}

pub(in crate::sinks) fn free_unit(
    tx: &mut Tx<'_>,
    kind: Kind,
    of_id: i64,
    span: Span,
) -> Result<Option<i64>, Error> {
    let all = units(tx, kind, of_id)?;
    let busy = holds_meeting(tx, &all, span)?;
    Ok(all.into_iter().find(|u| !busy.iter().any(|b| b.unit == *u)))
}

pub(in crate::sinks) fn insert_hold(
    tx: &mut Tx<'_>,
    unit: i64,
    span: Span,
    why: Why,
) -> Result<(), Error> {
    let (why, (booking, run, outage, offer)) = match why {
        Why::Booking(id) => ("booking", (Some(id), None, None, None)),
        Why::Run(id) => ("run", (None, Some(id), None, None)),
        Why::Outage(id) => ("out_of_service", (None, None, Some(id), None)),
        Why::Offer(id) => ("offer", (None, None, None, Some(id))),
        Why::Other => ("out_of_service", (None, None, None, None)),
    };
    let hold = HoldRow { id: 0, unit, span, why: why.to_owned(), booking, run, outage, offer };
    insert_row(tx, &hold, unit)
}

pub(super) fn insert_row(tx: &mut Tx<'_>, hold: &HoldRow, unit: i64) -> Result<(), Error> {
    diesel::insert_into(holds::table)
        .values((
            holds::unit_id.eq(unit),
            holds::from_s.eq(hold.span.from.0),
            holds::to_s.eq(hold.span.to.0),
            holds::why.eq(&hold.why),
            holds::booking_id.eq(hold.booking),
            holds::run_id.eq(hold.run),
            holds::outage_id.eq(hold.outage),
            holds::offer_id.eq(hold.offer),
        ))
        .execute(tx.conn())
        .map_err(|e| refused(e, "holds_never_meet", verbs::taken))?;
    Ok(())
}

pub(super) fn holds_of_outage(conn: &mut Conn, id: i64) -> Result<Vec<HoldRow>, Error> {
    let rows: Vec<Row> =
        holds::table.filter(holds::outage_id.eq(id)).select(hold_columns!()).load(conn)?;
    Ok(rows.into_iter().map(row).collect())
}

/// What a constraint of ours that said no means to people.
fn refused(e: Diesel, constraint: &str, meaning: fn() -> Error) -> Error {
    match &e {
        Diesel::DatabaseError(_, info) if info.message().contains(constraint) => meaning(),
        _ => e.into(),
    }
}

/// Moves each hold to another unit: all are lifted before the first is put down again.
pub(in crate::sinks) fn move_holds(tx: &mut Tx<'_>, moved: &[(HoldRow, i64)]) -> Result<(), Error> {
    let ids: Vec<i64> = moved.iter().map(|(hold, _)| hold.id).collect();
    diesel::delete(holds::table.filter(holds::id.eq_any(&ids))).execute(tx.conn())?;
    for (hold, unit) in moved {
        insert_row(tx, hold, *unit)?;
    }
    Ok(())
}

pub(in crate::sinks) fn delete_holds(tx: &mut Tx<'_>, why: Why) -> Result<(), Error> {
    match why {
        Why::Booking(id) => {
            let lights = room_lights::table.filter(room_lights::booking_id.eq(id));
            diesel::delete(lights).execute(tx.conn())?;
            diesel::delete(holds::table.filter(holds::booking_id.eq(id))).execute(tx.conn())?;
        }
        Why::Run(id) => {
            let lights = room_lights::table.filter(room_lights::run_id.eq(id));
            diesel::delete(lights).execute(tx.conn())?;
            diesel::delete(holds::table.filter(holds::run_id.eq(id))).execute(tx.conn())?;
        }
        Why::Outage(id) => {
            diesel::delete(holds::table.filter(holds::outage_id.eq(id))).execute(tx.conn())?;
        }
        Why::Offer(id) => {
            let lights = room_lights::table.filter(room_lights::offer_id.eq(id));
            diesel::delete(lights).execute(tx.conn())?;
            diesel::delete(holds::table.filter(holds::offer_id.eq(id))).execute(tx.conn())?;
        }
        Why::Other => {}
    }
    Ok(())
}

type UnitRow = (String, i64, i64, i64, i64, Keys);

/// Everything held at some time within the span, by time.
pub(in crate::sinks) fn held(conn: &mut Conn, span: Span) -> Result<Vec<(Kind, Held)>, Error> {
    macro_rules! columns {
        () => {
            (
                units::kind,
                units::of_id,
                units::seat,
                holds::from_s,
                holds::to_s,
                (holds::booking_id, holds::run_id, holds::outage_id, holds::offer_id),
            )
        };
    }
    let mut rows: Vec<UnitRow> = holds::table
        .inner_join(units::table.on(units::id.eq(holds::unit_id)))
        .filter(holds::from_s.gt(span.from.0.saturating_sub(LONGEST_S)))
        .filter(holds::from_s.lt(span.to.0))
        .filter(holds::to_s.gt(span.from.0))
        .select(columns!())
        .load(conn)?;
    for outage in outages_meeting(conn, span)? {
        let long: Vec<UnitRow> = holds::table
            .inner_join(units::table.on(units::id.eq(holds::unit_id)))
            .filter(holds::outage_id.eq(outage))
            .filter(holds::from_s.le(span.from.0.saturating_sub(LONGEST_S)))
            .select(columns!())
            .load(conn)?;
        rows.extend(long);
    }
    let mut all: Vec<(Kind, Held)> = rows.into_iter().filter_map(held_of).collect();
    all.sort_by_key(|(kind, h)| (h.span.from, *kind, h.of_id, h.seat));
    Ok(all)
}

fn held_of((kind, of_id, seat, from, to, keys): UnitRow) -> Option<(Kind, Held)> {
    let (booking, run, outage, offer) = keys;
    let why = booking.map(Why::Booking).or(run.map(Why::Run)).or(outage.map(Why::Outage));
    let why = why.or(offer.map(Why::Offer));
    let span = Span { from: Moment(from), to: Moment(to) };
    Some((Kind::from_word(&kind)?, Held { of_id, seat, span, why: why.unwrap_or(Why::Other) }))
}

/// How many there are of each thing.
pub(in crate::sinks) fn seats(conn: &mut Conn) -> Result<BTreeMap<(Kind, i64), i64>, Error> {
    let rows: Vec<(String, i64, i64)> = units::table
        .group_by((units::kind, units::of_id))
        .select((units::kind, units::of_id, diesel::dsl::count_star()))
        .load(conn)?;
    let seat = |(kind, of_id, n): (String, i64, i64)| Some(((Kind::from_word(&kind)?, of_id), n));
    Ok(rows.into_iter().filter_map(seat).collect())
}

pub(in crate::sinks) fn held_by_booking(
    conn: &mut Conn,
    booking: i64,
) -> Result<Vec<(Kind, i64, i64)>, Error> {
    let rows: Vec<(String, i64)> = holds::table
        .inner_join(units::table.on(units::id.eq(holds::unit_id)))
        .filter(holds::booking_id.eq(booking))
        .select((units::kind, units::of_id))
        .load(conn)?;
    let mut counts: BTreeMap<(Kind, i64), i64> = BTreeMap::new();
    for (kind, of_id) in rows {
        if let Some(kind) = Kind::from_word(&kind) {
            *counts.entry((kind, of_id)).or_default() += 1;
        }
    }
    Ok(counts.into_iter().map(|((kind, of_id), n)| (kind, of_id, n)).collect())
}

/// Each thing a booking holds, and when.
pub(in crate::sinks) fn spans_of_booking(
    conn: &mut Conn,
    booking: i64,
) -> Result<Vec<(Kind, i64, Span)>, Error> {
    let rows: Vec<(String, i64, i64, i64)> = holds::table
        .inner_join(units::table.on(units::id.eq(holds::unit_id)))
        .filter(holds::booking_id.eq(booking))
        .order(holds::id)
        .select((units::kind, units::of_id, holds::from_s, holds::to_s))
        .load(conn)?;
    let held = |(kind, of_id, from, to): (String, i64, i64, i64)| {
        Some((Kind::from_word(&kind)?, of_id, Span { from: Moment(from), to: Moment(to) }))
    };
    Ok(rows.into_iter().filter_map(held).collect())
}

/// The lights a booking needs: in which room, which, and when.
pub(in crate::sinks) fn lights_of_booking(
    conn: &mut Conn,
    booking: i64,
) -> Result<Vec<(i64, Light, Span)>, Error> {
    let rows: Vec<(i64, String, i64, i64)> = room_lights::table
        .filter(room_lights::booking_id.eq(booking))
        .order(room_lights::id)
        .select((room_lights::room_id, room_lights::light, room_lights::from_s, room_lights::to_s))
        .load(conn)?;
    let lit = |(room, light, from, to): (i64, String, i64, i64)| {
        Some((room, Light::from_word(&light)?, Span { from: Moment(from), to: Moment(to) }))
    };
    Ok(rows.into_iter().filter_map(lit).collect())
}

pub(in crate::sinks) fn insert_light(
    tx: &mut Tx<'_>,
    (room, light): (i64, Light),
    (span, why): (Span, Why),
) -> Result<(), Error> {
    let (booking, run, offer) = match why {
        Why::Booking(id) => (Some(id), None, None),
        Why::Run(id) => (None, Some(id), None),
        Why::Offer(id) => (None, None, Some(id)),
        // What is out of service needs no light.
        Why::Outage(_) | Why::Other => return Ok(()),
    };
    diesel::insert_into(room_lights::table)
        .values((
            room_lights::room_id.eq(room),
            room_lights::light.eq(light.word()),
            room_lights::from_s.eq(span.from.0),
            room_lights::to_s.eq(span.to.0),
            room_lights::booking_id.eq(booking),
            room_lights::run_id.eq(run),
            room_lights::offer_id.eq(offer),
        ))
        .execute(tx.conn())
        .map_err(|e| refused(e, "room_lights_never_mix", verbs::other_light))?;
    Ok(())
}

pub(in crate::sinks) fn lights(conn: &mut Conn, span: Span) -> Result<Vec<Lit>, Error> {
    let rows: Vec<(i64, String, i64, i64, Option<i64>)> = room_lights::table
        .filter(room_lights::from_s.gt(span.from.0.saturating_sub(LONGEST_S)))
        .filter(room_lights::from_s.lt(span.to.0))
        .filter(room_lights::to_s.gt(span.from.0))
        .order(room_lights::from_s)
        .select((
            room_lights::room_id,
            room_lights::light,
            room_lights::from_s,
            room_lights::to_s,
            room_lights::booking_id,
        ))
        .load(conn)?;
    let lit = |(room_id, light, from, to, booking): (i64, String, i64, i64, Option<i64>)| {
        let span = Span { from: Moment(from), to: Moment(to) };
        Some(Lit { room_id, light: Light::from_word(&light)?, span, booking })
    };
    Ok(rows.into_iter().filter_map(lit).collect())
}
