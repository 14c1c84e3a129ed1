use diesel::prelude::*;

use super::Feed;
use crate::clock::Moment;
use crate::db::schema::feeds;
use crate::db::{Conn, Tx};
use crate::error::Error;

type Row = (i64, Option<i64>, i64, i64);

fn feed((id, member_id, number, made): Row) -> Feed {
    Feed { id, member_id, number, made: Moment(made) }
}

const COLUMNS: (feeds::id, feeds::member_id, feeds::number, feeds::made_s) =
    (feeds::id, feeds::member_id, feeds::number, feeds::made_s);

pub(super) fn of(conn: &mut Conn, member: Option<i64>) -> Result<Option<Feed>, Error> {
    let all = feeds::table.select(COLUMNS);
    let row: Option<Row> = match member {
        Some(member) => all.filter(feeds::member_id.eq(member)).first(conn).optional()?,
        None => all.filter(feeds::member_id.is_null()).first(conn).optional()?,
    };
    Ok(row.map(feed))
}

pub(super) fn by_id(conn: &mut Conn, id: i64) -> Result<Feed, Error> {
    let row: Row = feeds::table.find(id).select(COLUMNS).get_result(conn)?;
    Ok(feed(row))
}

pub(super) fn insert(tx: &mut Tx<'_>, now: Moment, member: Option<i64>) -> Result<(), Error> {
    diesel::insert_into(feeds::table)
        .values((feeds::member_id.eq(member), feeds::number.eq(1), feeds::made_s.eq(now.0)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn set_number(tx: &mut Tx<'_>, now: Moment, id: i64, number: i64) -> Result<(), Error> {
    diesel::update(feeds::table.find(id))
        .set((feeds::number.eq(number), feeds::made_s.eq(now.0)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn delete_of(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    diesel::delete(feeds::table.filter(feeds::member_id.eq(member))).execute(tx.conn())?;
    Ok(())
}
