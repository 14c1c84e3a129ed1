//! Sets of runs that the room has no day for, cut down to what is to blame, and kept: what asks
//! for as much as one of them has no day either.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use super::super::{super::problem::Problem, Started, types::Mixture};

/// A run of a refused set.
#[derive(Clone, Copy)]
struct Blamed<'m> {
    mixture: &'m Mixture,
    tank: usize,
    /// The fixer it takes there.
    fixer: i64,
}

/// All refused sets so far.
pub(super) struct Refusals<'m, 'd> {
    problem: &'m Problem<'d>,
    sets: Vec<(Vec<Blamed<'m>>, usize)>,
    /// Whether tanks differ for the room in the fixer they take only.
    tanks: bool,
    /// Whether hooks are never short: else a run that ends earlier may be no easier.
    hooks: bool,
}

/// With more sets than this looking through them takes too long.
const MOST: usize = 20_000;

impl<'m, 'd> Refusals<'m, 'd> {
    pub(super) fn new(problem: &'m Problem<'d>) -> Self {
        let rolls = i64::try_from(problem.items.len()).unwrap_or(i64::MAX);
        let hooks = problem.day.hanging.as_ref().is_none_or(|hanging| {
            rolls + hanging.busy.iter().map(|busy| busy.count).sum::<i64>() <= hanging.places
        });
        let tanks = problem.day.tanks.iter().all(|tank| tank.busy.is_empty());
        Self { problem, sets: Vec::new(), tanks, hooks }
    }

    /// Keeps a set that has no day with so many late rolls.
    pub(super) fn keep(&mut self, runs: &[Started<'m>], limit: usize) {
        let blamed = |run: &Started<'m>| Blamed {
            mixture: run.mixture,
            tank: run.tank,
            fixer: run.mixture.batch.fixer_volume(self.problem, run.tank),
        };
        if self.sets.len() < MOST {
            self.sets.push((runs.iter().map(blamed).collect(), limit));
        }
    }

    /// Places of runs that ask for as much as a refused set.
    pub(super) fn within(&self, runs: &[Started<'m>], limit: usize) -> Option<Vec<usize>> {
        self.sets.iter().filter(|(_, most)| *most >= limit).find_map(|(set, most)| {
            let mut taken = Vec::with_capacity(set.len());
            self.matched((set, *most), runs, &mut taken).then_some(taken)
        })
    }

    /// Finds another run for each of a set, one after another. What shared a tank must share one
    /// again; what did not may.
    fn matched(
        &self,
        (set, most): (&[Blamed<'m>], usize),
        runs: &[Started<'m>],
        taken: &mut Vec<usize>,
    ) -> bool {
        let Some(blamed) = set.get(taken.len()) else { return true };
        let shared = set[..taken.len()].iter().position(|before| before.tank == blamed.tank);
        let tank = match shared {
            Some(before) => Some(runs[taken[before]].tank),
            None => (!self.tanks).then_some(blamed.tank),
        };
        for (at, run) in runs.iter().enumerate() {
            let fits = tank.is_none_or(|tank| tank == run.tank)
                && !taken.contains(&at)
                && self.asks_as_much(run.mixture, blamed.mixture, most == usize::MAX)
                && run.mixture.batch.fixer_volume(self.problem, run.tank) >= blamed.fixer;
            if fits {
                taken.push(at);
                if self.matched((set, most), runs, taken) {
                    return true;
                }
                taken.pop();
            }
        }
        false
    }

    /// Mixtures that ask for less than a run's, least first.
    pub(super) fn lighter<'a>(
        &self,
        all: &'a [Mixture],
        run: &Started<'m>,
        ever: bool,
    ) -> Vec<(usize, &'a Mixture)> {
        let own = run.mixture;
        let less = |mixture: &Mixture| {
            mixture.loading < own.loading
                && mixture.costs[run.tank].is_some()
                && self.asks_as_much(own, mixture, ever)
        };
        let mut found: Vec<(usize, &Mixture)> =
            all.iter().enumerate().filter(|(_, mixture)| less(mixture)).collect();
        found.sort_by_key(|(at, mixture)| (mixture.loading, mixture.rolls, *at));
        found.dedup_by_key(|(_, mixture)| mixture.likeness);
        found
    }

    /// Whether a run of one mixture always makes room for a run of the other in its place.
    fn asks_as_much(&self, one: &Mixture, other: &Mixture, ever: bool) -> bool {
        std::ptr::eq(one, other)
            || one.loading >= other.loading
                && one.length >= other.length
                && (self.hooks || one.length == other.length)
                && one.ready >= other.ready
                && one.rolls >= other.rolls
                && one.developer == other.developer
                && (one.developing, one.fixing) == (other.developing, other.fixing)
                && one.batch.load.asked.cover >= other.batch.load.asked.cover
                && covers(one, other)
                && reels(one, other)
                && (ever || as_late(one, other))
    }
}

/// The same windows, the last one as long.
fn covers(one: &Mixture, other: &Mixture) -> bool {
    let pairs = one.hands.iter().zip(&other.hands);
    one.hands.len() == other.hands.len()
        && pairs.enumerate().all(|(at, (own, other))| {
            let last = at + 1 == one.hands.len();
            own.from == other.from && (own.to == other.to || last && own.to >= other.to)
        })
}

/// As many reels of each kind.
fn reels(one: &Mixture, other: &Mixture) -> bool {
    other.reels.iter().all(|(kind, n)| one.reels.iter().any(|(own, more)| own == kind && more >= n))
}

/// As many rolls due by each time.
fn as_late(one: &Mixture, other: &Mixture) -> bool {
    let by = |mixture: &Mixture, time| -> usize {
        mixture.dues.iter().filter(|(due, _)| *due <= time).map(|(_, n)| n).sum()
    };
    other.dues.iter().all(|(due, _)| by(one, *due) >= by(other, *due))
}
