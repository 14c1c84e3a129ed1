//! The fewest runs, and among those the cheapest, for the rolls of one family: rules 1 to 5
//! without the room.
//!
//! The roll whose window closes first must be in some run; the search branches on what shares
//! that run, fullest first. It is exact until its work budget ends, and then still has a bound.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::needless_range_loop,
    clippy::type_complexity,
    clippy::too_many_arguments,
    reason = "the search kernel: places come from the lists they index"
)]

mod filling;

use std::collections::BTreeMap;

use super::{
    fullness::{Measure, Sizes},
    problem::{Load, Problem},
};

/// Rolls that no rule tells apart.
#[derive(Debug)]
struct Kind {
    rolls: Vec<usize>,
}

/// The best grouping found and what is proven about it.
#[derive(Debug, Clone, Default)]
pub(super) struct Grouping {
    pub(super) runs: Vec<Vec<usize>>,
    /// No grouping of these rolls has fewer runs.
    pub(super) least_runs: usize,
    /// No grouping with `least_runs` costs less.
    pub(super) least_cost: i128,
}

/// A partial grouping's worth: runs, then cost.
type Worth = (usize, i128);

struct Search<'a, 'd> {
    problem: &'a Problem<'d>,
    family: usize,
    kinds: Vec<Kind>,
    caps: Caps,
    best: Worth,
    best_runs: Vec<Vec<(usize, usize)>>,
    current: Vec<Vec<(usize, usize)>>,
    seen: BTreeMap<Vec<usize>, Worth>,
    work: u64,
    most: u64,
    go_on: &'a mut dyn FnMut(u64) -> bool,
    complete: bool,
    floor: Worth,
}

/// The most that any tank holds, by each measure, and the cheapest that any run can be.
struct Caps {
    measures: Vec<Measure>,
    cheapest_run: i128,
}

/// Groups the rolls of a family with at most so much work; each must fit some tank alone.
/// `go_on` is told how much was done, and may end the search.
pub(super) fn group(
    problem: &Problem<'_>,
    family: usize,
    rolls: &[usize],
    (work, go_on): (u64, &mut dyn FnMut(u64) -> bool),
) -> Grouping {
    if rolls.is_empty() {
        return Grouping::default();
    }
    let kinds = kinds(problem, rolls);
    let caps = caps(problem, family, rolls, &kinds);
    let counts: Vec<usize> = kinds.iter().map(|kind| kind.rolls.len()).collect();
    let samples: Vec<usize> = kinds.iter().map(|kind| kind.rolls[0]).collect();
    let sizes = Sizes::of(problem, family, &samples);
    let mut search = Search {
        problem,
        family,
        kinds,
        caps,
        best: (usize::MAX, 0),
        best_runs: Vec::new(),
        current: Vec::new(),
        seen: BTreeMap::new(),
        work,
        most: work,
        go_on,
        complete: true,
        floor: (0, 0),
    };
    if let Some(sizes) = &sizes {
        search.measure_by(sizes, &counts);
    }
    search.floor = search.bound(&counts);
    search.dive(&counts);
    for weights in sizes.iter().flat_map(|sizes| &sizes.weights) {
        if search.best > search.floor {
            sizes.iter().for_each(|sizes| search.fill(&counts, sizes, weights));
        }
    }
    if search.best > search.floor {
        search.branch(&counts, (0, 0));
    }
    search.finish()
}

fn kinds(problem: &Problem<'_>, rolls: &[usize]) -> Vec<Kind> {
    let by_owner = problem.day.rules.max_owners_per_run.is_some();
    let mut kinds: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for roll in rolls {
        let item = &problem.items[*roll];
        let owner = if by_owner { item.owner } else { 0 };
        let key = (
            (item.most, item.least, item.time, std::cmp::Reverse(item.height)),
            (item.reel, item.reels, item.cover, item.equivalents, item.alone, owner),
        );
        kinds.entry(key).or_default().push(*roll);
    }
    let mut kinds: Vec<Kind> = kinds.into_values().map(|rolls| Kind { rolls }).collect();
    for kind in &mut kinds {
        kind.rolls.sort_by_key(|roll| {
            let item = &problem.items[*roll];
            (item.due, item.ready, item.owner, *roll)
        });
    }
    kinds
}

