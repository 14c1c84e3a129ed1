//! Turns an order of runs into a day: each as early as the room allows.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    clock::Seconds,
    placing::{Attempt, Batch, Phases, Placed},
    problem::Problem,
    room::Room,
};

/// Objectives in their order: weight left over, late rolls, runs, cost, stretch, end.
pub(super) type Score = (i64, usize, usize, i128, i64, Seconds);

/// Which tank is taken where several would do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Taste {
    /// The one that wastes least developer.
    Thrifty,
    /// The one that is free first.
    Prompt,
}

/// A day, complete.
#[derive(Debug, Clone)]
pub(super) struct Outcome {
    pub(super) placed: Vec<Placed>,
    pub(super) left: Vec<usize>,
    pub(super) score: Score,
    pub(super) room: Room,
}

impl Batch {
    /// The rolls as one run, or nothing where rules 1 to 5 forbid it.
    pub(super) fn of(problem: &Problem<'_>, mut rolls: Vec<usize>) -> Option<Self> {
        let family = problem.items[*rolls.first()?].family;
        if rolls.iter().any(|roll| problem.items[*roll].family != family) {
            return None;
        }
        let load = problem.load(&rolls)?;
        let preloaded = problem.items[rolls[0]].preloaded;
        if let Some(tank) = preloaded {
            let inside = &problem.day.tanks[tank].preloaded;
            if inside.len() != rolls.len() || !rolls.iter().all(|roll| inside.contains(roll)) {
                return None;
            }
            rolls.clone_from(inside);
        } else {
            if rolls.iter().any(|roll| problem.items[*roll].preloaded.is_some()) {
                return None;
            }
            rolls.sort_by_key(|roll| (std::cmp::Reverse(problem.items[*roll].height), *roll));
        }
        let developer = problem.families[family].developer;
        let all = preloaded.map_or(0..problem.day.tanks.len(), |tank| tank..tank + 1);
        let mut tanks: Vec<(i128, usize)> = all
            .filter_map(|tank| {
                let poured = problem.poured(family, &load, tank)?;
                Some((problem.cost(developer, poured.fine_ml), tank))
            })
            .collect();
        tanks.sort_unstable();
        let time = problem.time(&load);
        (!tanks.is_empty()).then_some(Self { rolls, family, load, time, tanks, preloaded })
    }
}

/// How many of the batch's rolls are late when it ends then.
fn late(problem: &Problem<'_>, batch: &Batch, end: Seconds) -> usize {
    let ready = end + problem.day.steps.ready_after_s;
    batch.rolls.iter().filter(|roll| problem.items[**roll].due < ready).count()
}

/// The best place for a batch in the room as it is.
pub(super) fn place(
    problem: &Problem<'_>,
    room: &Room,
    batch: &Batch,
    taste: Taste,
) -> Option<Placed> {
    let phases = Phases::of(problem, batch);
    let mut best: Option<((usize, i128, Seconds), Placed)> = None;
    let mut limit = Seconds::MAX;
    for (at, (cost, tank)) in batch.tanks.iter().enumerate() {
        if let (Taste::Thrifty, Some(((0, dear, _), _))) = (taste, &best) {
            if cost > dear {
                break;
            }
        } else if taste == Taste::Thrifty && at > 0 && batch.tanks[at - 1].0 < *cost {
            limit = Seconds::MAX;
        }
        for person in 0..problem.day.people.len() {
            let attempt = Attempt { problem, room, batch, phases: &phases, tank: *tank, person };
            let Some((start, sink, loading)) = attempt.first(0, limit) else { continue };
            limit = start;
            let end = start + phases.end;
            let late = late(problem, batch, end);
            let key = match taste {
                Taste::Thrifty => (late, *cost, start),
                Taste::Prompt => (late, i128::from(start), 0),
            };
            if best.as_ref().is_none_or(|(least, _)| key < *least) {
                let placed = Placed {
                    batch: batch.clone(),
                    tank: *tank,
                    cost: *cost,
                    sink,
                    person,
                    loading,
                    start,
                    end,
                };
                best = Some((key, placed));
            }
        }
    }
    best.map(|(_, placed)| placed)
}

/// What a batch asks of the room.
struct Ask {
    /// Runs of other times are not compared.
    times: (Seconds, Seconds, usize, Option<usize>),
    rolls: i64,
    loading: Seconds,
    ready: Seconds,
    cover: i128,
    reels: Vec<(usize, i64)>,
    tanks: Vec<usize>,
}

