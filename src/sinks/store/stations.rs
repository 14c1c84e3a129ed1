//! Stations as rows.

use diesel::prelude::*;

use super::named;
use crate::db::schema::stations;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::{Station, StationKind};
use crate::studio;

#[derive(Queryable, Selectable)]
#[diesel(table_name = stations)]
struct Row {
    id: i64,
    kind: String,
    name: String,
    position: i64,
    places: i64,
    room_id: i64,
    drying_s: i64,
    note: String,
    retired: bool,
    version: i64,
}

pub(in crate::sinks) fn stations(conn: &mut Conn) -> Result<Vec<Station>, Error> {
    let rows: Vec<Row> = stations::table
        .order((stations::position, stations::id))
        .select(Row::as_select())
        .load(conn)?;
    let station = |r: Row| {
        Some(Station {
            kind: StationKind::from_word(&r.kind)?,
            id: r.id,
            name: r.name,
            position: r.position,
            places: r.places,
            room_id: r.room_id,
            drying_s: r.drying_s,
            note: r.note,
            retired: r.retired,
            version: r.version,
        })
    };
    Ok(rows.into_iter().filter_map(station).collect())
}

pub(in crate::sinks) fn insert_station(tx: &mut Tx<'_>, s: &Station) -> Result<i64, Error> {
    diesel::insert_into(stations::table)
        .values((
            stations::kind.eq(s.kind.word()),
            stations::name.eq(&s.name),
            stations::position.eq(s.position),
            stations::places.eq(s.places),
            stations::room_id.eq(s.room_id),
            stations::drying_s.eq(s.drying_s),
            stations::note.eq(&s.note),
            stations::retired.eq(false),
            stations::version.eq(1),
        ))
        .returning(stations::id)
        .get_result(tx.conn())
        .map_err(named("name"))
}

/// Returns how many places there were, and whether it was retired. What it is for stays.
pub(in crate::sinks) fn update_station(tx: &mut Tx<'_>, s: &Station) -> Result<(i64, bool), Error> {
    let before: (i64, bool) = stations::table
        .find(s.id)
        .select((stations::places, stations::retired))
        .get_result(tx.conn())?;
    let same =
        stations::table.filter(stations::id.eq(s.id)).filter(stations::version.eq(s.version));
    let rows = diesel::update(same)
        .set((
            stations::name.eq(&s.name),
            stations::position.eq(s.position),
            stations::places.eq(s.places),
            stations::room_id.eq(s.room_id),
            stations::drying_s.eq(s.drying_s),
            stations::note.eq(&s.note),
            stations::retired.eq(s.retired),
            stations::version.eq(stations::version + 1),
        ))
        .execute(tx.conn())
        .map_err(named("name"))?;
    if rows == 1 { Ok(before) } else { Err(studio::changed_meanwhile("This station")) }
}
