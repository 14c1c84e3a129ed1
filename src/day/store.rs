use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;

use super::rules::{Facts, LeftOver, Planned};
use crate::clock::Moment;
use crate::db::schema::{
    day_plans, developers, films, members, rolls, run_rolls, runs, sinks, tanks,
};
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
}

/// A run as it is shown.
#[derive(Clone, Debug)]
pub struct Run {
    /// Its id.
    pub id: i64,
    /// Its number in its plan.
    pub number: i64,
    /// Whether its plan is published.
    pub published: bool,
    /// The sink.
    pub sink_id: i64,
    /// Its name.
    pub sink: String,
    /// The tank.
    pub tank_id: i64,
    /// Its name.
    pub tank: String,
    /// The developer with its dilution.
    pub developer: String,
    /// Its hazard lines.
    pub hazards: String,
    /// The fixer.
    pub fixer_id: Option<i64>,
    /// When loading begins.
    pub load_from: Moment,
    /// When it starts.
    pub from: Moment,
    /// When the last roll hangs.
    pub to: Moment,
    /// Working temperature in thousandths of a degree C.
    pub temperature_mc: i64,
    /// How the tank is moved.
    pub agitation: String,
    /// Pre-soak in seconds.
    pub pre_soak_s: i64,
    /// Developing time in seconds.
    pub time_s: i64,
    /// Fixing time in seconds.
    pub fix_s: i64,
    /// Concentrate in microlitres.
    pub concentrate_ul: i64,
    /// Water in microlitres.
    pub water_ul: i64,
    /// What it takes of the fixer, in thousandths of a roll's worth.
    pub fixer_milli: i64,
    /// Why it is what it is.
    pub why: String,
    /// When it was ended.
    pub ended: Option<Moment>,
    /// Its rolls, from the bottom reel up.
    pub rolls: Vec<RunRoll>,
}

/// A roll of a run.
#[derive(Clone, Debug)]
pub struct RunRoll {
    /// Its id.
    pub roll_id: i64,
    /// Its ticket.
    pub ticket: String,
    /// Its owner's name.
    pub owner: String,
    /// The film.
    pub film: String,
    /// Its format.
    pub format: String,
}

pub(super) fn insert_plan(
    tx: &mut Tx<'_>,
    (now, by, date): (Moment, i64, NaiveDate),
    facts: &Facts,
    planned: &[Planned],
    left_over: &[LeftOver],
) -> Result<i64, Error> {
    diesel::update(
        day_plans::table.filter(day_plans::date.eq(date)).filter(day_plans::state.eq("draft")),
    )
    .set(day_plans::state.eq("replaced"))
    .execute(tx.conn())?;
    let last: Option<i64> = day_plans::table
        .filter(day_plans::date.eq(date))
        .select(diesel::dsl::max(day_plans::number))
        .first(tx.conn())?;
    let number = last.unwrap_or(0) + 1;
    let left = serde_json::to_string(left_over).map_err(|e| Error::broken("left over", e))?;
    let plan: i64 = diesel::insert_into(day_plans::table)
        .values((
            day_plans::date.eq(date),
            day_plans::number.eq(number),
            day_plans::state.eq("draft"),
            day_plans::made_s.eq(now.0),
            day_plans::made_by.eq(by),
            day_plans::left_over.eq(left),
        ))
        .returning(day_plans::id)
        .get_result(tx.conn())?;
    for (run, place) in planned.iter().zip(1..) {
        insert_run(tx, (plan, place), facts, run)?;
    }
    Ok(number)
}

