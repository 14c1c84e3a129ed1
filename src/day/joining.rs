//! A member's roll joins a published run that has a free reel for it: the run keeps its tank, its
//! sink, its start and its developing time; only its volumes and its ends grow.

use super::facts::{self, Facts, Pourer};
use super::rules::{Fixed, Job, Planned, Wish};
use super::store::{self, Run};
use super::{answer, at_sink, mail, publishing};
use crate::baths;
use crate::bookings::Place;
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::recipes::{self, Handling, Recipe};
use crate::rolls::{self, Care, Roll, State};
use crate::sessions::Person;
use crate::sinks::{self, Held, Why};

/// What a roll's joining is worked out from.
#[derive(Clone, Debug)]
pub(super) struct Basis {
    pub(super) run: Run,
    pub(super) roll: Roll,
    facts: Facts,
    jobs: Vec<Job>,
    wish: Wish,
}

/// Everything a member's waiting roll could join, each to be worked out, and why the others of its
/// chemistry are closed to it.
///
/// # Errors
/// As the database's.
pub(super) fn bases(
    conn: &mut Conn,
    place: &Place,
    person: &Person,
    roll: &Roll,
) -> Result<(Vec<Basis>, Vec<String>), Error> {
    let (mut bases, mut closed) = (Vec::new(), Vec::new());
    if roll.state != State::HandedIn {
        return Ok((bases, closed));
    }
    for run in alike(conn, place.now, roll)? {
        match basis(conn, place, person, (roll.id, run.id)) {
            Ok(basis) => bases.push(basis),
            Err(Error::Refused { sentence, .. }) => closed.push(sentence),
            Err(Error::Invalid(faults)) => closed.extend(faults.into_values()),
            Err(e) => return Err(e),
        }
    }
    Ok((bases, closed))
}

/// The published runs to come whose chemistry a roll's recipe has, by their start. Whether there
/// is room in one is worked out from its [`Basis`].
///
/// # Errors
/// As the database's.
fn alike(conn: &mut Conn, now: Moment, roll: &Roll) -> Result<Vec<Run>, Error> {
    let after = now.plus(rolls::customs(conn)?.join_min * 60);
    let wanted = recipes_of(conn, roll)?;
    let mut runs = store::coming_runs(conn, after)?;
    runs.retain(|run| wanted.iter().any(|r| has_its_chemistry(r, run)));
    let mut open = Vec::new();
    for run in runs {
        if may_still(conn, now, &run).is_ok() {
            open.push(run);
        }
    }
    Ok(open)
}

/// The recipe its owner chose; where the lead decides, any that stands on the chart for it.
fn recipes_of(conn: &mut Conn, roll: &Roll) -> Result<Vec<Recipe>, Error> {
    match roll.recipe_id {
        Some(id) => Ok(vec![recipes::today_of(conn, id)?]),
        None => recipes::for_film(conn, roll.film_id, roll.ei),
    }
}

/// A developer that is poured back is left to the lead: its time grows with every roll.
fn has_its_chemistry(recipe: &Recipe, run: &Run) -> bool {
    recipe.developer.id == run.developer_id
        && recipe.developer.handling() == Handling::OneShot
        && recipe.agitation == run.agitation
        && recipe.pre_soak_s == run.pre_soak_s
}

/// Whether the run may still take a roll.
fn may_still(conn: &mut Conn, now: Moment, run: &Run) -> Result<(), Error> {
    let refused = |why: String| Err(Error::refused("run-closed", why));
    let own = store::own(conn, run.id)?.is_some();
    if !run.published || run.withdrawn.is_some() || run.ended.is_some() || own {
        return refused("That run is not open any more. Choose another.".to_owned());
    }
    let minutes = rolls::customs(conn)?.join_min;
    if now.plus(minutes * 60) > run.load.from || at_sink::has_begun(conn, run.id)? {
        return refused(format!(
            "A roll can join until {minutes} min before loading begins. Choose another run."
        ));
    }
    Ok(())
}

