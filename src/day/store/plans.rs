use chrono::NaiveDate;
use diesel::prelude::*;

use crate::clock::Moment;
use crate::day::rules::{LeftOver, Outcome, Sums, Wish};
use crate::db::schema::{day_changes, day_plans, members};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A plan of a day.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Its id.
    pub id: i64,
    /// Its number among the plans of that date.
    pub number: i64,
    /// The rolls that got no run.
    pub left_over: Vec<LeftOver>,
    /// What was asked for.
    pub wish: Wish,
    /// What it comes to.
    pub sums: Sums,
    /// The number of the version it was made from.
    pub made_from: Option<i64>,
    /// What was changed and what it cost.
    pub said: String,
    /// Who made it.
    pub made_by: String,
    /// When.
    pub made: Moment,
}

/// A plan about to be kept.
pub(in crate::day) struct NewPlan<'a> {
    pub(in crate::day) date: NaiveDate,
    pub(in crate::day) state: &'static str,
    pub(in crate::day) wish: &'a Wish,
    pub(in crate::day) outcome: &'a Outcome,
    pub(in crate::day) fixer_id: Option<i64>,
    pub(in crate::day) fix_s: i64,
    pub(in crate::day) made_from: Option<i64>,
    pub(in crate::day) said: &'a str,
}

fn json(what: &impl serde::Serialize) -> Result<String, Error> {
    serde_json::to_string(what).map_err(|e| Error::broken("keeping a plan", e))
}

/// Keeps a plan and its runs; a draft takes the place of the draft before it. Returns id and
/// number.
pub(in crate::day) fn insert_plan(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    plan: &NewPlan<'_>,
) -> Result<(i64, i64), Error> {
    if plan.state == "draft" {
        diesel::update(
            day_plans::table
                .filter(day_plans::date.eq(plan.date))
                .filter(day_plans::state.eq("draft")),
        )
        .set(day_plans::state.eq("replaced"))
        .execute(tx.conn())?;
    }
    let last: Option<i64> = day_plans::table
        .filter(day_plans::date.eq(plan.date))
        .select(diesel::dsl::max(day_plans::number))
        .get_result(tx.conn())?;
    let number = last.unwrap_or(0) + 1;
    let published = (plan.state == "published").then_some(now.0);
    let id: i64 = diesel::insert_into(day_plans::table)
        .values((
            day_plans::date.eq(plan.date),
            day_plans::number.eq(number),
            day_plans::state.eq(plan.state),
            day_plans::made_s.eq(now.0),
            day_plans::made_by.eq(by),
            day_plans::published_s.eq(published),
            day_plans::left_over.eq(json(&plan.outcome.left_over)?),
            day_plans::wish.eq(json(plan.wish)?),
            day_plans::outcome.eq(json(&plan.outcome.sums)?),
            day_plans::made_from.eq(plan.made_from),
            day_plans::said.eq(plan.said),
        ))
        .returning(day_plans::id)
        .get_result(tx.conn())?;
    let first = super::runs::last_number(tx, plan.date)? + 1;
    for (run, number) in plan.outcome.runs.iter().zip(first..) {
        super::insert_run(tx, (id, number), (plan.fixer_id, plan.fix_s), run)?;
    }
    Ok((id, number))
}

type Row = (i64, i64, String, String, String, Option<i64>, String, String, i64);

fn noun((id, number, left, wish, sums, made_from, said, made_by, made): Row) -> Plan {
    Plan {
        id,
        number,
        left_over: serde_json::from_str(&left).unwrap_or_default(),
        wish: serde_json::from_str(&wish).unwrap_or_default(),
        sums: serde_json::from_str(&sums).unwrap_or_default(),
        made_from,
        said,
        made_by,
        made: Moment(made),
    }
}

/// The draft of a date.
pub(in crate::day) fn draft(conn: &mut Conn, date: NaiveDate) -> Result<Option<Plan>, Error> {
    let found: Option<Row> = day_plans::table
        .inner_join(members::table.on(members::id.eq(day_plans::made_by)))
        .filter(day_plans::date.eq(date))
        .filter(day_plans::state.eq("draft"))
        .select((
            day_plans::id,
            day_plans::number,
            day_plans::left_over,
            day_plans::wish,
            day_plans::outcome,
            day_plans::made_from,
            day_plans::said,
            members::name,
            day_plans::made_s,
        ))
        .first(conn)
        .optional()?;
    Ok(found.map(noun))
}

