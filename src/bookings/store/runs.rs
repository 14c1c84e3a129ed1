//! What the board says of the planner's runs.

use std::collections::BTreeMap;

use diesel::prelude::*;

use crate::db::Conn;
use crate::db::schema::{rolls, run_rolls, runs};
use crate::error::Error;

/// The number and the tickets of each of these runs.
pub(in crate::bookings) fn runs(
    conn: &mut Conn,
    ids: &[i64],
) -> Result<Vec<(i64, i64, Vec<String>)>, Error> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    let numbers: Vec<(i64, i64)> =
        runs::table.filter(runs::id.eq_any(ids)).select((runs::id, runs::number)).load(conn)?;
    let carried: Vec<(i64, String)> = run_rolls::table
        .inner_join(rolls::table.on(rolls::id.eq(run_rolls::roll_id)))
        .filter(run_rolls::run_id.eq_any(ids))
        .order((run_rolls::run_id, run_rolls::place))
        .select((run_rolls::run_id, rolls::ticket))
        .load(conn)?;
    let mut tickets: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for (run, ticket) in carried {
        tickets.entry(run).or_default().push(ticket);
    }
    Ok(numbers
        .into_iter()
        .map(|(run, number)| (run, number, tickets.remove(&run).unwrap_or_default()))
        .collect())
}
