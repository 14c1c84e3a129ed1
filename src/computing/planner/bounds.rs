//! What no plan can beat, proven without looking at the whole day at once.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::BTreeSet;

use super::{
    grouping::Grouping,
    placing::{Batch, Phases},
    problem::Problem,
    room::Room,
    schedule::{Taste, place},
};

/// Lower bounds of objectives 1 to 4, each valid for plans that meet those before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Bounds {
    pub(super) left_weight: i64,
    pub(super) late: usize,
    pub(super) runs: usize,
    pub(super) cost: i128,
}

/// What is settled about rolls before any search.
#[derive(Debug, Clone, Default)]
pub(super) struct Settled {
    /// No plan runs these: no tank holds them, or even an empty room has no time for them.
    pub(super) never: BTreeSet<usize>,
    /// Late in every plan that runs them.
    pub(super) late: BTreeSet<usize>,
}

/// Looks at each roll alone in the empty room.
pub(super) fn settle(problem: &Problem<'_>, empty: &Room) -> Settled {
    let mut settled = Settled::default();
    for roll in 0..problem.items.len() {
        let rolls = match problem.items[roll].preloaded {
            Some(tank) => problem.day.tanks[tank].preloaded.clone(),
            None => vec![roll],
        };
        let found = Batch::of(problem, rolls)
            .and_then(|batch| place(problem, empty, &batch, Taste::Prompt));
        match found {
            None => drop(settled.never.insert(roll)),
            Some(run) if run.end + problem.day.steps.ready_after_s > problem.items[roll].due => {
                settled.late.insert(roll);
            }
            Some(_) => {}
        }
    }
    settled
}

/// The least weight that a supply leaves over when each roll takes so much of it.
fn unserved(rolls: &[(i64, i128)], supply: i128) -> i64 {
    let total: i128 = rolls.iter().map(|(_, load)| load).sum();
    if total <= supply {
        return 0;
    }
    let mut rolls = rolls.to_vec();
    rolls.sort_by(|a, b| (i128::from(a.0) * b.1).cmp(&(i128::from(b.0) * a.1)).then(a.cmp(b)));
    let (mut over, mut weight_times) = (total - supply, 0_i64);
    for (weight, load) in rolls.iter().filter(|(_, load)| *load > 0) {
        if over <= 0 {
            break;
        }
        let part = over.min(*load);
        let share = (i128::from(*weight) * part + load - 1) / load;
        weight_times += share as i64;
        over -= part;
    }
    let lightest = rolls.iter().map(|(weight, _)| *weight).min().unwrap_or(0);
    (weight_times).max(lightest)
}

/// The least weight left over because something of the day is used up.
pub(super) fn left_over(problem: &Problem<'_>, settled: &Settled) -> i64 {
    let forced: i64 = settled.never.iter().map(|roll| problem.items[*roll].weight).sum();
    let free: Vec<usize> =
        (0..problem.items.len()).filter(|roll| !settled.never.contains(roll)).collect();
    let mut most = 0;
    if let Some(fixer) = problem.day.fixer {
        let loads: Vec<(i64, i128)> = free
            .iter()
            .map(|roll| (problem.items[*roll].weight, problem.items[*roll].fixer))
            .collect();
        most = most.max(unserved(&loads, fixer.remaining.wide() * 1_000_000));
    }
    for (at, developer) in problem.day.developers.iter().enumerate() {
        let Some(bath) = developer.bath else { continue };
        let inside = free
            .iter()
            .filter(|roll| problem.families[problem.items[**roll].family].developer == at);
        let loads: Vec<(i64, i128)> = inside
            .map(|roll| (problem.items[*roll].weight, problem.items[*roll].equivalents))
            .collect();
        most = most.max(unserved(&loads, bath.remaining.wide()));
    }
    for kind in 0..problem.day.reels.len() {
        most = most.max(reel_cycles(problem, &free, kind));
    }
    most = most.max(hands(problem, &free)).max(sinks(problem, &free));
    forced + most
}

/// The shortest run of any of the rolls, from start to end, and of hands' work in it without
/// the hanging.
fn shortest(problem: &Problem<'_>, rolls: &[usize]) -> Option<(i64, i64)> {
    let one = |roll: &usize| {
        let item = &problem.items[*roll];
        let load = problem.load(&[*roll])?;
        let batch = Batch {
            rolls: vec![*roll],
            family: item.family,
            load,
            time: item.least,
            tanks: Vec::new(),
            preloaded: None,
        };
        let phases = Phases::of(problem, &batch);
        let hang = problem.day.steps.hang_s_per_roll;
        let work: i64 = phases.hands.iter().map(|span| span.to - span.from).sum();
        Some((phases.end, work - hang))
    };
    let both: Vec<(i64, i64)> = rolls.iter().filter_map(one).collect();
    Some((both.iter().map(|(end, _)| *end).min()?, both.iter().map(|(_, work)| *work).min()?))
}