/// The most that one run can hold by each measure.
fn caps(problem: &Problem<'_>, family: usize, rolls: &[usize], kinds: &[Kind]) -> Caps {
    let day = problem.day;
    let developer = &day.developers[problem.families[family].developer];
    let per_roll = super::developer_volume::parts(developer) * developer.min_per_roll_ml.wide();
    let most = |measure: &dyn Fn(&super::day::Tank) -> i128| day.tanks.iter().map(measure).max();
    let stack = most(&|tank| tank.stack_mm.wide()).unwrap_or(0);
    let reels = most(&|tank| i128::from(tank.max_reels)).unwrap_or(0);
    let count = day.rules.max_rolls_per_run.map_or(i128::MAX, i128::from);
    let liquid = most(&|tank| tank.max_ml.wide()).unwrap_or(0);
    let worth = if per_roll == 0 || developer.bath.is_some() {
        i128::MAX
    } else {
        liquid * 1_000_000_000_000 / per_roll
    };
    let alone = rolls.iter().filter_map(|roll| problem.cheapest(family, &problem.load(&[*roll])?));
    let cheapest_run = alone.map(|(cost, _)| cost).min().unwrap_or(0);
    let measure = |most: i128, of: &dyn Fn(&super::problem::Item) -> i128| Measure {
        weights: kinds.iter().map(|kind| of(&problem.items[kind.rolls[0]])).collect(),
        most,
    };
    let measures = vec![
        measure(stack, &|item| item.height),
        measure(reels, &|item| i128::from(item.reels)),
        measure(worth, &|item| item.equivalents),
        measure(count, &|_| 1),
    ];
    Caps { measures, cheapest_run }
}

impl Search<'_, '_> {
    /// A lower bound for what is left: fewest runs if rolls could be cut to pieces, by the
    /// measure that binds most, and the cheapest that so many runs can be.
    fn bound(&self, counts: &[usize]) -> Worth {
        let measured = self.caps.measures.iter().map(|measure| self.cut(counts, measure)).max();
        let runs = measured.unwrap_or(0);
        let cost = self.least_cost(counts, runs);
        (runs, cost)
    }

    /// Runs needed by one measure if rolls could be cut: serving windows by their ends is
    /// optimal then.
    fn cut(&self, counts: &[usize], measure: &Measure) -> usize {
        let cap = measure.most;
        let own = measure.weights.iter().zip(counts);
        let mut left: Vec<i128> = own.map(|(weight, count)| weight * *count as i128).collect();
        let mut runs = 0;
        for anchor in 0..left.len() {
            let (end, alone) = self.window(anchor);
            if alone {
                runs += counts[anchor];
                continue;
            }
            if left[anchor] <= 0 {
                continue;
            }
            let (whole, rest) = (left[anchor] / cap.max(1), left[anchor] % cap.max(1));
            runs += whole as usize;
            left[anchor] = 0;
            if rest == 0 && whole > 0 {
                continue;
            }
            runs += 1;
            let mut room = cap - rest;
            for other in anchor + 1..left.len() {
                let item = &self.problem.items[self.kinds[other].rolls[0]];
                if item.least <= end && !item.alone {
                    let taken = left[other].min(room);
                    left[other] -= taken;
                    room -= taken;
                }
            }
        }
        runs
    }

    fn window(&self, kind: usize) -> (i64, bool) {
        let item = &self.problem.items[self.kinds[kind].rolls[0]];
        (item.most, item.alone)
    }

    fn least_cost(&self, counts: &[usize], runs: usize) -> i128 {
        let day = self.problem.day;
        let at = self.problem.families[self.family].developer;
        let developer = &day.developers[at];
        let (mut cover, mut worth) = (0, 0);
        for (kind, count) in self.kinds.iter().zip(counts) {
            let item = &self.problem.items[kind.rolls[0]];
            cover += item.cover * *count as i128;
            worth += item.equivalents * *count as i128;
        }
        const FINE: i128 = 1_000_000_000_000;
        let base = day.tanks.iter().map(|tank| tank.base_ml.wide()).min().unwrap_or(0);
        let covered = (base * runs as i128 + cover) * FINE;
        let asked =
            super::developer_volume::parts(developer) * developer.min_per_roll_ml.wide() * worth;
        let volume = if developer.bath.is_some() { covered } else { covered.max(asked) };
        let cost = self.problem.cost(at, volume);
        cost.max(self.caps.cheapest_run.saturating_mul(runs as i128))
    }

