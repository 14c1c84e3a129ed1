use std::ops::RangeInclusive;

use diesel::prelude::*;
use diesel::result::{DatabaseErrorKind as Fault, Error as Diesel};

use super::{Held, Hours, Kind, ReelKind, Sink, Tank, Why};
use crate::clock::{Moment, Span};
use crate::db::schema::{holds, opening_hours, reel_kinds, sinks, tanks, units};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::studio;

pub(super) fn sinks(conn: &mut Conn) -> Result<Vec<Sink>, Error> {
    type Row = (i64, String, i64, i64, String, i64);
    let rows = sinks::table.order((sinks::position, sinks::id)).load::<Row>(conn)?;
    let sink = |(id, name, position, places, note, version)| Sink {
        id,
        name,
        position,
        places,
        note,
        version,
    };
    Ok(rows.into_iter().map(sink).collect())
}

#[derive(Queryable)]
struct TankRow {
    id: i64,
    name: String,
    position: i64,
    stack_mm: i64,
    max_reels: i64,
    base_ml: i64,
    min_ml: i64,
    max_ml: i64,
    note: String,
    version: i64,
}

pub(super) fn tanks(conn: &mut Conn) -> Result<Vec<Tank>, Error> {
    let rows = tanks::table.order((tanks::position, tanks::id)).load::<TankRow>(conn)?;
    let tank = |r: TankRow| Tank {
        id: r.id,
        name: r.name,
        position: r.position,
        stack_mm: r.stack_mm,
        max_reels: r.max_reels,
        base_ml: r.base_ml,
        min_ml: r.min_ml,
        max_ml: r.max_ml,
        note: r.note,
        version: r.version,
    };
    Ok(rows.into_iter().map(tank).collect())
}

pub(super) fn reel_kinds(conn: &mut Conn) -> Result<Vec<ReelKind>, Error> {
    type Row = (i64, String, i64, i64, i64, i64);
    let rows = reel_kinds::table.order(reel_kinds::kind).load::<Row>(conn)?;
    let kind = |(id, kind, height_mm, cover_ml, owned, drying_s)| ReelKind {
        id,
        kind,
        height_mm,
        cover_ml,
        owned,
        drying_s,
    };
    Ok(rows.into_iter().map(kind).collect())
}

pub(super) fn hours(conn: &mut Conn) -> Result<Vec<Hours>, Error> {
    let rows = opening_hours::table
        .order((opening_hours::weekday, opening_hours::from_min))
        .select((opening_hours::weekday, opening_hours::from_min, opening_hours::to_min))
        .load::<(i64, i64, i64)>(conn)?;
    let hours = |(weekday, from_min, to_min)| Hours { weekday, from_min, to_min };
    Ok(rows.into_iter().map(hours).collect())
}

