//! The plainest correct grouping: rolls of one chemistry and one developing time share a tank, and
//! one person takes the runs one after another.

use crate::chemistry::{
    DeveloperUse, Fill, FillFigures, Friendly, LoadedReels, LoadedTank, Measuring, Method,
    ReelVolumes, TankVolumes, friendly,
};
use crate::clock::{Moment, Span};
use crate::recipes::Recipe;
use crate::rolls::{Format, Roll};
use crate::sinks::{Held, ReelKind, Sink, Tank};
use crate::units::{Dilution, Millilitres, RollEquivalents};

/// A sink is wiped for this long after a run (common practice, no source).
pub(super) const SINK_GAP_S: i64 = 300;
/// A tank is rinsed and dried for this long after a run (common practice, no source).
pub(super) const TANK_GAP_S: i64 = 600;
/// Loading: two minutes a tank and three a roll (common practice, no source).
const LOAD_TANK_S: i64 = 120;
const LOAD_ROLL_S: i64 = 180;
/// Stop bath, 30 to 60 s (Army SS0509, web p. Ss050980030).
pub(super) const STOP_S: i64 = 60;
/// Rinse 30 s, wash aid 2 min, wash 5 min (Army SS0509, web p. Ss050980024).
pub(super) const RINSE_S: i64 = 30;
pub(super) const WASH_AID_S: i64 = 120;
pub(super) const WASH_S: i64 = 300;
/// Wetting agent 1 min (Army SS0509, web p. Ss050980024).
pub(super) const WETTING_S: i64 = 60;
/// Hanging up one roll (common practice, no source).
const HANG_S: i64 = 90;
/// Starts are looked for on this grid.
const GRID_S: i64 = 300;
/// Tabular-grain film loads a fixer about half as much again (photrio.com post 2259812).
const TABULAR_PERCENT: i64 = 150;

/// A waiting roll with its recipe.
#[derive(Clone, Debug)]
pub struct Job {
    /// The roll.
    pub roll: Roll,
    /// The recipe it will be developed by.
    pub recipe: Recipe,
    /// Its format.
    pub format: Format,
}

impl Job {
    fn fixer_milli(&self) -> i64 {
        let percent = if self.roll.tabular { TABULAR_PERCENT } else { 100 };
        self.format.milli * percent / 100
    }

    /// What rolls of one run must share.
    fn family(&self) -> (i64, i64, &str, i64, i64) {
        let r = &self.recipe;
        (r.developer.id, r.temperature_mc, &r.agitation, r.pre_soak_s, r.time_s)
    }
}

/// What of the room a plan needs to know.
#[derive(Clone, Debug)]
pub(super) struct Facts {
    /// Nothing begins before this.
    pub now: Moment,
    /// When the studio is open that day.
    pub open: Vec<Span>,
    /// The sinks.
    pub sinks: Vec<Sink>,
    /// The tanks.
    pub tanks: Vec<Tank>,
    /// The kinds of reel.
    pub reels: Vec<ReelKind>,
    /// Sink places already held.
    pub sinks_held: Vec<Held>,
    /// Tanks already held.
    pub tanks_held: Vec<Held>,
    /// The fixer of the day.
    pub fixer_id: i64,
    /// How long film stays in it.
    pub fix_s: i64,
    /// What it can still take, in thousandths of a roll's worth.
    pub fixer_left_milli: i64,
}

/// One planned run.
#[derive(Clone, Debug)]
pub struct Planned {
    /// Its rolls, from the bottom reel up.
    pub jobs: Vec<Job>,
    /// The sink.
    pub sink_id: i64,
    /// The tank.
    pub tank_id: i64,
    /// When loading begins.
    pub load_from: Moment,
    /// When the run starts.
    pub from: Moment,
    /// When the last roll hangs.
    pub to: Moment,
    /// Concentrate in microlitres.
    pub concentrate_ul: i64,
    /// Water in microlitres.
    pub water_ul: i64,
    /// What it takes of the fixer.
    pub fixer_milli: i64,
    /// Why it is what it is.
    pub why: String,
}

/// A roll that got no run, and why.
#[derive(Clone, Debug, serde::Serialize, serde::Deserialize, PartialEq, Eq)]
pub struct LeftOver {
    /// Its ticket.
    pub ticket: String,
    /// The reason, with the remedy.
    pub reason: String,
}

