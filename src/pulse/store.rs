use diesel::prelude::*;

use crate::db::Conn;
use crate::db::schema::{day_revisions, pulse};
use crate::error::Error;

/// What stands for every day.
pub(super) const EVERY_DAY: i64 = -1;

pub(super) fn revision(conn: &mut Conn, (from, to): (i64, i64)) -> Result<i64, Error> {
    let of_days = day_revisions::id.between(from, to).or(day_revisions::id.eq(EVERY_DAY));
    let found = day_revisions::table.filter(of_days).select(diesel::dsl::max(day_revisions::n));
    let last: Option<i64> = found.get_result(conn)?;
    Ok(last.unwrap_or(0))
}

/// The count itself, and the days that changed since it stood at `since`.
pub(super) fn changed(conn: &mut Conn, since: i64) -> Result<(i64, Vec<(i64, i64)>), Error> {
    let n: i64 = pulse::table.find(1).select(pulse::n).get_result(conn)?;
    if n == since {
        return Ok((n, Vec::new()));
    }
    let days = day_revisions::table
        .filter(day_revisions::n.gt(since))
        .select((day_revisions::id, day_revisions::n))
        .load(conn)?;
    Ok((n, days))
}
