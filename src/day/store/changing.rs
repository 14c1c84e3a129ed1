//! What changes of a run after it was planned.

use diesel::prelude::*;

use crate::clock::{Moment, Span};
use crate::db::schema::{baths, runs};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// Whether the run was still running.
pub(in crate::day) fn mark_ended(
    tx: &mut Tx<'_>,
    now: Moment,
    by: i64,
    run: i64,
) -> Result<bool, Error> {
    let running = runs::table.filter(runs::id.eq(run)).filter(runs::ended_s.is_null());
    let rows = diesel::update(running)
        .set((runs::ended_s.eq(now.0), runs::ended_by.eq(by)))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

/// Takes a run out of its published day.
pub(in crate::day) fn mark_withdrawn(tx: &mut Tx<'_>, now: Moment, run: i64) -> Result<(), Error> {
    diesel::update(runs::table.find(run)).set(runs::withdrawn_s.eq(now.0)).execute(tx.conn())?;
    Ok(())
}

/// Moves a run to other times, and to another sink.
pub(in crate::day) fn update_times(
    tx: &mut Tx<'_>,
    run: i64,
    sink: i64,
    (load, from, to): (Span, Moment, Moment),
) -> Result<(), Error> {
    diesel::update(runs::table.find(run))
        .set((
            runs::sink_id.eq(sink),
            runs::load_from_s.eq(load.from.0),
            runs::load_to_s.eq(load.to.0),
            runs::from_s.eq(from.0),
            runs::to_s.eq(to.0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Runs that have not ended and whose fixer was retired before they begin, with their fixing time in
/// seconds.
pub(in crate::day) fn without_their_fixer(conn: &mut Conn) -> Result<Vec<(i64, i64)>, Error> {
    Ok(runs::table
        .inner_join(baths::table.on(runs::fixer_id.eq(baths::id.nullable())))
        .filter(runs::ended_s.is_null())
        .filter(runs::withdrawn_s.is_null())
        .filter(baths::retired_s.lt(runs::from_s.nullable()))
        .order(runs::id)
        .select((runs::id, runs::fix_s))
        .load(conn)?)
}

/// Gives a run another fixer and its time in it.
pub(in crate::day) fn set_fixer(
    tx: &mut Tx<'_>,
    run: i64,
    (bath, fix_s): (i64, i64),
) -> Result<(), Error> {
    diesel::update(runs::table.find(run))
        .set((runs::fixer_id.eq(bath), runs::fix_s.eq(fix_s)))
        .execute(tx.conn())?;
    Ok(())
}
