//! What changes of a run after it was planned.

use diesel::prelude::*;

use crate::clock::{Moment, Span};
use crate::db::Tx;
use crate::db::schema::runs;
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