/// Reads the room as it would be without the run, and the rolls it would then have.
///
/// # Errors
/// [`Error::NotFound`] for another's roll; a refusal when the roll does not wait, or the run is
/// closed to it.
pub(super) fn basis(
    conn: &mut Conn,
    place: &Place,
    person: &Person,
    (roll, run): (i64, i64),
) -> Result<Basis, Error> {
    let roll = rolls::one(conn, roll)?;
    if roll.member_id != person.id {
        return Err(Error::NotFound);
    }
    still_waits(&roll)?;
    let run = store::run(conn, run)?;
    may_still(conn, place.now, &run)?;
    let at = (place.now, place.zone, run.date);
    let mut facts = facts::load(conn, at, (&[], person.id))?;
    without(conn, &mut facts, &run)?;
    let mut wish = Wish { fixed: Vec::new(), ..store::wish_of(conn, run.id)? };
    wish.temperatures.insert(run.developer_id, run.temperature_mc);
    let mut jobs = Vec::new();
    for film in &run.rolls {
        jobs.push(as_it_stands(conn, &facts, &mut wish, (&run, film.roll_id))?);
    }
    jobs.push(joining(conn, &facts, &mut wish, (&run, &roll))?);
    Ok(Basis { run, roll, facts, jobs, wish })
}

fn still_waits(roll: &Roll) -> Result<(), Error> {
    if roll.state == State::HandedIn {
        return Ok(());
    }
    Err(Error::refused(
        "roll-state",
        format!("Ticket {} is “{}” and waits for no run.", roll.ticket, roll.state.name()),
    ))
}

/// Takes the run out of the facts, so that it can be put into its place again with one roll more.
fn without(conn: &mut Conn, facts: &mut Facts, run: &Run) -> Result<(), Error> {
    let others = |h: &Held| h.why != Why::Run(run.id);
    let wide = facts::around(facts.zone, run.date);
    let but = Some(Why::Run(run.id));
    facts.sinks_held = sinks::closed_to_runs(conn, &facts.sinks, (wide, but))?;
    facts.loading = sinks::closed_to_loading(conn, (wide, but))?;
    facts.tanks_held.retain(others);
    facts.reels_held.retain(others);
    facts.hanging_held.retain(others);
    let standing = store::published_runs(conn, run.date)?;
    let standing = standing.iter().filter(|r| r.id != run.id);
    facts.standing = standing.map(Run::standing).collect();
    // A day that slipped may stand beside the usual grid.
    facts.figures.grid_s = 60;
    if !run.steps.person.is_empty() {
        let mut names = vec![run.steps.person.clone(), run.steps.loader.clone()];
        names.dedup();
        facts.people = names.into_iter().map(|name| Pourer { name, hours: None }).collect();
    }
    match (&mut facts.fixer, run.fixer_id) {
        (Some(fixer), Some(id)) if fixer.id == id => fixer.left_milli += run.fixer_milli,
        (fixer, None) => *fixer = None,
        _ => {
            return Err(Error::refused(
                "other-fixer",
                "Another fixer is in use by now than this run was planned with. Ask the lead.",
            ));
        }
    }
    Ok(())
}

/// A roll that is in the run already: it keeps the run's time to the second.
fn as_it_stands(
    conn: &mut Conn,
    facts: &Facts,
    wish: &mut Wish,
    (run, roll): (&Run, i64),
) -> Result<Job, Error> {
    let by = store::recipe_in(conn, run.id, roll)?;
    if let Some(id) = by {
        wish.recipes.insert(roll, id);
    }
    let roll = rolls::one(conn, roll)?;
    let mut job = job(conn, facts, wish, roll)?;
    if let Some(id) = by {
        job.recipe = recipes::by_id(conn, id)?;
    }
    job.time_s = run.time_s;
    job.roll.tolerance_percent = Some(0);
    job.working.clear();
    Ok(job)
}

/// The roll that wants to join, by the recipe of its own that the run's chemistry fits.
fn joining(
    conn: &mut Conn,
    facts: &Facts,
    wish: &mut Wish,
    (run, roll): (&Run, &Roll),
) -> Result<Job, Error> {
    let fits = recipes_of(conn, roll)?.into_iter().find(|r| has_its_chemistry(r, run));
    let Some(recipe) = fits else {
        return Err(Error::refused(
            "other-chemistry",
            "Developer, agitation or pre-soak of that run are not those of this roll's recipe.",
        ));
    };
    wish.recipes.insert(roll.id, recipe.id);
    job(conn, facts, wish, roll.clone())
}

fn job(conn: &mut Conn, facts: &Facts, wish: &Wish, roll: Roll) -> Result<Job, Error> {
    facts::job(conn, facts, wish, roll)?
        .map_err(|left| Error::refused("cannot-join", format!("{}: {}", left.ticket, left.reason)))
}

