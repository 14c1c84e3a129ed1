use std::collections::BTreeMap;

use diesel::prelude::*;

use super::{Shown, Wall};
use crate::clock::Moment;
use crate::db::schema::{wall, wall_names};
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) fn load(conn: &mut Conn) -> Result<Wall, Error> {
    let (number, dark_until, with_room): (i64, Option<i64>, bool) = wall::table
        .find(1)
        .select((wall::number, wall::dark_until_s, wall::with_room))
        .get_result(conn)?;
    Ok(Wall { number, dark_until: dark_until.map(Moment), with_room })
}

pub(super) fn set_number(tx: &mut Tx<'_>, number: i64) -> Result<(), Error> {
    diesel::update(wall::table.find(1)).set(wall::number.eq(number)).execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_dark(tx: &mut Tx<'_>, until: Option<Moment>) -> Result<(), Error> {
    diesel::update(wall::table.find(1))
        .set(wall::dark_until_s.eq(until.map(|m| m.0)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_with_room(tx: &mut Tx<'_>, with_room: bool) -> Result<(), Error> {
    diesel::update(wall::table.find(1)).set(wall::with_room.eq(with_room)).execute(tx.conn())?;
    Ok(())
}

pub(super) fn shown(conn: &mut Conn, members: &[i64]) -> Result<BTreeMap<i64, Shown>, Error> {
    let rows: Vec<(i64, String)> = wall_names::table
        .filter(wall_names::member_id.eq_any(members))
        .select((wall_names::member_id, wall_names::shows))
        .load(conn)?;
    let known = |(id, word): (i64, String)| Some((id, Shown::from_word(&word)?));
    Ok(rows.into_iter().filter_map(known).collect())
}

pub(super) fn set_shown(tx: &mut Tx<'_>, member: i64, shown: Shown) -> Result<(), Error> {
    diesel::delete(wall_names::table.filter(wall_names::member_id.eq(member)))
        .execute(tx.conn())?;
    if shown != Shown::Nothing {
        diesel::insert_into(wall_names::table)
            .values((wall_names::member_id.eq(member), wall_names::shows.eq(shown.word())))
            .execute(tx.conn())?;
    }
    Ok(())
}