fn insert_run(
    tx: &mut Tx<'_>,
    (plan, number): (i64, i64),
    facts: &Facts,
    run: &Planned,
) -> Result<(), Error> {
    let Some(recipe) = run.jobs.first().map(|j| &j.recipe) else { return Ok(()) };
    let id: i64 = diesel::insert_into(runs::table)
        .values((
            (
                runs::plan_id.eq(plan),
                runs::number.eq(number),
                runs::sink_id.eq(run.sink_id),
                runs::tank_id.eq(run.tank_id),
                runs::developer_id.eq(recipe.developer.id),
                runs::fixer_id.eq(facts.fixer_id),
                runs::load_from_s.eq(run.load_from.0),
                runs::from_s.eq(run.from.0),
                runs::to_s.eq(run.to.0),
            ),
            (
                runs::temperature_mc.eq(recipe.temperature_mc),
                runs::agitation.eq(&recipe.agitation),
                runs::pre_soak_s.eq(recipe.pre_soak_s),
                runs::time_s.eq(recipe.time_s),
                runs::fix_s.eq(facts.fix_s),
                runs::developer_ul.eq(run.concentrate_ul + run.water_ul),
                runs::concentrate_ul.eq(run.concentrate_ul),
                runs::water_ul.eq(run.water_ul),
                runs::fixer_milli.eq(run.fixer_milli),
                runs::why.eq(&run.why),
            ),
        ))
        .returning(runs::id)
        .get_result(tx.conn())?;
    for (job, place) in run.jobs.iter().zip(1_i64..) {
        diesel::insert_into(run_rolls::table)
            .values((
                run_rolls::run_id.eq(id),
                run_rolls::place.eq(place),
                run_rolls::roll_id.eq(job.roll.id),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

fn plan_of((id, number, left): (i64, i64, String)) -> Plan {
    Plan { id, number, left_over: serde_json::from_str(&left).unwrap_or_default() }
}

pub(super) fn draft(conn: &mut Conn, date: NaiveDate) -> Result<Option<Plan>, Error> {
    let found: Option<(i64, i64, String)> = day_plans::table
        .filter(day_plans::date.eq(date))
        .filter(day_plans::state.eq("draft"))
        .select((day_plans::id, day_plans::number, day_plans::left_over))
        .first(conn)
        .optional()?;
    Ok(found.map(plan_of))
}

pub(super) fn published_plans(conn: &mut Conn, date: NaiveDate) -> Result<Vec<i64>, Error> {
    Ok(day_plans::table
        .filter(day_plans::date.eq(date))
        .filter(day_plans::state.eq("published"))
        .select(day_plans::id)
        .load(conn)?)
}

pub(super) fn published_dates(conn: &mut Conn) -> Result<Vec<NaiveDate>, Error> {
    Ok(day_plans::table
        .filter(day_plans::state.eq("published"))
        .order(day_plans::date.desc())
        .select(day_plans::date)
        .distinct()
        .limit(60)
        .load(conn)?)
}

pub(super) fn mark_published(tx: &mut Tx<'_>, now: Moment, plan: i64) -> Result<(), Error> {
    diesel::update(day_plans::table.find(plan))
        .set((day_plans::state.eq("published"), day_plans::published_s.eq(now.0)))
        .execute(tx.conn())?;
    Ok(())
}

/// Whether the run was still running.
pub(super) fn mark_ended(tx: &mut Tx<'_>, now: Moment, by: i64, run: i64) -> Result<bool, Error> {
    let running = runs::table.filter(runs::id.eq(run)).filter(runs::ended_s.is_null());
    let rows = diesel::update(running)
        .set((runs::ended_s.eq(now.0), runs::ended_by.eq(by)))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = runs)]
struct Row {
    id: i64,
    number: i64,
    sink_id: i64,
    tank_id: i64,
    fixer_id: Option<i64>,
    load_from_s: i64,
    from_s: i64,
    to_s: i64,
    temperature_mc: i64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    fix_s: i64,
    concentrate_ul: i64,
    water_ul: i64,
    fixer_milli: i64,
    why: String,
    ended_s: Option<i64>,
}

type Named = (Row, String, String, String, String, String);

macro_rules! full {
    () => {
        runs::table
            .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
            .inner_join(sinks::table.on(sinks::id.eq(runs::sink_id)))
            .inner_join(tanks::table.on(tanks::id.eq(runs::tank_id)))
            .inner_join(developers::table.on(developers::id.eq(runs::developer_id)))
            .select((
                Row::as_select(),
                day_plans::state,
                sinks::name,
                tanks::name,
                developers::name,
                developers::hazards,
            ))
    };
}

fn noun((row, state, sink, tank, developer, hazards): Named, rolls: Vec<RunRoll>) -> Run {
    Run {
        id: row.id,
        number: row.number,
        published: state == "published",
        sink_id: row.sink_id,
        sink,
        tank_id: row.tank_id,
        tank,
        developer,
        hazards,
        fixer_id: row.fixer_id,
        load_from: Moment(row.load_from_s),
        from: Moment(row.from_s),
        to: Moment(row.to_s),
        temperature_mc: row.temperature_mc,
        agitation: row.agitation,
        pre_soak_s: row.pre_soak_s,
        time_s: row.time_s,
        fix_s: row.fix_s,
        concentrate_ul: row.concentrate_ul,
        water_ul: row.water_ul,
        fixer_milli: row.fixer_milli,
        why: row.why,
        ended: row.ended_s.map(Moment),
        rolls,
    }
}

type RollRow = (i64, i64, String, String, String, String);

fn rolls_of(conn: &mut Conn, ids: &[i64]) -> Result<BTreeMap<i64, Vec<RunRoll>>, Error> {
    let rows: Vec<RollRow> = run_rolls::table
        .inner_join(rolls::table.on(rolls::id.eq(run_rolls::roll_id)))
        .inner_join(members::table.on(members::id.eq(rolls::member_id)))
        .inner_join(films::table.on(films::id.eq(rolls::film_id)))
        .filter(run_rolls::run_id.eq_any(ids))
        .order((run_rolls::run_id, run_rolls::place))
        .select((
            run_rolls::run_id,
            rolls::id,
            rolls::ticket,
            members::name,
            films::name,
            rolls::format,
        ))
        .load(conn)?;
    let mut by_run: BTreeMap<i64, Vec<RunRoll>> = BTreeMap::new();
    for (run, roll_id, ticket, owner, film, format) in rows {
        by_run.entry(run).or_default().push(RunRoll { roll_id, ticket, owner, film, format });
    }
    Ok(by_run)
}

pub(super) fn runs(conn: &mut Conn, plans: &[i64]) -> Result<Vec<Run>, Error> {
    let rows: Vec<Named> =
        full!().filter(runs::plan_id.eq_any(plans)).order((runs::from_s, runs::id)).load(conn)?;
    let ids: Vec<i64> = rows.iter().map(|r| r.0.id).collect();
    let mut by_run = rolls_of(conn, &ids)?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let rolls = by_run.remove(&row.0.id).unwrap_or_default();
            noun(row, rolls)
        })
        .collect())
}

pub(super) fn run(conn: &mut Conn, id: i64) -> Result<Run, Error> {
    let row: Named = full!().filter(runs::id.eq(id)).first(conn)?;
    let rolls = rolls_of(conn, &[id])?.remove(&id).unwrap_or_default();
    Ok(noun(row, rolls))
}
