use diesel::prelude::*;

use crate::db::Conn;
use crate::db::schema::{day_plans, rolls, run_rolls, runs};
use crate::error::Error;
use crate::rolls::Format;

/// What published runs that have not ended will still take of a fixer, in thousandths.
pub(in crate::day) fn promised(conn: &mut Conn, bath: i64) -> Result<i64, Error> {
    let rows: Vec<i64> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(day_plans::state.eq("published"))
        .filter(runs::fixer_id.eq(bath))
        .filter(runs::ended_s.is_null())
        .filter(runs::withdrawn_s.is_null())
        .select(runs::fixer_milli)
        .load(conn)?;
    Ok(rows.into_iter().sum())
}

/// What published runs that have not ended will still put through a shared developer, in
/// thousandths of a roll's worth.
pub(in crate::day) fn promised_developer(conn: &mut Conn, bath: i64) -> Result<i64, Error> {
    let films: Vec<(String, Option<i64>)> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .inner_join(run_rolls::table.on(run_rolls::run_id.eq(runs::id)))
        .inner_join(rolls::table.on(rolls::id.eq(run_rolls::roll_id)))
        .filter(day_plans::state.eq("published"))
        .filter(runs::developer_bath_id.eq(bath))
        .filter(runs::ended_s.is_null())
        .filter(runs::withdrawn_s.is_null())
        .select((rolls::format, rolls::sheets))
        .load(conn)?;
    let milli = |(name, sheets): (String, Option<i64>)| {
        Format::named(&name).map_or(0, |f| f.of_sheets(sheets).milli)
    };
    Ok(films.into_iter().map(milli).sum())
}