pub(super) fn replace_hours(tx: &mut Tx<'_>, week: &[Hours]) -> Result<(), Error> {
    diesel::delete(opening_hours::table).execute(tx.conn())?;
    for h in week {
        diesel::insert_into(opening_hours::table)
            .values((
                opening_hours::weekday.eq(h.weekday),
                opening_hours::from_min.eq(h.from_min),
                opening_hours::to_min.eq(h.to_min),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

fn named(field: &'static str) -> impl Fn(Diesel) -> Error {
    move |e| match e {
        Diesel::DatabaseError(Fault::UniqueViolation, _) => {
            Error::field(field, "There is one of that name already; choose another.")
        }
        other => other.into(),
    }
}

pub(super) fn insert_sink(tx: &mut Tx<'_>, s: &Sink) -> Result<i64, Error> {
    diesel::insert_into(sinks::table)
        .values((
            sinks::name.eq(&s.name),
            sinks::position.eq(s.position),
            sinks::places.eq(s.places),
            sinks::note.eq(&s.note),
            sinks::version.eq(1),
        ))
        .returning(sinks::id)
        .get_result(tx.conn())
        .map_err(named("name"))
}

/// Returns how many places there were.
pub(super) fn update_sink(tx: &mut Tx<'_>, s: &Sink) -> Result<i64, Error> {
    let before: i64 = sinks::table.find(s.id).select(sinks::places).first(tx.conn())?;
    let same = sinks::table.filter(sinks::id.eq(s.id)).filter(sinks::version.eq(s.version));
    let rows = diesel::update(same)
        .set((
            sinks::name.eq(&s.name),
            sinks::position.eq(s.position),
            sinks::places.eq(s.places),
            sinks::note.eq(&s.note),
            sinks::version.eq(sinks::version + 1),
        ))
        .execute(tx.conn())
        .map_err(named("name"))?;
    if rows == 1 { Ok(before) } else { Err(studio::changed_meanwhile("This sink")) }
}

pub(super) fn insert_tank(tx: &mut Tx<'_>, t: &Tank) -> Result<i64, Error> {
    diesel::insert_into(tanks::table)
        .values((
            tanks::name.eq(&t.name),
            tanks::position.eq(t.position),
            tanks::stack_mm.eq(t.stack_mm),
            tanks::max_reels.eq(t.max_reels),
            tanks::base_ml.eq(t.base_ml),
            tanks::min_ml.eq(t.min_ml),
            tanks::max_ml.eq(t.max_ml),
            tanks::note.eq(&t.note),
            tanks::version.eq(1),
        ))
        .returning(tanks::id)
        .get_result(tx.conn())
        .map_err(named("name"))
}

pub(super) fn update_tank(tx: &mut Tx<'_>, t: &Tank) -> Result<(), Error> {
    let known: i64 = tanks::table.find(t.id).select(tanks::id).first(tx.conn())?;
    let same = tanks::table.filter(tanks::id.eq(known)).filter(tanks::version.eq(t.version));
    let rows = diesel::update(same)
        .set((
            tanks::name.eq(&t.name),
            tanks::position.eq(t.position),
            tanks::stack_mm.eq(t.stack_mm),
            tanks::max_reels.eq(t.max_reels),
            tanks::base_ml.eq(t.base_ml),
            tanks::min_ml.eq(t.min_ml),
            tanks::max_ml.eq(t.max_ml),
            tanks::note.eq(&t.note),
            tanks::version.eq(tanks::version + 1),
        ))
        .execute(tx.conn())
        .map_err(named("name"))?;
    if rows == 1 { Ok(()) } else { Err(studio::changed_meanwhile("This tank")) }
}

pub(super) fn insert_reels(tx: &mut Tx<'_>, r: &ReelKind) -> Result<i64, Error> {
    diesel::insert_into(reel_kinds::table)
        .values((
            reel_kinds::kind.eq(&r.kind),
            reel_kinds::height_mm.eq(r.height_mm),
            reel_kinds::cover_ml.eq(r.cover_ml),
            reel_kinds::owned.eq(r.owned),
            reel_kinds::drying_s.eq(r.drying_s),
        ))
        .returning(reel_kinds::id)
        .get_result(tx.conn())
        .map_err(named("kind"))
}

pub(super) fn add_units(
    tx: &mut Tx<'_>,
    kind: Kind,
    of_id: i64,
    seats: RangeInclusive<i64>,
) -> Result<(), Error> {
    for seat in seats {
        diesel::insert_into(units::table)
            .values((units::kind.eq(kind.word()), units::of_id.eq(of_id), units::seat.eq(seat)))
            .execute(tx.conn())?;
    }
    Ok(())
}

/// Takes away the seats after `keep`, unless one of them is still promised.
pub(super) fn drop_units(
    tx: &mut Tx<'_>,
    now: Moment,
    kind: Kind,
    of_id: i64,
    keep: i64,
) -> Result<bool, Error> {
    let gone: Vec<i64> = units::table
        .filter(units::kind.eq(kind.word()))
        .filter(units::of_id.eq(of_id))
        .filter(units::seat.gt(keep))
        .select(units::id)
        .load(tx.conn())?;
    let of_gone = holds::table.filter(holds::unit_id.eq_any(&gone));
    let promised: i64 = of_gone.filter(holds::to_s.gt(now.0)).count().get_result(tx.conn())?;
    if promised > 0 {
        return Ok(false);
    }
    diesel::delete(holds::table.filter(holds::unit_id.eq_any(&gone))).execute(tx.conn())?;
    diesel::delete(units::table.filter(units::id.eq_any(&gone))).execute(tx.conn())?;
    Ok(true)
}

pub(super) fn free_unit(
    tx: &mut Tx<'_>,
    kind: Kind,
    of_id: i64,
    span: Span,
) -> Result<Option<i64>, Error> {
    let all: Vec<i64> = units::table
        .filter(units::kind.eq(kind.word()))
        .filter(units::of_id.eq(of_id))
        .order(units::seat)
        .select(units::id)
        .load(tx.conn())?;
    let busy: Vec<i64> = holds::table
        .filter(holds::unit_id.eq_any(&all))
        .filter(holds::from_s.lt(span.to.0))
        .filter(holds::to_s.gt(span.from.0))
        .select(holds::unit_id)
        .load(tx.conn())?;
    Ok(all.into_iter().find(|u| !busy.contains(u)))
}

pub(super) fn insert_hold(tx: &mut Tx<'_>, unit: i64, span: Span, why: Why) -> Result<(), Error> {
    let (word, booking, run) = match why {
        Why::Booking(id) => ("booking", Some(id), None),
        Why::Run(id) => ("run", None, Some(id)),
        Why::Other => ("out_of_service", None, None),
    };
    diesel::insert_into(holds::table)
        .values((
            holds::unit_id.eq(unit),
            holds::from_s.eq(span.from.0),
            holds::to_s.eq(span.to.0),
            holds::why.eq(word),
            holds::booking_id.eq(booking),
            holds::run_id.eq(run),
        ))
        .execute(tx.conn())
        .map_err(|e| match &e {
            Diesel::DatabaseError(_, info) if info.message().contains("holds_never_meet") => {
                super::taken()
            }
            _ => e.into(),
        })?;
    Ok(())
}

pub(super) fn delete_holds(tx: &mut Tx<'_>, why: Why) -> Result<(), Error> {
    match why {
        Why::Booking(id) => {
            diesel::delete(holds::table.filter(holds::booking_id.eq(id))).execute(tx.conn())?
        }
        Why::Run(id) => {
            diesel::delete(holds::table.filter(holds::run_id.eq(id))).execute(tx.conn())?
        }
        Why::Other => 0,
    };
    Ok(())
}

pub(super) fn held(conn: &mut Conn, kind: Kind, span: Span) -> Result<Vec<Held>, Error> {
    type Row = (i64, i64, i64, i64, Option<i64>, Option<i64>);
    let rows = holds::table
        .inner_join(units::table.on(units::id.eq(holds::unit_id)))
        .filter(units::kind.eq(kind.word()))
        .filter(holds::from_s.lt(span.to.0))
        .filter(holds::to_s.gt(span.from.0))
        .order((holds::from_s, units::id))
        .select((
            units::of_id,
            units::seat,
            holds::from_s,
            holds::to_s,
            holds::booking_id,
            holds::run_id,
        ))
        .load::<Row>(conn)?;
    let held = |(of_id, seat, from, to, booking, run): Row| Held {
        of_id,
        seat,
        span: Span { from: Moment(from), to: Moment(to) },
        why: booking.map(Why::Booking).or(run.map(Why::Run)).unwrap_or(Why::Other),
    };
    Ok(rows.into_iter().map(held).collect())
}
