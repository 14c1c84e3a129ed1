//! When which sink is busy with runs.

use diesel::prelude::*;

use crate::clock::{Moment, Span};
use crate::db::Conn;
use crate::db::schema::{day_plans, runs};
use crate::error::Error;

/// No run takes longer than this from its loading to its last hook, in seconds: a day.
const LONGEST_S: i64 = 86_400;

/// The sinks and times of runs of published days that meet a stretch.
pub(in crate::day) fn wet(conn: &mut Conn, within: Span) -> Result<Vec<(i64, Span)>, Error> {
    let rows: Vec<(i64, i64, i64)> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(runs::load_from_s.gt(within.from.0.saturating_sub(LONGEST_S)))
        .filter(runs::load_from_s.lt(within.to.0))
        .filter(runs::to_s.gt(within.from.0))
        .filter(runs::withdrawn_s.is_null())
        .filter(day_plans::state.eq("published"))
        .select((runs::sink_id, runs::from_s, runs::to_s))
        .load(conn)?;
    let span = |(sink, from, to)| (sink, Span { from: Moment(from), to: Moment(to) });
    Ok(rows.into_iter().map(span).collect())
}