    /// A first answer: fill run after run, windows that close first first.
    fn dive(&mut self, counts: &[usize]) {
        let mut left = counts.to_vec();
        let (mut runs, mut cost) = (Vec::new(), 0);
        while let Some(anchor) = left.iter().position(|count| *count > 0) {
            let mut load = Load::empty();
            let mut run: Vec<(usize, usize)> = Vec::new();
            for kind in anchor..left.len() {
                let mut taken = 0;
                while taken < left[kind] {
                    let Some(more) = self.holds(&load, kind) else { break };
                    load = more;
                    taken += 1;
                }
                if taken > 0 {
                    left[kind] -= taken;
                    run.push((kind, taken));
                }
            }
            let Some((price, _)) = self.problem.cheapest(self.family, &load) else { return };
            cost += price;
            runs.push(run);
        }
        if (runs.len(), cost) < self.best {
            self.best = (runs.len(), cost);
            self.best_runs = runs;
        }
    }

    fn holds(&self, load: &Load, kind: usize) -> Option<Load> {
        let more = self.problem.joined(load, self.kinds[kind].rolls[0])?;
        let tanks = 0..self.problem.day.tanks.len();
        let mut held =
            tanks.filter(|tank| self.problem.poured(self.family, &more, *tank).is_some());
        held.next().map(|_| more)
    }

    fn branch(&mut self, counts: &[usize], so_far: Worth) {
        let Some(anchor) = counts.iter().position(|count| *count > 0) else {
            if so_far < self.best {
                self.best = so_far;
                self.best_runs = self.current.clone();
            }
            return;
        };
        let rest = self.bound(counts);
        if (so_far.0 + rest.0, so_far.1 + rest.1) >= self.best || self.best <= self.floor {
            return;
        }
        if self.seen.get(counts).is_some_and(|seen| *seen <= so_far) {
            return;
        }
        self.seen.insert(counts.to_vec(), so_far);
        let Some(load) = self.holds(&Load::empty(), anchor) else { return };
        let mut patterns = Vec::new();
        let mut pattern = vec![(anchor, 1)];
        self.patterns(counts, anchor, &load, &mut pattern, &mut patterns);
        patterns.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
        for (_, cost, pattern) in patterns {
            if !self.step() {
                return;
            }
            let mut left = counts.to_vec();
            pattern.iter().for_each(|(kind, count)| left[*kind] -= count);
            self.current.push(pattern);
            self.branch(&left, (so_far.0 + 1, so_far.1 + cost));
            self.current.pop();
        }
    }

    /// Counts a step; whether there was work left for it.
    fn step(&mut self) -> bool {
        const TOLD: u64 = 256;
        let done = self.most - self.work;
        if self.work == 0 || (done.is_multiple_of(TOLD) && !(self.go_on)(done)) {
            self.work = 0;
            self.complete = false;
            return false;
        }
        self.work -= 1;
        true
    }

    /// All loads around an anchor: their height, their cost, and what they hold.
    fn patterns(
        &mut self,
        counts: &[usize],
        kind: usize,
        load: &Load,
        pattern: &mut Vec<(usize, usize)>,
        found: &mut Vec<(i128, i128, Vec<(usize, usize)>)>,
    ) {
        if !self.step() {
            return;
        }
        if let Some((cost, _)) = self.problem.cheapest(self.family, load) {
            found.push((load.height, cost, pattern.clone()));
        }
        for next in kind..counts.len() {
            let used = pattern.last().filter(|(last, _)| *last == next).map_or(0, |(_, n)| *n);
            if used >= counts[next] {
                continue;
            }
            let Some(more) = self.holds(load, next) else { continue };
            let before = pattern.clone();
            match pattern.last_mut() {
                Some((last, n)) if *last == next => *n += 1,
                _ => pattern.push((next, 1)),
            }
            self.patterns(counts, next, &more, pattern, found);
            *pattern = before;
        }
    }

    fn finish(self) -> Grouping {
        let mut places: Vec<std::vec::IntoIter<usize>> =
            self.kinds.iter().map(|kind| kind.rolls.clone().into_iter()).collect();
        let mut runs: Vec<Vec<usize>> = Vec::new();
        for run in &self.best_runs {
            let mut rolls = Vec::new();
            for (kind, count) in run {
                rolls.extend(places[*kind].by_ref().take(*count));
            }
            runs.push(rolls);
        }
        let proven = if self.complete { self.best } else { self.floor };
        let least_cost = if proven.0 == self.best.0 { proven.1.min(self.best.1) } else { proven.1 };
        Grouping { runs, least_runs: proven.0, least_cost }
    }
}