/// What plainly stands in the way, in a sentence for the roll's owner.
fn in_the_way(basis: &Basis) -> Option<String> {
    let (facts, run) = (&basis.facts, &basis.run);
    let alone = |j: &Job| {
        !j.roll.shares || j.roll.check.care == Care::Alone || basis.wish.alone.contains(&j.roll.id)
    };
    if basis.jobs.iter().any(alone) {
        return Some("it, or a film that is in it, is to run alone".to_owned());
    }
    let tank = facts.tanks.iter().find(|t| t.id == run.tank_id)?;
    let height = |j: &Job| facts::reel_for(&facts.reels, j.format.reel).map_or(0, |(_, mm, _)| mm);
    let reels = i64::try_from(basis.jobs.len()).unwrap_or(i64::MAX);
    if reels > tank.max_reels || basis.jobs.iter().map(height).sum::<i64>() > tank.stack_mm {
        return Some(format!("all places of {} are taken", tank.name));
    }
    let mine = basis.jobs.last().filter(|j| j.roll.id == basis.roll.id)?;
    let (under, over) = match (basis.roll.check.care, basis.roll.tolerance_percent) {
        (Care::Exact, _) => (0, 0),
        (_, Some(percent)) => (percent, percent),
        _ => (
            basis.wish.under.unwrap_or(facts.figures.under_percent),
            basis.wish.over.unwrap_or(facts.figures.over_percent),
        ),
    };
    let run_time = run.time_s * 100;
    if run_time < mine.time_s * (100 - under) || run_time > mine.time_s * (100 + over) {
        return Some(format!(
            "its time is {} min there, the run's {} min",
            recipes::clock_of(mine.time_s),
            recipes::clock_of(run.time_s)
        ));
    }
    None
}

/// The run with the roll in it.
///
/// # Errors
/// A refusal that says what stands in the way.
pub(super) fn work_out(basis: &Basis) -> Result<Planned, Error> {
    let cannot =
        |why: &str| Error::refused("cannot-join", format!("It cannot join that run: {why}"));
    if let Some(why) = in_the_way(basis) {
        return Err(cannot(&format!("{why}.")));
    }
    let fixed = Fixed {
        rolls: basis.jobs.iter().map(|j| j.roll.id).collect(),
        tank_id: basis.run.tank_id,
        sink_id: basis.run.sink_id,
        load_from: basis.run.load.from,
        from: basis.run.from,
        pinned: true,
    };
    let put = answer::put(&basis.facts, &basis.jobs, (&basis.wish, &basis.facts.standing), &fixed);
    match put {
        Ok(Some(run)) if run.jobs.len() == basis.jobs.len() => {
            Ok(Planned { pinned: basis.run.pinned, ..run })
        }
        Ok(_) => Err(cannot("it has no room for it.")),
        Err(Error::Refused { sentence, .. }) => {
            Err(cannot(&format!("with one roll more it does not work out. {sentence}")))
        }
        Err(e) => Err(e),
    }
}

/// Adds a member's own waiting roll to a published run: what the run holds of the room grows, owner
/// and leads are told. One run is worked out in no time, so it is done in the transaction itself.
///
/// # Errors
/// As [`basis`] and [`work_out`].
pub(super) fn join(
    tx: &mut Tx<'_>,
    place: &Place,
    person: &Person,
    wanted: (i64, i64),
) -> Result<Run, Error> {
    let basis = basis(tx, place, person, wanted)?;
    let planned = work_out(&basis)?;
    let (now, roll, before) = (place.now, &basis.roll, &basis.run);
    sinks::release_run(tx, before.id)?;
    store::rewrite_run(tx, before.id, &planned)?;
    let run = store::run(tx, before.id)?;
    let gaps = facts::figures(tx)?;
    publishing::hold(tx, now, &run, &gaps).map_err(|e| match e {
        Error::Refused { .. } => Error::refused(
            "room-changed",
            "What that run would need for longer is booked by somebody. Choose another run.",
        ),
        other => other,
    })?;
    let note = format!("Added to run {} by its owner", run.number);
    rolls::set_state(tx, now, (roll.id, Some(person.id)), State::Planned, &note)?;
    let sentence = format!(
        "Ticket {} of {} added to run {}: {} instead of {} ml of {}.",
        rolls::spoken(&roll.ticket),
        person.name,
        run.number,
        super::sheet::ml(run.concentrate_ul + run.water_ul),
        super::sheet::ml(before.concentrate_ul + before.water_ul),
        run.developer
    );
    store::add_change(tx, (now, person.id), run.date, &sentence)?;
    mail::joined(tx, place, (&run, roll), (&sentence, gaps.drying_s + gaps.sleeving_s))?;
    baths::watch(tx, now)?;
    Ok(run)
}
