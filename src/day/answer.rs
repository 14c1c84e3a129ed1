//! Asks the planner and reads its answer: runs with their volumes and reasons, rolls left over.

use chrono::DateTime;

use super::correction::in_proportion;
use super::facts::{Facts, at_temperature};
use super::progress::{Phase, Reached, Wanted, Watcher, unwatched};
use super::question::{Names, Place, Question};
use super::rules::{
    Fixed, Job, LeftOver, Outcome, PartPoured, Planned, Steps, Sums, Wish, last_end,
};
use super::standing::Standing;
use crate::chemistry::Measuring;
use crate::clock::Moment;
use crate::error::Error;
use crate::planner::{self, Amount, Budget, Day, Plan};
use crate::recipes::Developer;
use crate::units::Millilitres;
use crate::web::spoken;

/// Plans a day: first what a lead has put in its place, then everything else around it.
///
/// # Errors
/// A refusal when a run cannot stand where it was put; it says why. A refusal too when whoever
/// watches wants nothing of it any more.
pub(super) fn day(
    facts: &Facts,
    jobs: &[Job],
    wish: &Wish,
    watch: Watcher<'_>,
) -> Result<Outcome, Error> {
    let mut outcome = Outcome::default();
    let mut standing = facts.standing.clone();
    let mut all: Vec<&Fixed> = wish.fixed.iter().collect();
    all.sort_by_key(|f| (!f.pinned, f.from));
    let mut reached = Reached::default();
    let count = all.len();
    for (done, fixed) in all.into_iter().enumerate() {
        reached = reached.step(Phase::Placing, done, count);
        still_wanted(watch, &reached)?;
        let Some(run) = put(facts, jobs, (wish, &standing), fixed)? else { continue };
        standing.push(Standing::of(&run, facts.fix_s()));
        outcome.runs.push(run);
    }
    let placed: Vec<i64> =
        outcome.runs.iter().flat_map(|r| r.jobs.iter().map(|j| j.roll.id)).collect();
    let free: Vec<&Job> = jobs.iter().filter(|j| !placed.contains(&j.roll.id)).collect();
    let question = Question { facts, wish, jobs: &free, standing: &standing, only: None };
    let (plan, names) = ask(&question, &mut |now: &Reached| {
        reached = *now;
        watch(now)
    })?;
    still_wanted(watch, &reached)?;
    let mut rest = Outcome::default();
    read(&mut rest, &question, &plan, &names);
    outcome.left_over.append(&mut rest.left_over);
    if rest.runs.iter().any(|r| r.developer_bath.is_some()) {
        in_turn(&mut outcome, (facts, jobs, wish), standing, rest.runs, (watch, reached))?;
    } else {
        outcome.runs.append(&mut rest.runs);
    }
    outcome.runs.sort_by_key(|r| (r.from, r.tank_id));
    let mut late = plan.late.clone();
    late.extend(late_ones(facts, &outcome.runs));
    late.sort();
    late.dedup();
    outcome.sums = sums(&outcome, late, &plan);
    Ok(outcome)
}

