use diesel::prelude::*;

use crate::clock::Moment;
use crate::db::schema::tries;
use crate::db::{Conn, Tx};
use crate::error::Error;

pub(super) fn insert(tx: &mut Tx<'_>, now: Moment, key: &str) -> Result<i64, Error> {
    Ok(diesel::insert_into(tries::table)
        .values((tries::key.eq(key), tries::at_s.eq(now.0)))
        .returning(tries::id)
        .get_result(tx.conn())?)
}

/// When the nth latest try since then was made, if there were so many.
pub(super) fn nth_latest(
    conn: &mut Conn,
    key: &str,
    since: Moment,
    n: i64,
) -> Result<Option<Moment>, Error> {
    let at: Option<i64> = tries::table
        .filter(tries::key.eq(key))
        .filter(tries::at_s.gt(since.0))
        .order(tries::at_s.desc())
        .offset(n.saturating_sub(1))
        .select(tries::at_s)
        .first(conn)
        .optional()?;
    Ok(at.map(Moment))
}

pub(super) fn delete(tx: &mut Tx<'_>, ids: &[i64]) -> Result<(), Error> {
    diesel::delete(tries::table.filter(tries::id.eq_any(ids))).execute(tx.conn())?;
    Ok(())
}

pub(super) fn delete_before(tx: &mut Tx<'_>, before: Moment) -> Result<(), Error> {
    diesel::delete(tries::table.filter(tries::at_s.lt(before.0))).execute(tx.conn())?;
    Ok(())
}
