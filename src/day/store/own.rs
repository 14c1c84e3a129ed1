use diesel::prelude::*;

use super::Run;
use crate::db::schema::own_runs;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A run that a member does alone.
#[derive(Clone, Copy, Debug)]
pub(in crate::day) struct Own {
    /// The run.
    pub(in crate::day) run_id: i64,
    /// Whose.
    pub(in crate::day) member_id: i64,
    /// In which booking.
    pub(in crate::day) booking_id: i64,
}

pub(in crate::day) fn put_own(tx: &mut Tx<'_>, own: &Own) -> Result<(), Error> {
    diesel::insert_into(own_runs::table)
        .values((
            own_runs::run_id.eq(own.run_id),
            own_runs::member_id.eq(own.member_id),
            own_runs::booking_id.eq(own.booking_id),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Whose own run it is, if it is one.
pub(in crate::day) fn own(conn: &mut Conn, run: i64) -> Result<Option<Own>, Error> {
    Ok(own_runs::table
        .filter(own_runs::run_id.eq(run))
        .select((own_runs::run_id, own_runs::member_id, own_runs::booking_id))
        .first::<(i64, i64, i64)>(conn)
        .optional()?
        .map(|(run_id, member_id, booking_id)| Own { run_id, member_id, booking_id }))
}

/// A member's own runs that have not ended, by their start.
pub(in crate::day) fn own_of(conn: &mut Conn, member: i64) -> Result<Vec<Run>, Error> {
    let ids: Vec<i64> = own_runs::table
        .filter(own_runs::member_id.eq(member))
        .select(own_runs::run_id)
        .load(conn)?;
    super::runs::running_of(conn, &ids)
}
