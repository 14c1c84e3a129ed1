//! The day: rolls grouped into runs, published, printed as a mix sheet, and ended at the sink.

pub(crate) mod api;
mod pages;
mod rules;
mod sheet;
mod store;

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::baths::{self, Use};
use crate::clock::{Moment, Span, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::recipes;
use crate::rolls::{self, Format, Roll, State};
use crate::sinks::{self, Kind, Why};
use crate::web::Routes;

pub use rules::{Job, LeftOver, Planned};
pub use store::{Plan, Run, RunRoll};

/// Groups the waiting rolls into runs for a date and keeps them as a draft; returns its number.
///
/// # Errors
/// A refusal when the studio is closed that day or has no tank, reel or fixer.
pub fn plan(
    tx: &mut Tx<'_>,
    (now, zone): (Moment, Zone),
    by: i64,
    date: NaiveDate,
) -> Result<i64, Error> {
    let facts = facts(tx, now, zone, date)?;
    let mut jobs = Vec::new();
    let mut left_over = Vec::new();
    for roll in rolls::waiting(tx)? {
        match job(tx, roll)? {
            Ok(job) => jobs.push(job),
            Err(left) => left_over.push(left),
        }
    }
    let (runs, left) = rules::plan(&facts, &jobs);
    left_over.extend(left);
    store::insert_plan(tx, (now, by, date), &facts, &runs, &left_over)
}

/// What of the room a plan needs to know.
fn facts(conn: &mut Conn, now: Moment, zone: Zone, date: NaiveDate) -> Result<rules::Facts, Error> {
    let open = sinks::opening(conn, zone, date)?;
    if open.is_empty() {
        return Err(Error::field("date", "The studio is closed that day. Choose another."));
    }
    let day = zone.day(date);
    let wide = Span { from: day.from, to: day.to.plus(86_400) };
    let fixer = baths::on_the_shelf(conn, now)?
        .into_iter()
        .filter(|(bath, state)| bath.takes_film_first() && state.is_usable())
        .max_by_key(|(_, state)| state.remaining_milli)
        .ok_or_else(|| {
            Error::refused("no-fixer", "There is no fixer fit for use. Mix one under Baths first.")
        })?;
    Ok(rules::Facts {
        now,
        open,
        sinks: sinks::sinks(conn)?,
        tanks: sinks::tanks(conn)?,
        reels: sinks::reel_kinds(conn)?,
        sinks_held: sinks::held(conn, Kind::SinkPlace, wide)?,
        tanks_held: sinks::held(conn, Kind::Tank, wide)?,
        fixer_id: fixer.0.id,
        fix_s: fixer.0.fix_s,
        fixer_left_milli: fixer.1.remaining_milli,
    })
}

/// A roll with the recipe it will be developed by, or why it has none.
fn job(conn: &mut Conn, roll: Roll) -> Result<Result<Job, LeftOver>, Error> {
    let recipe = match roll.recipe_id {
        Some(id) => Some(recipes::by_id(conn, id)?),
        None => recipes::for_film(conn, roll.film_id, roll.ei)?.into_iter().next(),
    };
    let left = |reason: String| LeftOver { ticket: roll.ticket.clone(), reason };
    let Some(recipe) = recipe else {
        return Ok(Err(left(format!(
            "No recipe for {} at EI {} stands on the time chart. Enter one.",
            roll.film, roll.ei
        ))));
    };
    let Some(format) = Format::named(&roll.format) else {
        return Ok(Err(left(format!("The format {} is not known here.", roll.format))));
    };
    Ok(Ok(Job { roll, recipe, format }))
}

/// Publishes the latest draft of a date: books its sinks and tanks, and moves its rolls on; all of
/// it, or nothing.
///
/// # Errors
/// A refusal that says what changed since the draft was made.
pub fn publish(tx: &mut Tx<'_>, now: Moment, by: i64, date: NaiveDate) -> Result<Plan, Error> {
    let plan = store::draft(tx, date)?.ok_or_else(|| {
        Error::refused("no-draft", "There is no draft for that day. Plan the day first.")
    })?;
    for run in store::runs(tx, &[plan.id])? {
        for roll in &run.rolls {
            let present = rolls::one(tx, roll.roll_id)?;
            if present.state != State::HandedIn {
                return Err(changed(&format!(
                    "Ticket {} is now “{}”",
                    present.ticket,
                    present.state.name()
                )));
            }
            rolls::set_state(tx, now, (roll.roll_id, Some(by)), State::Planned, "")?;
        }
        hold(tx, &run)?;
    }
    store::mark_published(tx, now, plan.id)?;
    baths::watch(tx, now)?;
    Ok(plan)
}

fn hold(tx: &mut Tx<'_>, run: &Run) -> Result<(), Error> {
    let at_sink = Span { from: run.from, to: run.to.plus(rules::SINK_GAP_S) };
    let in_tank = Span { from: run.load_from, to: run.to.plus(rules::TANK_GAP_S) };
    let taken = |what: &str, e: Error| match e {
        Error::Refused { .. } => changed(&format!("{what} was booked meanwhile")),
        other => other,
    };
    sinks::hold(tx, Kind::SinkPlace, run.sink_id, at_sink, Why::Run(run.id))
        .map_err(|e| taken(&run.sink, e))?;
    sinks::hold(tx, Kind::Tank, run.tank_id, in_tank, Why::Run(run.id))
        .map_err(|e| taken(&run.tank, e))
}

fn changed(what: &str) -> Error {
    Error::refused(
        "room-changed",
        format!("{what}. Nothing was published; plan the day again and look at it once more."),
    )
}

/// Ends a run: its rolls are on the hook, and the fixer's ledger takes it, once however often the
/// run is ended.
///
/// # Errors
/// A refusal when the run is not published; [`Error::NotFound`] where there is none.
pub fn end_run(tx: &mut Tx<'_>, now: Moment, by: i64, run: i64) -> Result<Run, Error> {
    let run = store::run(tx, run)?;
    if !run.published {
        return Err(Error::refused("not-published", "This run is only a draft. Publish it first."));
    }
    if !store::mark_ended(tx, now, by, run.id)? {
        return Ok(run);
    }
    for roll in &run.rolls {
        rolls::set_state(tx, now, (roll.roll_id, Some(by)), State::OnTheHook, "")?;
    }
    if let Some(bath) = run.fixer_id {
        let note = format!("Run {} in {}", run.number, run.tank);
        let wish = Use { bath, milli: run.fixer_milli, run: Some(run.id), note };
        baths::record_use(tx, now, Some(by), &wish)?;
    }
    baths::draw_for_run(tx, (now, Some(by)), run.id)?;
    Ok(run)
}

/// The published runs of a date in the order of their start, and the label of each bath they use.
///
/// # Errors
/// As the database's.
pub fn published(
    conn: &mut Conn,
    date: NaiveDate,
) -> Result<(Vec<Run>, BTreeMap<i64, String>), Error> {
    let plans = store::published_plans(conn, date)?;
    let runs = store::runs(conn, &plans)?;
    let mut labels = BTreeMap::new();
    for id in runs.iter().filter_map(|r| r.fixer_id) {
        labels.insert(id, baths::one(conn, id)?.label);
    }
    Ok((runs, labels))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
    api::routes(open);
}
