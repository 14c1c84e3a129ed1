//! The ledger of the day: what the room gives and what runs take of it, added up over the day.
//!
//! Sets of runs that the sums allow are looked for best first, objective by objective, with
//! linear bounds that rule out most of them at once (`linear`, `whole`). Of each set found the
//! room is asked exactly (`sequence`, `sets`); a set it has no day for is passed over. So the
//! first set that has a day is the best, and the sums prove it.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

mod alone;
mod hands;
mod linear;
mod reels;
mod rows;
mod sequence;
#[cfg(test)]
mod tests;
mod whole;

use std::collections::HashMap;

use super::{
    super::{bounds::Settled, placing::Placed, problem::Problem},
    Complete, Ground, Started, Worth,
    sets::{GoOn, Sets},
    timetable::{Answer, Scheduled},
    types::Mixtures,
};
use rows::{Choice, Rows};
use sequence::Sequence;
use whole::{Outcome, Verdict};

impl Ground {
    /// Looks for a better day among the sets of runs that the day's sums allow, and proves bounds
    /// from those that hold already. Nothing where there are too many sums.
    pub(in super::super) fn summed(
        &self,
        problem: &Problem<'_>,
        settled: &Settled,
        (known, least): (Worth, Worth),
        (work, go_on): (u64, GoOn<'_>),
    ) -> Option<(Option<Vec<Placed>>, Worth)> {
        let mut nobody = |_: u64| true;
        let asked = Sets::new(problem, &self.mixtures, &self.reach, (work / 4, go_on));
        let ledger = Ledger::new(problem, settled, &self.mixtures, asked, (known, work));
        let booked = ledger.book(least)?;
        let search = Complete::new(problem, self, settled, (known, 0, &mut nobody));
        Some((booked.better.map(|day| search.placed(&day)), booked.least))
    }
}

/// What the ledger came to.
pub(super) struct Booked {
    /// A better day than the one known before.
    pub(super) better: Option<Scheduled>,
    /// A lower bound of objectives 1 to 4, each for days that meet those before.
    pub(super) least: Worth,
}

/// A set of runs that is asked of the room, and the most late rolls there may be.
type Question = (Vec<(usize, usize, i64)>, usize);

pub(super) struct Ledger<'a, 'd> {
    problem: &'a Problem<'d>,
    settled: &'a Settled,
    mixtures: &'a Mixtures,
    sets: Sets<'a, 'd>,
    asked: HashMap<Question, Answered>,
    best: Worth,
    found: Option<Scheduled>,
    /// Work that is left, and what it was at first.
    work: u64,
    most: u64,
}

/// What the room said to a set of runs.
#[derive(Clone)]
enum Answered {
    Day(Scheduled),
    None,
    Unknown,
}

impl<'a, 'd> Ledger<'a, 'd> {
    pub(super) fn new(
        problem: &'a Problem<'d>,
        settled: &'a Settled,
        mixtures: &'a Mixtures,
        sets: Sets<'a, 'd>,
        (known, work): (Worth, u64),
    ) -> Self {
        let asked = HashMap::new();
        Self { problem, settled, mixtures, sets, asked, best: known, found: None, work, most: work }
    }

    /// The best day it finds and the bounds it proves, from bounds that are known already.
    pub(super) fn book(mut self, least: Worth) -> Option<Booked> {
        let mut rows = Rows::of(self.problem, self.mixtures)?;
        if alone::alone(self.problem, self.mixtures) {
            alone::add(&mut rows, self.problem, self.mixtures);
        } else if self.problem.day.people.len() == 1 {
            hands::add(&mut rows, self.problem, self.mixtures);
        }
        let choices = rows.choices.len();
        rows.groups.push((0..choices).collect());
        let least = self.objectives(&rows, least);
        Some(Booked { better: self.found, least })
    }