/// A tank filled with rolls that may share it.
struct Load<'a> {
    jobs: Vec<&'a Job>,
    tank: &'a Tank,
    mix: Friendly,
    why: String,
}

/// Groups the jobs and gives every run its time, sink and tank.
#[must_use]
pub(super) fn plan(facts: &Facts, jobs: &[Job]) -> (Vec<Planned>, Vec<LeftOver>) {
    let mut left = Vec::new();
    let mut loads = Vec::new();
    let mut waiting: Vec<&Job> = jobs.iter().collect();
    while let Some(first) = waiting.first().copied() {
        let (same, others): (Vec<&Job>, Vec<&Job>) =
            waiting.into_iter().partition(|j| j.family() == first.family());
        waiting = others;
        load_family(facts, same, &mut loads, &mut left);
    }
    let mut runs: Vec<Planned> = Vec::new();
    let mut fixer_left = facts.fixer_left_milli;
    for load in loads {
        let fixer_milli: i64 = load.jobs.iter().map(|j| j.fixer_milli()).sum();
        let reason = if fixer_milli > fixer_left {
            "The fixer cannot take it. Mix a fresh bath, then plan again."
        } else if let Some(run) = place(facts, &load, &runs, fixer_milli) {
            fixer_left -= fixer_milli;
            runs.push(run);
            continue;
        } else {
            "No sink and tank are free long enough in that day's opening hours. Try another day."
        };
        left.extend(load.jobs.iter().map(|j| left_over(j, reason)));
    }
    runs.sort_by_key(|r| (r.from, r.tank_id));
    (runs, left)
}

fn left_over(job: &Job, reason: &str) -> LeftOver {
    LeftOver { ticket: job.roll.ticket.clone(), reason: reason.to_owned() }
}

/// Fills tanks with rolls of one family until none is left.
fn load_family<'a>(
    facts: &'a Facts,
    mut family: Vec<&'a Job>,
    loads: &mut Vec<Load<'a>>,
    left: &mut Vec<LeftOver>,
) {
    while !family.is_empty() {
        let best = facts
            .tanks
            .iter()
            .filter_map(|tank| fill(facts, tank, &family))
            .max_by_key(|load| (load.jobs.len(), std::cmp::Reverse(load.mix.split.total())));
        let Some(load) = best else {
            let first = family.remove(0);
            left.push(left_over(
                first,
                "No tank holds enough developer for it. Use a stronger dilution or a larger tank.",
            ));
            continue;
        };
        let taken: Vec<i64> = load.jobs.iter().map(|j| j.roll.id).collect();
        family.retain(|j| !taken.contains(&j.roll.id));
        loads.push(load);
    }
}

/// As many of these rolls as this tank takes, in their order.
fn fill<'a>(facts: &'a Facts, tank: &'a Tank, family: &[&'a Job]) -> Option<Load<'a>> {
    let mut best: Option<Load<'a>> = None;
    let mut jobs: Vec<&Job> = Vec::new();
    for job in family {
        jobs.push(job);
        match mix(facts, tank, &jobs) {
            Some(mix) => {
                let why = format!(
                    "{} of one developer, temperature, agitation and time in {}.",
                    if jobs.len() == 1 {
                        "One roll".to_owned()
                    } else {
                        format!("{} rolls", jobs.len())
                    },
                    tank.name
                );
                best = Some(Load { jobs: jobs.clone(), tank, mix, why });
            }
            None => {
                jobs.pop();
            }
        }
    }
    best
}