/// Puts planned runs one after another in the order of their start: each finds its shared developer
/// as the runs before it leave it, and takes the longer for it.
fn in_turn(
    outcome: &mut Outcome,
    (facts, jobs, wish): (&Facts, &[Job], &Wish),
    mut standing: Vec<Standing>,
    mut planned: Vec<Planned>,
    (watch, reached): (Watcher<'_>, Reached),
) -> Result<(), Error> {
    planned.sort_by_key(|r| (r.from, r.tank_id));
    let count = planned.len();
    for (done, run) in planned.into_iter().enumerate() {
        still_wanted(watch, &reached.step(Phase::InTurn, done, count))?;
        let fixed = Fixed {
            rolls: run.jobs.iter().map(|j| j.roll.id).collect(),
            tank_id: run.tank_id,
            sink_id: run.sink_id,
            load_from: run.load_from,
            from: run.from,
            pinned: false,
        };
        match put(facts, jobs, (wish, &standing), &fixed) {
            Ok(Some(placed)) => {
                standing.push(Standing::of(&placed, facts.fix_s()));
                outcome.runs.push(Planned { why: run.why, ..placed });
            }
            Ok(None) => {}
            Err(refused) => outcome.left_over.extend(run.jobs.iter().map(|job| LeftOver {
                ticket: job.roll.ticket.clone(),
                reason: format!("Its developer is shared, and takes longer with use. {refused}"),
            })),
        }
    }
    Ok(())
}

/// Tells how far it is.
///
/// # Errors
/// A refusal when nothing of it is wanted any more.
fn still_wanted(watch: Watcher<'_>, reached: &Reached) -> Result<(), Error> {
    match watch(reached) {
        Wanted::More | Wanted::Enough => Ok(()),
        Wanted::Nothing => Err(Error::refused("dropped", "It was dropped; nothing was kept.")),
    }
}

fn sums(outcome: &Outcome, late: Vec<String>, plan: &Plan) -> Sums {
    let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    Sums {
        runs: count(outcome.runs.len()),
        left: count(outcome.left_over.len()),
        late,
        concentrate_ul: outcome.runs.iter().map(|r| r.concentrate_ul).sum(),
        ends_s: last_end(&outcome.runs),
        planner: serde_json::json!({
            "totals": plan.totals, "bound": plan.bound, "optimal": plan.optimal,
        }),
    }
}

/// Rolls of fixed runs that are ready only after their due time.
fn late_ones(facts: &Facts, runs: &[Planned]) -> Vec<String> {
    let after = facts.figures.drying_s + facts.figures.sleeving_s;
    let late = |run: &Planned| {
        let ready = run.to.plus(after);
        let jobs = run.jobs.iter().filter(move |j| j.roll.due.is_some_and(|due| ready > due));
        jobs.map(|j| j.roll.ticket.clone()).collect::<Vec<_>>()
    };
    runs.iter().flat_map(late).collect()
}

/// Puts one run where a lead wants it; nothing when none of its rolls waits any more. A shared
/// developer is in one tank at a time: a run waits until it is back in its bottle.
pub(super) fn put(
    facts: &Facts,
    jobs: &[Job],
    (wish, standing): (&Wish, &[Standing]),
    fixed: &Fixed,
) -> Result<Option<Planned>, Error> {
    let find = |id: &i64| jobs.iter().find(|j| j.roll.id == *id);
    let chosen: Vec<&Job> = fixed.rolls.iter().filter_map(find).collect();
    let Some(first) = chosen.first() else { return Ok(None) };
    let figures = &facts.figures;
    let loading: i64 = chosen.iter().map(|j| figures.load_roll_s(j.format.reel)).sum();
    let mut place = Place {
        tank_id: fixed.tank_id,
        sink_id: fixed.sink_id,
        not_before: fixed.load_from.min(fixed.from.plus(-loading - figures.load_tank_s)),
        from: fixed.from,
    };
    for _ in 0..40 {
        let question = Question { facts, wish, jobs: &chosen, standing, only: Some(place) };
        let Some(run) = put_at(&question)? else { return Ok(None) };
        let waits = until_developer_is_back(facts, &run, standing);
        if fixed.pinned && (waits > 0 || run.from != fixed.from) {
            return Err(cannot_start(facts, first, fixed.from, run.from.plus(waits)));
        }
        if waits == 0 {
            return Ok(Some(Planned { pinned: fixed.pinned, ..run }));
        }
        let grid = figures.grid_s.max(1);
        place.from = Moment((run.from.0 + waits + grid - 1).div_euclid(grid) * grid);
    }
    Err(cannot_stand("its shared developer is in other tanks all day."))
}

fn cannot_start(facts: &Facts, job: &Job, wanted: Moment, could: Moment) -> Error {
    let wall = |at: Moment| facts.zone.wall(at).format("%H:%M").to_string();
    Error::refused(
        "cannot-stand",
        format!(
            "The run of {} cannot start at {}: its tank, its sink, a person, dry reels, its shared \
             developer or the dark place is taken then. It could at {}.",
            spoken(&job.roll.ticket),
            wall(wanted),
            wall(could)
        ),
    )
}

/// How many seconds later a run has to start for its shared developer to be back; 0 where it is.
fn until_developer_is_back(facts: &Facts, run: &Planned, standing: &[Standing]) -> i64 {
    let own = Standing::of(run, facts.fix_s());
    let Some((bath, _)) = own.developer else { return 0 };
    let span = own.in_developer();
    let others = standing.iter().filter(|s| s.developer.is_some_and(|(id, _)| id == bath));
    let busy = others.map(Standing::in_developer).filter(|s| s.meets(&span));
    busy.map(|s| s.to.since(span.from)).max().unwrap_or(0)
}

/// The one run that the chosen rolls make in their place.
fn put_at(question: &Question<'_>) -> Result<Option<Planned>, Error> {
    let (plan, names) = ask(question, &mut unwatched)?;
    let mut outcome = Outcome::default();
    read(&mut outcome, question, &plan, &names);
    if let Some(left) = outcome.left_over.first() {
        return Err(cannot_stand(&format!("{}: {}", left.ticket, left.reason)));
    }
    if outcome.runs.len() > 1 {
        let why = outcome.runs.iter().flat_map(|r| r.why.last()).next().cloned();
        return Err(cannot_stand(&format!(
            "these rolls cannot share one run. {}",
            why.unwrap_or_default()
        )));
    }
    Ok(outcome.runs.pop())
}

fn cannot_stand(why: &str) -> Error {
    Error::refused("cannot-stand", format!("That run cannot stand there: {why}"))
}

/// How long the planner may go on proving a day that somebody waits for: seldom more than half a
/// second, where the whole budget of `wetside plan` may take many. The plan itself is found before.
const PROOF: u64 = 25_000;

fn ask(question: &Question<'_>, watch: Watcher<'_>) -> Result<(Plan, Names), Error> {
    let (form, names) = question.form();
    let day = Day::from_form(&form).map_err(|faults| {
        let all: Vec<String> = faults.iter().map(ToString::to_string).collect();
        Error::refused(
            "day-unfit",
            format!(
                "The room's figures do not make a day that can be planned: {}.",
                all.join("; ")
            ),
        )
    })?;
    let budget = Budget { starts: PROOF, ..Budget::default() };
    let plan = planner::plan(&day, &budget, &mut |progress| {
        let wanted = watch(&Reached::of(&progress));
        *progress.stop = wanted != Wanted::More;
    });
    Ok((plan, names))
}

fn read(outcome: &mut Outcome, question: &Question<'_>, plan: &Plan, names: &Names) {
    for run in &plan.runs {
        outcome.runs.extend(read_run(question, run, names));
    }
    for left in &plan.left_over {
        let ticket = left.roll.clone();
        outcome.left_over.push(LeftOver { ticket, reason: sentence(&left.reason) });
    }
}

/// A reason as a sentence of its own.
fn sentence(reason: &str) -> String {
    let mut chars = reason.chars();
    let first: String = chars.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let end = if reason.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{first}{}{end}", chars.as_str())
}

fn instant(text: &str) -> Option<Moment> {
    DateTime::parse_from_rfc3339(text).ok().map(|t| Moment(t.timestamp()))
}

/// Microlitres of an amount of millilitres, to the nearest.
fn microlitres(amount: Amount) -> i64 {
    (amount.0.millionths() + 500) / 1000
}

fn read_run(question: &Question<'_>, run: &planner::Run, names: &Names) -> Option<Planned> {
    let find = |ticket: &String| question.jobs.iter().find(|j| j.roll.ticket == *ticket);
    let jobs: Vec<Job> = run.rolls.iter().filter_map(find).map(|j| (*j).clone()).collect();
    let first = jobs.first()?;
    let facts = question.facts;
    let from = instant(&run.start)?;
    let load_from = run.load_start.as_deref().and_then(instant).unwrap_or(from);
    let bath = facts.developers.get(&first.recipe.developer.id);
    // A shared bath is poured as it stands in its bottle.
    let all_ul = microlitres(run.developer_ml);
    let first_ul = if bath.is_some() { all_ul } else { microlitres(run.concentrate_ml) };
    let parts = if bath.is_some() { Vec::new() } else { parts(&first.recipe.developer, all_ul) };
    let concentrate_ul = if parts.is_empty() { first_ul } else { parts.iter().map(|p| p.ul).sum() };
    let first_ul = parts.first().map_or(first_ul, |p| p.ul);
    Some(Planned {
        sink_id: *names.sinks.get(&run.sink)?,
        tank_id: *names.tanks.get(&run.tank)?,
        load_from,
        load_to: run.load_end.as_deref().and_then(instant).unwrap_or(load_from),
        from,
        to: instant(&run.end)?,
        time_s: run.time_s,
        concentrate_ul,
        water_ul: (all_ul - concentrate_ul).max(0),
        measure: measured_with(first_ul),
        parts,
        fixer_milli: jobs.iter().map(|j| j.fixer_milli(facts.figures.tabular_percent)).sum(),
        developer_bath: bath.map(|b| b.bath_id),
        shelf_ul: if bath.is_some() || facts.own_developer { 0 } else { first_ul },
        steps: steps_of(question, run, &jobs)?,
        pinned: false,
        why: run.why.clone(),
        jobs,
    })
}

fn steps_of(question: &Question<'_>, run: &planner::Run, jobs: &[Job]) -> Option<Steps> {
    let (facts, first) = (question.facts, jobs.first()?);
    let figures = &facts.figures;
    let bath = facts.developers.get(&first.recipe.developer.id);
    let film_milli: i64 = jobs.iter().map(Job::film_milli).sum();
    let mut working: Vec<String> = Vec::new();
    let grown = jobs.iter().filter_map(|j| question.time_of(j).1);
    for line in jobs.iter().flat_map(|j| j.working.iter().cloned()).chain(grown) {
        if !working.contains(&line) {
            working.push(line);
        }
    }
    let mut recipes: Vec<i64> = jobs.iter().map(|j| j.recipe.id).collect();
    recipes.sort_unstable();
    recipes.dedup();
    let second = facts.fixer.as_ref().and_then(|f| f.second);
    Some(Steps {
        stop_s: figures.stop_s,
        rinse_s: figures.rinse_s,
        wash_aid_s: figures.wash_aid_s,
        wash_s: figures.wash_s,
        wetting_s: figures.wetting_s,
        hang_s: figures.hang_s * i64::try_from(jobs.len()).ok()?,
        person: run.person.clone(),
        loader: run.loader.clone().unwrap_or_else(|| run.person.clone()),
        water_parts: first.recipe.developer.water_parts,
        working,
        recipes,
        at_twenty_s: at_twenty(run.time_s, jobs),
        second_fixer: second.map(|(id, _)| id),
        second_fix_s: second.map_or(0, |(_, s)| s),
        replenish_ul: bath.map_or(0, |b| b.replenish_ul * film_milli / 1000),
        own_tank: false,
        own_developer: facts.own_developer,
    })
}

/// A run's time at 20 °C, where its day has another temperature and every recipe reaches that far.
fn at_twenty(time_s: i64, jobs: &[Job]) -> Option<i64> {
    const TWENTY: i64 = 20_000;
    jobs.iter().find(|j| j.temperature_mc != TWENTY)?;
    let pair = |job: &Job| {
        let (there, _) = at_temperature(&job.recipe, TWENTY, Millilitres::ZERO).ok()?;
        Some((there, job.time_s))
    };
    let pairs: Option<Vec<(i64, i64)>> = jobs.iter().map(pair).collect();
    Some(in_proportion(time_s, &pairs?, 5))
}

/// What of each part makes so much of a developer; nothing where it is poured from one bottle. With
/// the water they add up to it exactly.
fn parts(developer: &Developer, all_ul: i64) -> Vec<PartPoured> {
    let total = u64::try_from(all_ul).ok().and_then(|u| Millilitres::from_microlitres(u).ok());
    let (Some(total), Ok(Some(mixture))) = (total, developer.mixture()) else { return Vec::new() };
    let named = mixture.divide(total).into_iter().take(developer.parts().len());
    named
        .map(|v| PartPoured {
            name: v.name,
            ul: i64::try_from(v.volume.microlitres()).unwrap_or(i64::MAX),
        })
        .collect()
}

/// The tool for a volume, by the size of its marks; up to 5 litres a jug does.
pub(super) fn measured_with(ul: i64) -> String {
    let tools = Measuring::usual();
    let volume = u64::try_from(ul).ok().and_then(|u| Millilitres::from_microlitres(u).ok());
    let Some(volume) = volume else { return String::new() };
    let holds = tools.tools().iter().find(|t| t.up_to >= volume).or(tools.tools().last());
    let Some(tool) = holds else { return String::new() };
    let step = tool.step.microlitres().max(1);
    // A tool far larger than what is measured in it is named by its marks alone: any jug that has
    // them will do.
    let large = tool.up_to.microlitres() > 1_000_000;
    let name = if large { "jug".to_owned() } else { format!("{} measure", tool.up_to) };
    if volume.microlitres() % step == 0 {
        format!("{name}, marks of {}", tool.step)
    } else {
        format!("{name}, exactly, between two marks of {}", tool.step)
    }
}
