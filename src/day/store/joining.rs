//! Runs that a roll may join.

use diesel::prelude::*;

use super::Run;
use crate::clock::Moment;
use crate::day::rules::{Planned, Wish};
use crate::db::schema::{day_plans, own_runs, run_parts, run_rolls, runs};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// The most runs that are looked at.
const MOST: i64 = 60;

/// Published runs whose loading begins after this, members' own sessions left out, by their start.
pub(in crate::day) fn coming_runs(conn: &mut Conn, after: Moment) -> Result<Vec<Run>, Error> {
    let own = own_runs::table.filter(own_runs::run_id.eq(runs::id));
    let ids: Vec<i64> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(runs::load_from_s.ge(after.0))
        .filter(day_plans::state.eq("published"))
        .filter(runs::withdrawn_s.is_null())
        .filter(diesel::dsl::not(diesel::dsl::exists(own)))
        .order(runs::load_from_s)
        .select(runs::id)
        .limit(MOST)
        .load(conn)?;
    super::runs::running_of(conn, &ids)
}

/// What was asked of the day that a run was planned for.
pub(in crate::day) fn wish_of(conn: &mut Conn, run: i64) -> Result<Wish, Error> {
    let wish: String = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(runs::id.eq(run))
        .select(day_plans::wish)
        .first(conn)?;
    Ok(serde_json::from_str(&wish).unwrap_or_default())
}

/// The version of the recipe that a roll of a run is developed by.
pub(in crate::day) fn recipe_in(
    conn: &mut Conn,
    run: i64,
    roll: i64,
) -> Result<Option<i64>, Error> {
    Ok(run_rolls::table
        .filter(run_rolls::run_id.eq(run))
        .filter(run_rolls::roll_id.eq(roll))
        .select(run_rolls::recipe_id)
        .first(conn)?)
}

/// Writes a run down again as it is with other rolls.
pub(in crate::day) fn rewrite_run(tx: &mut Tx<'_>, id: i64, run: &Planned) -> Result<(), Error> {
    let steps = serde_json::to_string(&run.steps).map_err(|e| Error::broken("keeping a run", e))?;
    diesel::update(runs::table.find(id))
        .set((
            runs::load_from_s.eq(run.load_from.0),
            runs::load_to_s.eq(run.load_to.0),
            runs::to_s.eq(run.to.0),
            runs::developer_ul.eq(run.concentrate_ul + run.water_ul),
            runs::concentrate_ul.eq(run.concentrate_ul),
            runs::water_ul.eq(run.water_ul),
            runs::shelf_ul.eq(run.shelf_ul),
            runs::measure.eq(&run.measure),
            runs::fixer_milli.eq(run.fixer_milli),
            runs::steps.eq(steps),
            runs::why.eq(run.why.join("\n")),
        ))
        .execute(tx.conn())?;
    diesel::delete(run_rolls::table.filter(run_rolls::run_id.eq(id))).execute(tx.conn())?;
    diesel::delete(run_parts::table.filter(run_parts::run_id.eq(id))).execute(tx.conn())?;
    super::runs::insert_rolls(tx, id, run)?;
    super::runs::insert_parts(tx, id, run)
}
