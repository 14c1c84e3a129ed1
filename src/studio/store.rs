use diesel::prelude::*;

use super::{Joining, Studio};
use crate::clock::Zone;
use crate::db::schema::studio;
use crate::db::{Conn, Tx};
use crate::error::Error;

#[derive(Queryable, Selectable)]
#[diesel(table_name = studio)]
struct Row {
    name: String,
    about: String,
    time_zone: String,
    joining: String,
    password_length: i64,
    near_limit_percent: i64,
    version: i64,
}

pub(super) fn load(conn: &mut Conn) -> Result<Studio, Error> {
    let row: Row = studio::table.find(1).select(Row::as_select()).get_result(conn)?;
    Ok(Studio {
        name: row.name,
        about: row.about,
        zone: Zone::named(&row.time_zone).unwrap_or(Zone::UTC),
        joining: Joining::from_word(&row.joining),
        password_length: row.password_length,
        near_limit_percent: row.near_limit_percent,
        version: row.version,
    })
}

pub(super) fn key_print(conn: &mut Conn) -> Result<Option<Vec<u8>>, Error> {
    Ok(studio::table.find(1).select(studio::key_print).get_result(conn).optional()?)
}

pub(super) fn insert(tx: &mut Tx<'_>, s: &Studio, key_print: &[u8]) -> Result<(), Error> {
    diesel::insert_into(studio::table)
        .values((
            studio::id.eq(1),
            studio::name.eq(&s.name),
            studio::about.eq(&s.about),
            studio::time_zone.eq(s.zone.name()),
            studio::joining.eq(s.joining.word()),
            studio::password_length.eq(s.password_length),
            studio::near_limit_percent.eq(s.near_limit_percent),
            studio::key_print.eq(key_print),
            studio::version.eq(1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_key_print(tx: &mut Tx<'_>, print: &[u8]) -> Result<(), Error> {
    diesel::update(studio::table.find(1)).set(studio::key_print.eq(print)).execute(tx.conn())?;
    Ok(())
}

/// Whether the row was still of the version the change was made from.
pub(super) fn update(tx: &mut Tx<'_>, s: &Studio) -> Result<bool, Error> {
    let same = studio::table.filter(studio::id.eq(1)).filter(studio::version.eq(s.version));
    let rows = diesel::update(same)
        .set((
            studio::name.eq(&s.name),
            studio::about.eq(&s.about),
            studio::time_zone.eq(s.zone.name()),
            studio::joining.eq(s.joining.word()),
            studio::password_length.eq(s.password_length),
            studio::near_limit_percent.eq(s.near_limit_percent),
            studio::version.eq(studio::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(rows == 1)
}
