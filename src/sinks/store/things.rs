//! Rooms, sinks, tanks, reels and stations as rows.

use diesel::prelude::*;

use super::named;
use crate::db::schema::{reel_formats, reel_kinds, rooms, sinks, tank_loads, tanks};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::{Load, ReelFormat, ReelKind, Room, Sink, Tank};
use crate::studio;

pub(in crate::sinks) fn rooms(conn: &mut Conn) -> Result<Vec<Room>, Error> {
    type Row = (i64, String, i64, String, i64);
    let rows = rooms::table.order((rooms::position, rooms::id)).load::<Row>(conn)?;
    let room = |(id, name, position, note, version)| Room { id, name, position, note, version };
    Ok(rows.into_iter().map(room).collect())
}

pub(in crate::sinks) fn insert_room(tx: &mut Tx<'_>, r: &Room) -> Result<i64, Error> {
    diesel::insert_into(rooms::table)
        .values((
            rooms::name.eq(&r.name),
            rooms::position.eq(r.position),
            rooms::note.eq(&r.note),
            rooms::version.eq(1),
        ))
        .returning(rooms::id)
        .get_result(tx.conn())
        .map_err(named("name"))
}

pub(in crate::sinks) fn update_room(tx: &mut Tx<'_>, r: &Room) -> Result<(), Error> {
    let same = rooms::table.filter(rooms::id.eq(r.id)).filter(rooms::version.eq(r.version));
    let rows = diesel::update(same)
        .set((
            rooms::name.eq(&r.name),
            rooms::position.eq(r.position),
            rooms::note.eq(&r.note),
            rooms::version.eq(rooms::version + 1),
        ))
        .execute(tx.conn())
        .map_err(named("name"))?;
    if rows == 1 { Ok(()) } else { Err(studio::changed_meanwhile("This room")) }
}

/// The first room; every studio has one.
pub(in crate::sinks) fn first_room(conn: &mut Conn) -> Result<i64, Error> {
    let ordered = rooms::table.order((rooms::position, rooms::id));
    Ok(ordered.select(rooms::id).first(conn)?)
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = sinks)]
struct SinkRow {
    id: i64,
    name: String,
    position: i64,
    places: i64,
    note: String,
    room_id: Option<i64>,
    is_sink: bool,
    tanks_at_once: i64,
    retired: bool,
    version: i64,
}

pub(in crate::sinks) fn sinks(conn: &mut Conn) -> Result<Vec<Sink>, Error> {
    let rows: Vec<SinkRow> =
        sinks::table.order((sinks::position, sinks::id)).select(SinkRow::as_select()).load(conn)?;
    let sink = |r: SinkRow| Sink {
        id: r.id,
        name: r.name,
        position: r.position,
        places: r.places,
        note: r.note,
        room_id: r.room_id.unwrap_or_default(),
        is_sink: r.is_sink,
        tanks_at_once: r.tanks_at_once,
        retired: r.retired,
        version: r.version,
    };
    Ok(rows.into_iter().map(sink).collect())
}

pub(in crate::sinks) fn insert_sink(tx: &mut Tx<'_>, s: &Sink) -> Result<i64, Error> {
    diesel::insert_into(sinks::table)
        .values((
            sinks::name.eq(&s.name),
            sinks::position.eq(s.position),
            sinks::places.eq(s.places),
            sinks::note.eq(&s.note),
            sinks::room_id.eq(s.room_id),
            sinks::is_sink.eq(s.is_sink),
            sinks::tanks_at_once.eq(s.tanks_at_once),
            sinks::retired.eq(false),
            sinks::version.eq(1),
        ))
        .returning(sinks::id)
        .get_result(tx.conn())
        .map_err(named("name"))
}

