use std::collections::BTreeMap;

use chrono::NaiveDate;
use diesel::prelude::*;

use crate::clock::{Moment, Span};
use crate::day::rules::{PartPoured, Planned, Steps};
use crate::day::standing::Standing;
use crate::db::schema::{
    day_plans, developers, films, members, rolls, run_parts, run_rolls, runs, sinks, tanks,
};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A run as it is shown.
#[derive(Clone, Debug)]
pub struct Run {
    /// Its id.
    pub id: i64,
    /// Its number in its plan.
    pub number: i64,
    /// The local date of its plan.
    pub date: NaiveDate,
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
    /// The developer.
    pub developer_id: i64,
    /// Its name with its dilution.
    pub developer: String,
    /// The fixer.
    pub fixer_id: Option<i64>,
    /// When loading begins and ends.
    pub load: Span,
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
    /// What is poured of each part, where the developer is mixed from several; together they are
    /// its concentrate.
    pub parts: Vec<PartPoured>,
    /// With what the concentrate is measured.
    pub measure: String,
    /// What it takes of the fixer, in thousandths of a roll's worth.
    pub fixer_milli: i64,
    /// The shared bath its developer comes from and goes back to.
    pub developer_bath: Option<i64>,
    /// What it draws from the shelf, in microlitres of concentrate or stock.
    pub shelf_ul: i64,
    /// The other steps and who does them.
    pub steps: Steps,
    /// Whether a lead put it in its place.
    pub pinned: bool,
    /// Why it is what it is, a sentence each.
    pub why: Vec<String>,
    /// When it was ended.
    pub ended: Option<Moment>,
    /// When it was taken out of a published day.
    pub withdrawn: Option<Moment>,
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
    /// Its owner.
    pub owner_id: i64,
    /// Its owner's name.
    pub owner: String,
    /// The film.
    pub film: String,
    /// Its format.
    pub format: String,
    /// How many sheets, where it is sheets.
    pub sheets: Option<i64>,
}

impl Run {
    /// What it takes of the room beyond the holds that are kept for it.
    pub(in crate::day) fn standing(&self) -> Standing {
        Standing {
            sink_id: self.sink_id,
            tank_id: self.tank_id,
            load: self.load,
            from: self.from,
            to: self.to,
            pre_soak_s: self.pre_soak_s,
            time_s: self.time_s,
            fix_s: self.fix_s,
            steps: self.steps.clone(),
            reels: BTreeMap::new(),
            rolls: i64::try_from(self.rolls.len()).unwrap_or(0),
            fixer_milli: 0,
            // What is promised to it is off the bath's capacity already.
            developer: self.developer_bath.map(|bath| (bath, 0)),
            is_held: true,
        }
    }
}

pub(in crate::day) fn insert_run(
    tx: &mut Tx<'_>,
    (plan, number): (i64, i64),
    (fixer_id, fix_s): (Option<i64>, i64),
    run: &Planned,
) -> Result<i64, Error> {
    let Some(first) = run.jobs.first() else {
        return Err(Error::broken("keeping a run", "it has no roll"));
    };
    let recipe = &first.recipe;
    let steps = serde_json::to_string(&run.steps).map_err(|e| Error::broken("keeping a run", e))?;
    let id: i64 = diesel::insert_into(runs::table)
        .values((
            (
                runs::plan_id.eq(plan),
                runs::number.eq(number),
                runs::sink_id.eq(run.sink_id),
                runs::tank_id.eq(run.tank_id),
                runs::developer_id.eq(recipe.developer.id),
                runs::fixer_id.eq(fixer_id),
                runs::load_from_s.eq(run.load_from.0),
                runs::load_to_s.eq(run.load_to.0),
                runs::from_s.eq(run.from.0),
                runs::to_s.eq(run.to.0),
            ),
            (
                runs::temperature_mc.eq(first.temperature_mc),
                runs::agitation.eq(&recipe.agitation),
                runs::pre_soak_s.eq(recipe.pre_soak_s),
                runs::time_s.eq(run.time_s),
                runs::fix_s.eq(fix_s),
                runs::developer_ul.eq(run.concentrate_ul + run.water_ul),
                runs::concentrate_ul.eq(run.concentrate_ul),
                runs::water_ul.eq(run.water_ul),
                runs::fixer_milli.eq(run.fixer_milli),
                runs::why.eq(run.why.join("\n")),
            ),
            (
                runs::steps.eq(steps),
                runs::measure.eq(&run.measure),
                runs::pinned.eq(run.pinned),
                runs::developer_bath_id.eq(run.developer_bath),
                runs::shelf_ul.eq(run.shelf_ul),
            ),
        ))
        .returning(runs::id)
        .get_result(tx.conn())?;
    insert_rolls(tx, id, run)?;
    insert_parts(tx, id, run)?;
    Ok(id)
}