/// A reel goes round so often in a day, and no oftener.
fn reel_cycles(problem: &Problem<'_>, free: &[usize], kind: usize) -> i64 {
    let reel = &problem.day.reels[kind];
    let users: Vec<usize> =
        free.iter().copied().filter(|roll| problem.items[*roll].reel == kind).collect();
    let (Some((run, _)), Some(first), Some(last)) =
        (shortest(problem, &users), problem.day.open.first(), problem.day.open.last())
    else {
        return 0;
    };
    let preloaded = users.iter().any(|roll| problem.items[*roll].preloaded.is_some());
    let loading = if preloaded { 0 } else { problem.day.loading_per_tank_s + reel.loading_s };
    let cycle = loading + run + reel.drying_s;
    let window = last.to - first.from - loading - run;
    let rounds = if window < 0 { 0 } else { window / cycle.max(1) + 1 };
    let loads: Vec<(i64, i128)> = users
        .iter()
        .map(|roll| (problem.items[*roll].weight, i128::from(problem.items[*roll].reels)))
        .collect();
    unserved(&loads, i128::from(rounds) * i128::from(reel.owned))
}

/// The most rolls that one run can hold.
fn fullest(problem: &Problem<'_>, rolls: &[usize]) -> i64 {
    let day = problem.day;
    let least = rolls.iter().map(|roll| problem.items[*roll].height).min().unwrap_or(1).max(1);
    let in_tank = day.tanks.iter().map(|tank| {
        i64::try_from(tank.stack_mm.wide() / least).unwrap_or(i64::MAX).min(tank.max_reels)
    });
    let most = in_tank.max().unwrap_or(1).max(1);
    day.rules.max_rolls_per_run.map_or(most, |limit| most.min(limit))
}

/// All hands together have so many seconds; every roll takes some, and every run some more.
fn hands(problem: &Problem<'_>, free: &[usize]) -> i64 {
    let day = problem.day;
    let hours = day.people.iter().flat_map(|person| &person.hours);
    let supply: i64 = hours.map(|span| span.to - span.from).sum();
    let loaded = free.iter().filter(|roll| problem.items[**roll].preloaded.is_none()).count();
    let Some((_, work)) = shortest(problem, free).filter(|_| loaded == free.len()) else {
        return 0;
    };
    let full = fullest(problem, free);
    let per_run = i128::from(work + day.loading_per_tank_s);
    let loads: Vec<(i64, i128)> = free
        .iter()
        .map(|roll| {
            let item = &problem.items[*roll];
            let own = i128::from(day.steps.hang_s_per_roll + item.loading);
            (item.weight, own * i128::from(full) + per_run)
        })
        .collect();
    unserved(&loads, i128::from(supply) * i128::from(full))
}

/// Sink places have so many seconds, and every run takes its part of them.
fn sinks(problem: &Problem<'_>, free: &[usize]) -> i64 {
    let day = problem.day;
    let Some((run, _)) = shortest(problem, free) else { return 0 };
    let supply: i64 = day
        .sinks
        .iter()
        .map(|sink| {
            let windows = super::day::gaps(&day.open, &sink.busy);
            let fits = |span: &super::day::Span| {
                ((span.to - span.from - run) / (run + day.steps.sink_gap_s) + 1).max(0)
            };
            let usable = windows.iter().filter(|span| span.to - span.from >= run);
            sink.places * usable.map(fits).sum::<i64>()
        })
        .sum();
    let full = fullest(problem, free);
    let loads: Vec<(i64, i128)> =
        free.iter().map(|roll| (problem.items[*roll].weight, 1)).collect();
    unserved(&loads, i128::from(supply) * i128::from(full))
}

/// Bounds of the later objectives, given what the first leaves over beyond the forced.
pub(super) fn after(
    problem: &Problem<'_>,
    settled: &Settled,
    groupings: &[Grouping],
    left_weight: i64,
) -> Bounds {
    let forced: i64 = settled.never.iter().map(|roll| problem.items[*roll].weight).sum();
    let runs: usize = groupings.iter().map(|grouping| grouping.least_runs).sum();
    let cost = groupings.iter().map(|grouping| grouping.least_cost).sum();
    let free = (0..problem.items.len()).filter(|roll| !settled.never.contains(roll));
    let lightest = free.map(|roll| problem.items[roll].weight).min().unwrap_or(1).max(1);
    let dropped = usize::try_from((left_weight - forced) / lightest).unwrap_or(0);
    if dropped == 0 {
        return Bounds { left_weight, late: settled.late.len(), runs, cost };
    }
    Bounds {
        left_weight,
        late: settled.late.len().saturating_sub(dropped),
        runs: runs.saturating_sub(dropped),
        cost: 0,
    }
}