/// The developer this tank needs for these rolls, if they fit.
fn mix(facts: &Facts, tank: &Tank, jobs: &[&Job]) -> Option<Friendly> {
    let mut height = 0;
    let mut reels = Vec::new();
    for kind in &facts.reels {
        let on_it: Vec<&&Job> = jobs.iter().filter(|j| j.format.reel == kind.kind).collect();
        let count = i64::try_from(on_it.len()).ok()?;
        if count > kind.owned {
            return None;
        }
        height += count * kind.height_mm;
        let milli: i64 = on_it.iter().map(|j| j.format.milli).sum();
        let cover = Some(ml(kind.cover_ml)?);
        reels.push(LoadedReels {
            reel: ReelVolumes { inversion: cover, rotary: None },
            reels: u16::try_from(count).ok()?,
            film: RollEquivalents::new(f64::from(i32::try_from(milli).ok()?) / 1000.0).ok()?,
        });
    }
    let all: usize = reels.iter().map(|r| usize::from(r.reels)).sum();
    let fits =
        all == jobs.len() && height <= tank.stack_mm && i64::try_from(all).ok()? <= tank.max_reels;
    if !fits {
        return None;
    }
    let figures = FillFigures {
        base_ml: ml(tank.base_ml)?,
        min_ml: ml(tank.min_ml)?,
        max_ml: ml(tank.max_ml)?,
    };
    let volumes = TankVolumes { inversion: Some(Fill::new(figures).ok()?), rotary: None };
    let developer = &jobs.first()?.recipe.developer;
    let dilution = Dilution::new(f64::from(i32::try_from(developer.water_parts).ok()?)).ok()?;
    let least = u64::try_from(developer.least_ul_per_roll).ok()?;
    let minimum_per_roll = Millilitres::from_microlitres(least).ok()?;
    reels.retain(|r| r.reels > 0);
    let loaded = LoadedTank { tank: &volumes, reels: &reels, method: Method::Inversion };
    let need = loaded.developer(&DeveloperUse { dilution, minimum_per_roll }).ok()?;
    Some(friendly(&need, dilution, &Measuring::usual()))
}

fn ml(whole: i64) -> Option<Millilitres> {
    Millilitres::from_microlitres(u64::try_from(whole).ok()?.checked_mul(1000)?).ok()
}

/// How long a run takes from its start until the last roll hangs.
fn run_s(job: &Job, fix_s: i64, rolls: i64) -> i64 {
    job.recipe.pre_soak_s
        + job.recipe.time_s
        + STOP_S
        + fix_s
        + RINSE_S
        + WASH_AID_S
        + WASH_S
        + WETTING_S
        + HANG_S * rolls
}

/// The first time at which a sink, this tank and the one person are free.
fn place(facts: &Facts, load: &Load<'_>, runs: &[Planned], fixer_milli: i64) -> Option<Planned> {
    let rolls = i64::try_from(load.jobs.len()).ok()?;
    let loading = LOAD_TANK_S + LOAD_ROLL_S * rolls;
    let lasts = run_s(load.jobs.first()?, facts.fix_s, rolls);
    for open in &facts.open {
        let mut begin = open.from.max(facts.now);
        begin = Moment(
            begin.0.div_euclid(GRID_S) * GRID_S
                + if begin.0.rem_euclid(GRID_S) == 0 { 0 } else { GRID_S },
        );
        while begin.plus(loading + lasts) <= open.to {
            let from = begin.plus(loading);
            let to = from.plus(lasts);
            let person = Span { from: begin, to };
            let busy = runs.iter().any(|r| Span { from: r.load_from, to: r.to }.meets(&person));
            let in_tank = Span { from: begin, to: to.plus(TANK_GAP_S) };
            let tank_held =
                facts.tanks_held.iter().any(|h| h.of_id == load.tank.id && h.span.meets(&in_tank))
                    || runs.iter().any(|r| {
                        r.tank_id == load.tank.id
                            && Span { from: r.load_from, to: r.to.plus(TANK_GAP_S) }.meets(&in_tank)
                    });
            let at_sink = Span { from, to: to.plus(SINK_GAP_S) };
            let sink = facts.sinks.iter().find(|s| has_place(facts, s, runs, &at_sink));
            if let (false, false, Some(sink)) = (busy, tank_held, sink) {
                return Some(Planned {
                    jobs: load.jobs.iter().map(|j| (*j).clone()).collect(),
                    sink_id: sink.id,
                    tank_id: load.tank.id,
                    load_from: begin,
                    from,
                    to,
                    concentrate_ul: i64::try_from(load.mix.split.concentrate.microlitres()).ok()?,
                    water_ul: i64::try_from(load.mix.split.water.microlitres()).ok()?,
                    fixer_milli,
                    why: load.why.clone(),
                });
            }
            begin = begin.plus(GRID_S);
        }
    }
    None
}

/// Whether one place at the sink is free all the while.
fn has_place(facts: &Facts, sink: &Sink, runs: &[Planned], span: &Span) -> bool {
    (1..=sink.places).any(|seat| {
        !facts.sinks_held.iter().any(|h| h.of_id == sink.id && h.seat == seat && h.span.meets(span))
    }) && !runs.iter().any(|r| {
        r.sink_id == sink.id && Span { from: r.from, to: r.to.plus(SINK_GAP_S) }.meets(span)
    })
}