    /// One objective after another, each within what those before are worth at best.
    fn objectives(&mut self, rows: &Rows, least: Worth) -> Worth {
        if self.best.2 == 0 {
            return least;
        }
        let left = self.weight(rows, least.0);
        if left < self.best.0 {
            return (left, 0, 0, 0);
        }
        let (known_late, known_runs) = if left == least.0 { (least.1, least.2) } else { (0, 0) };
        let late = self.fewest(rows, (known_late, self.best.1), &|_, most| Some(most));
        let late = late.min(self.best.1);
        if late < self.best.1 {
            return (left, late, known_runs, 0);
        }
        let column = rows.runs;
        let narrow = |rows: &mut Rows, most: usize| {
            rows.sheet.bounds[column].1 = most as i64;
            None
        };
        let runs = self.fewest(rows, (known_runs.max(1), self.best.2), &narrow);
        let runs = runs.min(self.best.2);
        if runs < self.best.2 {
            return (left, late, runs, 0);
        }
        let known_cost =
            if (left, late, runs) == (least.0, least.1, least.2) { least.3 } else { 0 };
        (left, late, runs, self.cost(rows).max(known_cost))
    }

    /// The least weight left over, tried from below.
    fn weight(&mut self, rows: &Rows, least: i64) -> i64 {
        const LEVELS: i64 = 200;
        let weights = self.mixtures.kinds.iter().map(|kind| i128::from(kind.weight));
        let step = i64::try_from(weights.fold(0, common)).unwrap_or(1).max(1);
        // Days differ in this by a multiple of the step.
        let first = self.best.0 - (self.best.0 - least).div_euclid(step) * step;
        let (mut proven, mut unbroken) = (first, true);
        for level in 0..LEVELS {
            let left = first.saturating_add(step.saturating_mul(level));
            if left >= self.best.0 {
                break;
            }
            let mut rows = rows.clone();
            rows.leave(self.mixtures, self.settled, self.problem, left);
            let outcome = self.any(&rows, usize::MAX);
            if outcome.found.is_some() || self.work == 0 {
                break;
            }
            unbroken &= outcome.least == i64::MAX;
            if unbroken {
                proven = left.saturating_add(step);
            }
        }
        proven.min(self.best.0)
    }

    /// The fewest late rolls, or runs, among days that are as good in what comes before; `narrow`
    /// says it with a row, or answers with the most late rolls allowed.
    fn fewest(
        &mut self,
        rows: &Rows,
        (least, known): (usize, usize),
        narrow: &dyn Fn(&mut Rows, usize) -> Option<usize>,
    ) -> usize {
        let mut proven = least;
        for most in least..known {
            let mut rows = rows.clone();
            rows.leave(self.mixtures, self.settled, self.problem, self.best.0);
            let limit = narrow(&mut rows, most).unwrap_or(self.best.1);
            let outcome = self.any(&rows, limit);
            if outcome.found.is_some() || self.work == 0 {
                break;
            }
            if outcome.least == i64::MAX && proven == most {
                proven = most + 1;
            }
        }
        proven
    }

    /// The least cost among days that are as good in what comes before.
    fn cost(&mut self, rows: &Rows) -> i128 {
        let of = |choice: &Choice| self.mixtures.all[choice.at].costs[choice.tank].unwrap_or(0);
        let unit = rows.choices.iter().map(of).fold(0, common);
        let priced = |choice: &Choice| i64::try_from(of(choice).checked_div(unit).unwrap_or(0));
        let below = self.best.3.checked_div(unit).and_then(|cost| i64::try_from(cost).ok());
        let (Some(below), true) =
            (below, rows.choices.iter().all(|at| priced(at).is_ok_and(|price| price < 1 << 40)))
        else {
            return 0;
        };
        let mut rows = rows.clone();
        rows.leave(self.mixtures, self.settled, self.problem, self.best.0);
        rows.sheet.bounds[rows.runs].1 = self.best.2 as i64;
        let mut prices: Vec<i64> =
            rows.choices.iter().map(|choice| priced(choice).unwrap_or(0)).collect();
        prices.resize(rows.sheet.bounds.len(), 0);
        rows.sheet.prices = prices;
        let outcome = self.least(&rows, (below, i64::MIN), self.best.1);
        i128::from(outcome.least.min(outcome.found.unwrap_or(below))) * unit
    }