/// Returns how many places and tanks there were, and whether it was retired.
pub(in crate::sinks) fn update_sink(tx: &mut Tx<'_>, s: &Sink) -> Result<(i64, i64, bool), Error> {
    let before: (i64, i64, bool) = sinks::table
        .find(s.id)
        .select((sinks::places, sinks::tanks_at_once, sinks::retired))
        .get_result(tx.conn())?;
    let same = sinks::table.filter(sinks::id.eq(s.id)).filter(sinks::version.eq(s.version));
    let rows = diesel::update(same)
        .set((
            sinks::name.eq(&s.name),
            sinks::position.eq(s.position),
            sinks::places.eq(s.places),
            sinks::note.eq(&s.note),
            sinks::room_id.eq(s.room_id),
            sinks::is_sink.eq(s.is_sink),
            sinks::tanks_at_once.eq(s.tanks_at_once),
            sinks::retired.eq(s.retired),
            sinks::version.eq(sinks::version + 1),
        ))
        .execute(tx.conn())
        .map_err(named("name"))?;
    if rows == 1 { Ok(before) } else { Err(studio::changed_meanwhile("This sink")) }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = tanks)]
struct TankRow {
    id: i64,
    name: String,
    position: i64,
    stack_mm: i64,
    max_reels: i64,
    base_ml: i64,
    min_ml: i64,
    rotary_ml: Option<i64>,
    max_ml: i64,
    note: String,
    retired: bool,
    version: i64,
}

pub(in crate::sinks) fn tanks(conn: &mut Conn) -> Result<Vec<Tank>, Error> {
    let rows: Vec<TankRow> =
        tanks::table.order((tanks::position, tanks::id)).select(TankRow::as_select()).load(conn)?;
    let loads: Vec<(i64, String, i64)> =
        tank_loads::table.order((tank_loads::tank_id, tank_loads::most.desc())).load(conn)?;
    let tank = |r: TankRow| Tank {
        holds: loads
            .iter()
            .filter(|(tank, ..)| *tank == r.id)
            .map(|(_, format, most)| Load { format: format.clone(), most: *most })
            .collect(),
        id: r.id,
        name: r.name,
        position: r.position,
        stack_mm: r.stack_mm,
        max_reels: r.max_reels,
        base_ml: r.base_ml,
        min_ml: r.min_ml,
        rotary_ml: r.rotary_ml,
        max_ml: r.max_ml,
        note: r.note,
        retired: r.retired,
        version: r.version,
    };
    Ok(rows.into_iter().map(tank).collect())
}

pub(in crate::sinks) fn insert_tank(tx: &mut Tx<'_>, t: &Tank) -> Result<i64, Error> {
    let id: i64 = diesel::insert_into(tanks::table)
        .values((
            tanks::name.eq(&t.name),
            tanks::position.eq(t.position),
            tanks::stack_mm.eq(t.stack_mm),
            tanks::max_reels.eq(t.max_reels),
            tanks::base_ml.eq(t.base_ml),
            tanks::min_ml.eq(t.min_ml),
            tanks::rotary_ml.eq(t.rotary_ml),
            tanks::max_ml.eq(t.max_ml),
            tanks::note.eq(&t.note),
            tanks::retired.eq(false),
            tanks::version.eq(1),
        ))
        .returning(tanks::id)
        .get_result(tx.conn())
        .map_err(named("name"))?;
    set_loads(tx, id, &t.holds)?;
    Ok(id)
}

/// Whether it was retired before.
pub(in crate::sinks) fn update_tank(tx: &mut Tx<'_>, t: &Tank) -> Result<bool, Error> {
    let before: bool = tanks::table.find(t.id).select(tanks::retired).get_result(tx.conn())?;
    let same = tanks::table.filter(tanks::id.eq(t.id)).filter(tanks::version.eq(t.version));
    let rows = diesel::update(same)
        .set((
            tanks::name.eq(&t.name),
            tanks::position.eq(t.position),
            tanks::stack_mm.eq(t.stack_mm),
            tanks::max_reels.eq(t.max_reels),
            tanks::base_ml.eq(t.base_ml),
            tanks::min_ml.eq(t.min_ml),
            tanks::rotary_ml.eq(t.rotary_ml),
            tanks::max_ml.eq(t.max_ml),
            tanks::note.eq(&t.note),
            tanks::retired.eq(t.retired),
            tanks::version.eq(tanks::version + 1),
        ))
        .execute(tx.conn())
        .map_err(named("name"))?;
    if rows != 1 {
        return Err(studio::changed_meanwhile("This tank"));
    }
    set_loads(tx, t.id, &t.holds)?;
    Ok(before)
}

