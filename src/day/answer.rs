//! Asks the planner and reads its answer: runs with their volumes and reasons, rolls left over.

use chrono::DateTime;

use super::facts::Facts;
use super::question::{Names, Place, Question};
use super::rules::{Fixed, Job, LeftOver, Outcome, Planned, Steps, Sums, Wish, last_end};
use super::standing::Standing;
use crate::chemistry::Measuring;
use crate::clock::Moment;
use crate::error::Error;
use crate::planner::{self, Amount, Budget, Day, Plan, Progress};
use crate::units::Millilitres;

/// Plans a day: first what a lead has put in its place, then everything else around it.
///
/// # Errors
/// A refusal when a run cannot stand where it was put; it says why.
pub(super) fn day(
    facts: &Facts,
    jobs: &[Job],
    wish: &Wish,
    watch: &mut dyn FnMut(Progress<'_>),
) -> Result<Outcome, Error> {
    let mut outcome = Outcome::default();
    let mut standing = facts.standing.clone();
    let mut all: Vec<&Fixed> = wish.fixed.iter().collect();
    all.sort_by_key(|f| (!f.pinned, f.from));
    for fixed in all {
        let Some(run) = put(facts, jobs, (wish, &standing), fixed)? else { continue };
        standing.push(Standing::of(&run, facts.fix_s()));
        outcome.runs.push(run);
    }
    let placed: Vec<i64> =
        outcome.runs.iter().flat_map(|r| r.jobs.iter().map(|j| j.roll.id)).collect();
    let free: Vec<&Job> = jobs.iter().filter(|j| !placed.contains(&j.roll.id)).collect();
    let question = Question { facts, wish, jobs: &free, standing: &standing, only: None };
    let (plan, names) = ask(&question, &Budget::default(), watch)?;
    read(&mut outcome, &question, &plan, &names);
    outcome.runs.sort_by_key(|r| (r.from, r.tank_id));
    let mut late = plan.late.clone();
    late.extend(late_ones(facts, &outcome.runs));
    late.sort();
    late.dedup();
    outcome.sums = sums(&outcome, late, &plan);
    Ok(outcome)
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

/// Puts one run where a lead wants it; nothing when none of its rolls waits any more.
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
    let place = Place {
        tank_id: fixed.tank_id,
        sink_id: fixed.sink_id,
        not_before: fixed.load_from.min(fixed.from.plus(-loading - figures.load_tank_s)),
        from: fixed.from,
    };
    let question = Question { facts, wish, jobs: &chosen, standing, only: Some(place) };
    let (plan, names) = ask(&question, &Budget::default(), &mut |_| {})?;
    let mut outcome = Outcome::default();
    read(&mut outcome, &question, &plan, &names);
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
    let Some(mut run) = outcome.runs.pop() else { return Ok(None) };
    if fixed.pinned && run.from != fixed.from {
        let wall = |at: Moment| facts.zone.wall(at).format("%H:%M").to_string();
        return Err(Error::refused(
            "cannot-stand",
            format!(
                "The run of {} cannot start at {}: its tank, its sink, a person, dry reels or the \
                 dark place is taken then. It could at {}.",
                first.roll.ticket,
                wall(fixed.from),
                wall(run.from)
            ),
        ));
    }
    run.pinned = fixed.pinned;
    Ok(Some(run))
}

fn cannot_stand(why: &str) -> Error {
    Error::refused("cannot-stand", format!("That run cannot stand there: {why}"))
}

fn ask(
    question: &Question<'_>,
    budget: &Budget,
    watch: &mut dyn FnMut(Progress<'_>),
) -> Result<(Plan, Names), Error> {
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
    Ok((planner::plan(&day, budget, watch), names))
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
    let figures = &question.facts.figures;
    let from = instant(&run.start)?;
    let load_from = run.load_start.as_deref().and_then(instant).unwrap_or(from);
    let concentrate_ul = microlitres(run.concentrate_ml);
    let rolls = i64::try_from(jobs.len()).ok()?;
    let mut working: Vec<String> = Vec::new();
    for line in jobs.iter().flat_map(|j| &j.working) {
        if !working.contains(line) {
            working.push(line.clone());
        }
    }
    Some(Planned {
        sink_id: *names.sinks.get(&run.sink)?,
        tank_id: *names.tanks.get(&run.tank)?,
        load_from,
        load_to: run.load_end.as_deref().and_then(instant).unwrap_or(load_from),
        from,
        to: instant(&run.end)?,
        time_s: run.time_s,
        concentrate_ul,
        water_ul: (microlitres(run.developer_ml) - concentrate_ul).max(0),
        measure: measured_with(concentrate_ul),
        fixer_milli: jobs.iter().map(|j| j.fixer_milli(figures.tabular_percent)).sum(),
        steps: Steps {
            stop_s: figures.stop_s,
            rinse_s: figures.rinse_s,
            wash_aid_s: figures.wash_aid_s,
            wash_s: figures.wash_s,
            wetting_s: figures.wetting_s,
            hang_s: figures.hang_s * rolls,
            person: run.person.clone(),
            loader: run.loader.clone().unwrap_or_else(|| run.person.clone()),
            water_parts: first.recipe.developer.water_parts,
            working,
        },
        pinned: false,
        why: run.why.clone(),
        jobs,
    })
}

/// The tool for a volume of concentrate, by what it holds and its marks.
fn measured_with(ul: i64) -> String {
    let tools = Measuring::usual();
    let volume = u64::try_from(ul).ok().and_then(|u| Millilitres::from_microlitres(u).ok());
    let Some(volume) = volume else { return String::new() };
    let holds = tools.tools().iter().find(|t| t.up_to >= volume).or(tools.tools().last());
    let Some(tool) = holds else { return String::new() };
    let step = tool.step.microlitres().max(1);
    if volume.microlitres() % step == 0 {
        format!("{} measure, marks of {}", tool.up_to, tool.step)
    } else {
        format!("{} measure, exactly, between two marks of {}", tool.up_to, tool.step)
    }
}