/// The rolls of a run, from the bottom reel up, each with the recipe it is developed by.
pub(super) fn insert_rolls(tx: &mut Tx<'_>, id: i64, run: &Planned) -> Result<(), Error> {
    for (job, place) in run.jobs.iter().zip(1_i64..) {
        diesel::insert_into(run_rolls::table)
            .values((
                run_rolls::run_id.eq(id),
                run_rolls::place.eq(place),
                run_rolls::roll_id.eq(job.roll.id),
                run_rolls::recipe_id.eq(job.recipe.id),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

/// What is poured of each part of a run's developer, in the order in which they are named.
pub(super) fn insert_parts(tx: &mut Tx<'_>, id: i64, run: &Planned) -> Result<(), Error> {
    for (part, place) in run.parts.iter().zip(1_i64..) {
        diesel::insert_into(run_parts::table)
            .values((
                run_parts::run_id.eq(id),
                run_parts::place.eq(place),
                run_parts::name.eq(&part.name),
                run_parts::ul.eq(part.ul),
            ))
            .execute(tx.conn())?;
    }
    Ok(())
}

/// The highest number among the published runs of a date; a day's runs are numbered through.
pub(super) fn last_number(conn: &mut Conn, date: NaiveDate) -> Result<i64, Error> {
    let last: Option<i64> = runs::table
        .inner_join(day_plans::table.on(day_plans::id.eq(runs::plan_id)))
        .filter(day_plans::date.eq(date))
        .filter(day_plans::state.eq("published"))
        .select(diesel::dsl::max(runs::number))
        .get_result(conn)?;
    Ok(last.unwrap_or(0))
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = runs)]
struct Row {
    id: i64,
    number: i64,
    sink_id: i64,
    tank_id: i64,
    developer_id: i64,
    fixer_id: Option<i64>,
    load_from_s: i64,
    load_to_s: i64,
    from_s: i64,
    to_s: i64,
    temperature_mc: i64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    fix_s: i64,
    concentrate_ul: i64,
    water_ul: i64,
    measure: String,
    fixer_milli: i64,
    steps: String,
    pinned: bool,
    why: String,
    ended_s: Option<i64>,
    withdrawn_s: Option<i64>,
    developer_bath_id: Option<i64>,
    shelf_ul: i64,
}

type Named = (Row, String, NaiveDate, String, String, String);

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
                day_plans::date,
                sinks::name,
                tanks::name,
                developers::name,
            ))
    };
}

fn noun(
    (row, state, date, sink, tank, developer): Named,
    rolls: Vec<RunRoll>,
    parts: Vec<PartPoured>,
) -> Run {
    let load_to = if row.load_to_s == 0 { row.from_s } else { row.load_to_s };
    Run {
        id: row.id,
        number: row.number,
        date,
        published: state == "published",
        sink_id: row.sink_id,
        sink,
        tank_id: row.tank_id,
        tank,
        developer_id: row.developer_id,
        developer,
        fixer_id: row.fixer_id,
        load: Span { from: Moment(row.load_from_s), to: Moment(load_to) },
        from: Moment(row.from_s),
        to: Moment(row.to_s),
        temperature_mc: row.temperature_mc,
        agitation: row.agitation,
        pre_soak_s: row.pre_soak_s,
        time_s: row.time_s,
        fix_s: row.fix_s,
        concentrate_ul: row.concentrate_ul,
        water_ul: row.water_ul,
        parts,
        measure: row.measure,
        fixer_milli: row.fixer_milli,
        developer_bath: row.developer_bath_id,
        shelf_ul: row.shelf_ul,
        steps: serde_json::from_str(&row.steps).unwrap_or_default(),
        pinned: row.pinned,
        why: row.why.lines().map(str::to_owned).collect(),
        ended: row.ended_s.map(Moment),
        withdrawn: row.withdrawn_s.map(Moment),
        rolls,
    }
}