fn set_loads(tx: &mut Tx<'_>, tank: i64, loads: &[Load]) -> Result<(), Error> {
    diesel::delete(tank_loads::table.filter(tank_loads::tank_id.eq(tank))).execute(tx.conn())?;
    for load in loads {
        diesel::insert_into(tank_loads::table)
            .values((
                tank_loads::tank_id.eq(tank),
                tank_loads::format.eq(&load.format),
                tank_loads::most.eq(load.most),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = reel_kinds)]
struct ReelRow {
    id: i64,
    kind: String,
    height_mm: i64,
    cover_ml: i64,
    owned: i64,
    drying_s: i64,
    position: i64,
    note: String,
    version: i64,
}

pub(in crate::sinks) fn reel_kinds(conn: &mut Conn) -> Result<Vec<ReelKind>, Error> {
    let rows: Vec<ReelRow> = reel_kinds::table
        .order((reel_kinds::position, reel_kinds::kind))
        .select(ReelRow::as_select())
        .load(conn)?;
    let formats: Vec<(i64, String, i64, i64)> = reel_formats::table
        .order((reel_formats::reel_id, reel_formats::height_mm, reel_formats::format))
        .load(conn)?;
    let kind = |r: ReelRow| ReelKind {
        formats: formats
            .iter()
            .filter(|(reel, ..)| *reel == r.id)
            .map(|(_, format, height_mm, cover_ml)| ReelFormat {
                format: format.clone(),
                height_mm: *height_mm,
                cover_ml: *cover_ml,
            })
            .collect(),
        id: r.id,
        kind: r.kind,
        height_mm: r.height_mm,
        cover_ml: r.cover_ml,
        owned: r.owned,
        drying_s: r.drying_s,
        position: r.position,
        note: r.note,
        version: r.version,
    };
    Ok(rows.into_iter().map(kind).collect())
}

pub(in crate::sinks) fn insert_reels(tx: &mut Tx<'_>, r: &ReelKind) -> Result<i64, Error> {
    let id: i64 = diesel::insert_into(reel_kinds::table)
        .values((
            reel_kinds::kind.eq(&r.kind),
            reel_kinds::height_mm.eq(r.height_mm),
            reel_kinds::cover_ml.eq(r.cover_ml),
            reel_kinds::owned.eq(r.owned),
            reel_kinds::drying_s.eq(r.drying_s),
            reel_kinds::position.eq(r.position),
            reel_kinds::note.eq(&r.note),
            reel_kinds::version.eq(1),
        ))
        .returning(reel_kinds::id)
        .get_result(tx.conn())
        .map_err(named("kind"))?;
    set_formats(tx, id, &r.formats)?;
    Ok(id)
}

/// Returns how many there were.
pub(in crate::sinks) fn update_reels(tx: &mut Tx<'_>, r: &ReelKind) -> Result<i64, Error> {
    let before: i64 =
        reel_kinds::table.find(r.id).select(reel_kinds::owned).get_result(tx.conn())?;
    let same =
        reel_kinds::table.filter(reel_kinds::id.eq(r.id)).filter(reel_kinds::version.eq(r.version));
    let rows = diesel::update(same)
        .set((
            reel_kinds::kind.eq(&r.kind),
            reel_kinds::height_mm.eq(r.height_mm),
            reel_kinds::cover_ml.eq(r.cover_ml),
            reel_kinds::owned.eq(r.owned),
            reel_kinds::drying_s.eq(r.drying_s),
            reel_kinds::position.eq(r.position),
            reel_kinds::note.eq(&r.note),
            reel_kinds::version.eq(reel_kinds::version + 1),
        ))
        .execute(tx.conn())
        .map_err(named("kind"))?;
    if rows != 1 {
        return Err(studio::changed_meanwhile("These reels"));
    }
    set_formats(tx, r.id, &r.formats)?;
    Ok(before)
}

fn set_formats(tx: &mut Tx<'_>, reel: i64, formats: &[ReelFormat]) -> Result<(), Error> {
    let old = reel_formats::table.filter(reel_formats::reel_id.eq(reel));
    diesel::delete(old).execute(tx.conn())?;
    for f in formats {
        diesel::insert_into(reel_formats::table)
            .values((
                reel_formats::reel_id.eq(reel),
                reel_formats::format.eq(&f.format),
                reel_formats::height_mm.eq(f.height_mm),
                reel_formats::cover_ml.eq(f.cover_ml),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}