    /// Any set of runs within the rows that has a day; those that take little time first.
    fn any(&mut self, rows: &Rows, limit: usize) -> Outcome {
        let mut rows = rows.clone();
        rows.sheet.prices.clone_from(&rows.time);
        rows.sheet.prices.resize(rows.sheet.bounds.len(), 0);
        self.least(&rows, (i64::MAX, i64::MAX), limit)
    }

    /// Searches with what work is left; asking the room takes its part of it.
    fn least(&mut self, rows: &Rows, wanted: (i64, i64), limit: usize) -> Outcome {
        let work = self.work;
        let mut ask = |values: Option<&[i64]>| {
            let verdict = match values {
                Some(values) => self.ask(rows, values, limit),
                None => Verdict::Perhaps,
            };
            if !self.sets.goes_on(self.most - self.work) {
                self.work = 0;
            }
            (verdict, work - self.work)
        };
        let (outcome, took) = whole::least(&rows.sheet, &rows.groups, wanted, work, &mut ask);
        self.work = self.work.saturating_sub(took);
        outcome
    }

    /// Asks the room for a day of a set of runs; a better one is kept.
    fn ask(&mut self, rows: &Rows, values: &[i64], limit: usize) -> Verdict {
        let chosen = || rows.choices.iter().zip(values).filter(|(_, n)| **n > 0);
        let mixtures = self.mixtures;
        let mut runs: Vec<Started<'a>> = Vec::new();
        for (choice, n) in chosen() {
            let mixture = &mixtures.all[choice.at];
            let run = Started { mixture, at: choice.at, tank: choice.tank, start: 0 };
            runs.extend(std::iter::repeat_n(run, *n as usize));
        }
        let mut key: Vec<(usize, usize, i64)> = chosen()
            .map(|(choice, n)| (mixtures.all[choice.at].likeness, choice.tank, *n))
            .collect();
        key.sort_unstable();
        let known = self.asked.get(&(key.clone(), limit)).cloned();
        let answered = match known {
            Some(Answered::Day(_)) | None => self.day(&runs, limit),
            Some(other) => other,
        };
        let verdict = match &answered {
            Answered::Day(day) => {
                self.keep(day, &runs);
                Verdict::Yes
            }
            Answered::None => Verdict::No,
            Answered::Unknown => Verdict::Perhaps,
        };
        self.asked.insert((key, limit), answered);
        verdict
    }

    fn keep(&mut self, day: &Scheduled, runs: &[Started<'a>]) {
        let all: i64 = self.problem.items.iter().map(|item| item.weight).sum();
        let inside: i64 = runs.iter().map(|run| run.mixture.weight).sum();
        let cost = runs.iter().map(|run| run.mixture.costs[run.tank].unwrap_or(0)).sum();
        let worth = (all - inside, day.late, runs.len(), cost);
        if worth < self.best {
            self.best = worth;
            self.found = Some(day.clone());
        }
    }

    fn day(&mut self, runs: &[Started<'a>], limit: usize) -> Answered {
        const STEPS: u64 = 200_000;
        const EACH: u64 = 100;
        if let Some(sequence) = Sequence::of(self.problem, runs, limit) {
            let (answer, took) = sequence.find(STEPS);
            self.work = self.work.saturating_sub(took / EACH);
            return match answer {
                Answer::Found(day) => Answered::Day(day),
                Answer::None => Answered::None,
                Answer::Unknown => Answered::Unknown,
            };
        }
        self.sets.complete = true;
        match self.sets.day(runs, limit) {
            Some(day) => Answered::Day(day),
            None if self.sets.complete => Answered::None,
            None => Answered::Unknown,
        }
    }
}

/// The greatest number that measures both.
fn common(one: i128, two: i128) -> i128 {
    if two == 0 { one } else { common(two, one % two) }
}