type RollRow = (i64, i64, String, i64, String, String, String, Option<i64>);

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
            members::id,
            members::name,
            films::name,
            rolls::format,
            rolls::sheets,
        ))
        .load(conn)?;
    let mut by_run: BTreeMap<i64, Vec<RunRoll>> = BTreeMap::new();
    for (run, roll_id, ticket, owner_id, owner, film, format, sheets) in rows {
        let roll = RunRoll { roll_id, ticket, owner_id, owner, film, format, sheets };
        by_run.entry(run).or_default().push(roll);
    }
    Ok(by_run)
}

fn parts_of(conn: &mut Conn, ids: &[i64]) -> Result<BTreeMap<i64, Vec<PartPoured>>, Error> {
    let rows: Vec<(i64, String, i64)> = run_parts::table
        .filter(run_parts::run_id.eq_any(ids))
        .order((run_parts::run_id, run_parts::place))
        .select((run_parts::run_id, run_parts::name, run_parts::ul))
        .load(conn)?;
    let mut by_run: BTreeMap<i64, Vec<PartPoured>> = BTreeMap::new();
    for (run, name, ul) in rows {
        by_run.entry(run).or_default().push(PartPoured { name, ul });
    }
    Ok(by_run)
}

fn with_rolls(conn: &mut Conn, rows: Vec<Named>) -> Result<Vec<Run>, Error> {
    let ids: Vec<i64> = rows.iter().map(|r| r.0.id).collect();
    let mut by_run = rolls_of(conn, &ids)?;
    let mut parts = parts_of(conn, &ids)?;
    let run = |row: Named| {
        let rolls = by_run.remove(&row.0.id).unwrap_or_default();
        let parts = parts.remove(&row.0.id).unwrap_or_default();
        noun(row, rolls, parts)
    };
    Ok(rows.into_iter().map(run).collect())
}

/// The runs of a plan by their start.
pub(in crate::day) fn runs(conn: &mut Conn, plan: i64) -> Result<Vec<Run>, Error> {
    let rows = full!().filter(runs::plan_id.eq(plan)).order((runs::from_s, runs::id)).load(conn)?;
    with_rolls(conn, rows)
}

/// The runs of a published day by their start, those taken out left out.
pub(in crate::day) fn published_runs(conn: &mut Conn, date: NaiveDate) -> Result<Vec<Run>, Error> {
    let rows = full!()
        .filter(day_plans::date.eq(date))
        .filter(day_plans::state.eq("published"))
        .filter(runs::withdrawn_s.is_null())
        .order((runs::from_s, runs::id))
        .load(conn)?;
    with_rolls(conn, rows)
}

pub(in crate::day) fn run(conn: &mut Conn, id: i64) -> Result<Run, Error> {
    let row: Named = full!().filter(runs::id.eq(id)).get_result(conn)?;
    with_rolls(conn, vec![row])?.into_iter().next().ok_or(Error::NotFound)
}

/// These runs by their start, those ended or taken out left out.
pub(in crate::day) fn running_of(conn: &mut Conn, ids: &[i64]) -> Result<Vec<Run>, Error> {
    let rows = full!()
        .filter(runs::id.eq_any(ids))
        .filter(runs::ended_s.is_null())
        .filter(runs::withdrawn_s.is_null())
        .order((runs::from_s, runs::id))
        .load(conn)?;
    with_rolls(conn, rows)
}
