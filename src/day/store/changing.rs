//! What changes of a run after it was planned.

use diesel::prelude::*;

use crate::clock::{Moment, Span};
use crate::day::rules::Steps;
use crate::db::schema::runs;
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

/// A run that is still to come, as far as its fixer goes.
pub(in crate::day) struct ToFix {
    pub(in crate::day) id: i64,
    pub(in crate::day) fixer: i64,
    /// Seconds in both baths together.
    pub(in crate::day) fix_s: i64,
    pub(in crate::day) from: Moment,
    /// Among them its second bath and the time in it.
    pub(in crate::day) steps: Steps,
}

/// Runs that have not ended, are loaded after this, and go through a fixer of the studio's.
pub(in crate::day) fn to_be_fixed(conn: &mut Conn, after: Moment) -> Result<Vec<ToFix>, Error> {
    let rows: Vec<(i64, Option<i64>, i64, i64, String)> = runs::table
        .filter(runs::ended_s.is_null())
        .filter(runs::withdrawn_s.is_null())
        .filter(runs::load_from_s.gt(after.0))
        .order(runs::id)
        .select((runs::id, runs::fixer_id, runs::fix_s, runs::from_s, runs::steps))
        .load(conn)?;
    let run = |(id, fixer, fix_s, from_s, steps): (i64, Option<i64>, i64, i64, String)| {
        let steps = serde_json::from_str(&steps).unwrap_or_default();
        Some(ToFix { id, fixer: fixer?, fix_s, from: Moment(from_s), steps })
    };
    Ok(rows.into_iter().filter_map(run).collect())
}

/// Gives a run other fixers and times in them.
pub(in crate::day) fn set_fixer(tx: &mut Tx<'_>, run: &ToFix) -> Result<(), Error> {
    let steps = serde_json::to_string(&run.steps).map_err(|e| Error::broken("keeping a run", e))?;
    diesel::update(runs::table.find(run.id))
        .set((runs::fixer_id.eq(run.fixer), runs::fix_s.eq(run.fix_s), runs::steps.eq(steps)))
        .execute(tx.conn())?;
    Ok(())
}