impl Ask {
    fn of(problem: &Problem<'_>, batch: &Batch) -> Self {
        let items = || batch.rolls.iter().map(|roll| &problem.items[*roll]);
        let family = &problem.families[batch.family];
        let mut tanks: Vec<usize> = batch.tanks.iter().map(|(_, tank)| *tank).collect();
        tanks.sort_unstable();
        Self {
            times: (family.pre_soak, batch.time, family.developer, batch.preloaded),
            rolls: batch.load.rolls,
            loading: items().map(|item| item.loading).sum(),
            ready: items().map(|item| item.ready).max().unwrap_or(0),
            cover: batch.load.asked.cover,
            reels: batch.reels(problem),
            tanks,
        }
    }

    /// Whether the other asks for as much of everything.
    fn within(&self, other: &Self) -> bool {
        let reels = |(kind, count): &(usize, i64)| {
            other.reels.iter().any(|(own, more)| own == kind && count <= more)
        };
        self.times == other.times
            && self.rolls <= other.rolls
            && self.cover <= other.cover
            && self.loading <= other.loading
            && self.ready <= other.ready
            && self.reels.iter().all(reels)
            && other.tanks.iter().all(|tank| self.tanks.contains(tank))
    }
}

/// Places batches in their order; what does not fit gives up rolls, then is left over.
pub(super) fn decode(problem: &Problem<'_>, empty: &Room, batches: &[(Batch, Taste)]) -> Outcome {
    let mut room = empty.clone();
    let (mut placed, mut left) = (Vec::with_capacity(batches.len()), Vec::new());
    let mut unfit: Vec<Ask> = Vec::new();
    for (batch, taste) in batches {
        let mut batch = batch.clone();
        loop {
            let ask = Ask::of(problem, &batch);
            // The room only gets fuller: what asks for no less than what found no place finds none.
            if !unfit.iter().any(|less| less.within(&ask)) {
                if let Some(found) = place(problem, &room, &batch, *taste) {
                    room.book(problem, &found);
                    placed.push(found);
                    break;
                }
                unfit.push(ask);
            }
            let Some(smaller) = lightened(problem, &mut batch, &mut left) else { break };
            batch = smaller;
        }
    }
    let score = score(problem, &placed, &left);
    Outcome { placed, left, score, room }
}

/// The day of runs that have their places already.
pub(super) fn settled(problem: &Problem<'_>, empty: &Room, mut placed: Vec<Placed>) -> Outcome {
    placed.sort_by_key(|run| (run.start, run.tank));
    let mut room = empty.clone();
    placed.iter().for_each(|run| room.book(problem, run));
    let inside = |roll: &usize| placed.iter().any(|run| run.batch.rolls.contains(roll));
    let left: Vec<usize> = (0..problem.items.len()).filter(|roll| !inside(roll)).collect();
    let score = score(problem, &placed, &left);
    Outcome { placed, left, score, room }
}

/// The batch without the roll that weighs least, which is left over.
fn lightened(problem: &Problem<'_>, batch: &mut Batch, left: &mut Vec<usize>) -> Option<Batch> {
    if batch.preloaded.is_some() {
        left.append(&mut batch.rolls);
        return None;
    }
    let lightest = (0..batch.rolls.len()).min_by_key(|at| {
        let item = &problem.items[batch.rolls[*at]];
        (item.weight, std::cmp::Reverse(item.due), std::cmp::Reverse(batch.rolls[*at]))
    })?;
    left.push(batch.rolls.remove(lightest));
    Batch::of(problem, batch.rolls.clone())
}

fn score(problem: &Problem<'_>, placed: &[Placed], left: &[usize]) -> Score {
    let weight = left.iter().map(|roll| problem.items[*roll].weight).sum();
    let late = placed.iter().map(|run| late(problem, &run.batch, run.end)).sum();
    let cost = placed.iter().map(|run| run.cost).sum();
    let stretch: f64 = placed.iter().map(|run| stretch(problem, &run.batch)).sum();
    let end = placed.iter().map(|run| run.end).max().unwrap_or(0);
    (weight, late, placed.len(), cost, (stretch * 1e12) as i64, end)
}

fn stretch(problem: &Problem<'_>, batch: &Batch) -> f64 {
    let of = |roll: &usize| (batch.time as f64 / problem.items[*roll].time as f64).ln().powi(2);
    batch.rolls.iter().map(of).sum()
}

/// The places of all late rolls, in the order of the file.
pub(super) fn late_rolls(problem: &Problem<'_>, placed: &[Placed]) -> Vec<usize> {
    let mut rolls: Vec<usize> = placed
        .iter()
        .flat_map(|run| {
            let ready = run.end + problem.day.steps.ready_after_s;
            run.batch.rolls.iter().copied().filter(move |roll| problem.items[*roll].due < ready)
        })
        .collect();
    rolls.sort_unstable();
    rolls
}