/// The number of the version that undoing would go back to.
pub(in crate::day) fn number_before(
    conn: &mut Conn,
    date: NaiveDate,
    number: i64,
) -> Result<Option<i64>, Error> {
    Ok(day_plans::table
        .filter(day_plans::date.eq(date))
        .filter(day_plans::number.eq(number))
        .filter(day_plans::state.eq("replaced"))
        .select(day_plans::number)
        .first(conn)
        .optional()?)
}

/// Makes the version before the draft the draft again; says whether there was one.
pub(in crate::day) fn step_back(tx: &mut Tx<'_>, date: NaiveDate) -> Result<Option<i64>, Error> {
    let Some(present) = draft(tx, date)? else { return Ok(None) };
    let Some(before) = present.made_from else { return Ok(None) };
    let Some(before) = number_before(tx, date, before)? else { return Ok(None) };
    diesel::update(day_plans::table.find(present.id))
        .set(day_plans::state.eq("replaced"))
        .execute(tx.conn())?;
    diesel::update(
        day_plans::table.filter(day_plans::date.eq(date)).filter(day_plans::number.eq(before)),
    )
    .set(day_plans::state.eq("draft"))
    .execute(tx.conn())?;
    Ok(Some(before))
}

/// The dates with a published day, the latest first.
pub(in crate::day) fn published_dates(conn: &mut Conn) -> Result<Vec<NaiveDate>, Error> {
    Ok(day_plans::table
        .filter(day_plans::state.eq("published"))
        .order(day_plans::date.desc())
        .select(day_plans::date)
        .distinct()
        .limit(60)
        .load(conn)?)
}

/// The dates with a draft, the latest first.
pub(in crate::day) fn draft_dates(conn: &mut Conn) -> Result<Vec<NaiveDate>, Error> {
    Ok(day_plans::table
        .filter(day_plans::state.eq("draft"))
        .order(day_plans::date.desc())
        .select(day_plans::date)
        .limit(20)
        .load(conn)?)
}

pub(in crate::day) fn mark_published(tx: &mut Tx<'_>, now: Moment, plan: i64) -> Result<(), Error> {
    diesel::update(day_plans::table.find(plan))
        .set((day_plans::state.eq("published"), day_plans::published_s.eq(now.0)))
        .execute(tx.conn())?;
    Ok(())
}

/// One version of a published day.
#[derive(Clone, Debug)]
pub(in crate::day) struct Change {
    /// Its number, from 1.
    pub(in crate::day) number: i64,
    /// When.
    pub(in crate::day) at: Moment,
    /// Who.
    pub(in crate::day) by: String,
    /// What it changed.
    pub(in crate::day) sentence: String,
}

/// Writes the next version of a published day down.
pub(in crate::day) fn add_change(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    date: NaiveDate,
    sentence: &str,
) -> Result<i64, Error> {
    let last: Option<i64> = day_changes::table
        .filter(day_changes::date.eq(date))
        .select(diesel::dsl::max(day_changes::number))
        .get_result(tx.conn())?;
    let number = last.unwrap_or(0) + 1;
    diesel::insert_into(day_changes::table)
        .values((
            day_changes::date.eq(date),
            day_changes::number.eq(number),
            day_changes::at_s.eq(now.0),
            day_changes::by_id.eq(by),
            day_changes::sentence.eq(sentence),
        ))
        .execute(tx.conn())?;
    Ok(number)
}

/// The versions of a published day, the first first.
pub(in crate::day) fn changes(conn: &mut Conn, date: NaiveDate) -> Result<Vec<Change>, Error> {
    let rows: Vec<(i64, i64, String, String)> = day_changes::table
        .inner_join(members::table.on(members::id.eq(day_changes::by_id)))
        .filter(day_changes::date.eq(date))
        .order(day_changes::number)
        .select((day_changes::number, day_changes::at_s, members::name, day_changes::sentence))
        .load(conn)?;
    let noun = |(number, at, by, sentence)| Change { number, at: Moment(at), by, sentence };
    Ok(rows.into_iter().map(noun).collect())
}
