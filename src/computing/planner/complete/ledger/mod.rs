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
mod asking;
mod hands;
mod linear;
mod reels;
mod refused;
mod rows;
mod sequence;
#[cfg(test)]
mod tests;
mod waves;
mod whole;

use std::collections::HashMap;

use super::{
    super::{bounds::Settled, placing::Placed, problem::Problem},
    Complete, Ground, Worth,
    sets::{GoOn, Sets},
    timetable::Scheduled,
    types::Mixtures,
};
use refused::Refusals;
use rows::{Choice, Rows};
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
        let asked = Sets::new(problem, &self.mixtures, &self.reach, (work, go_on));
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
    refusals: Refusals<'a, 'd>,
    best: Worth,
    found: Option<Scheduled>,
    /// Work that is left, what is put by for later, and what it was at first.
    work: u64,
    held: u64,
    most: u64,
}

/// An objective, and the rows for it.
struct Way<'w> {
    of: &'w dyn Fn(Worth) -> i64,
    rows: &'w Rows,
    /// Keeps the rows to so much at most and says how many rolls may be late.
    narrow: &'w dyn Fn(&Ledger<'_, '_>, &mut Rows, i64) -> usize,
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
        Self {
            problem,
            settled,
            mixtures,
            sets,
            asked: HashMap::new(),
            refusals: Refusals::new(problem),
            best: known,
            found: None,
            work,
            held: 0,
            most: work,
        }
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
        let late = self.late(rows, known_late);
        if late < self.best.1 {
            return (left, late, known_runs, 0);
        }
        let runs = self.runs(rows, known_runs.max(1));
        if runs < self.best.2 {
            return (left, late, runs, 0);
        }
        let known_cost =
            if (left, late, runs) == (least.0, least.1, least.2) { least.3 } else { 0 };
        (left, late, runs, self.cost(rows).max(known_cost))
    }

    /// The least weight left over.
    fn weight(&mut self, rows: &Rows, least: i64) -> i64 {
        let weights = self.mixtures.kinds.iter().map(|kind| i128::from(kind.weight));
        let step = i64::try_from(weights.fold(0, common)).unwrap_or(1).max(1);
        // Days differ in this by a multiple of the step.
        let first = self.best.0 - (self.best.0 - least).div_euclid(step) * step;
        let narrow = |ledger: &Ledger<'_, '_>, rows: &mut Rows, most: i64| {
            rows.leave(ledger.mixtures, ledger.settled, ledger.problem, most);
            usize::MAX
        };
        self.lowest((first, step), &Way { of: &|best| best.0, rows, narrow: &narrow })
    }

    /// The fewest late rolls among days that leave no more over.
    fn late(&mut self, rows: &Rows, least: usize) -> usize {
        let narrow = |ledger: &Ledger<'_, '_>, rows: &mut Rows, most: i64| {
            rows.leave(ledger.mixtures, ledger.settled, ledger.problem, ledger.best.0);
            most as usize
        };
        self.lowest((least as i64, 1), &Way { of: &|best| best.1 as i64, rows, narrow: &narrow })
            as usize
    }

    /// The fewest runs among days that are as good in what comes before.
    fn runs(&mut self, rows: &Rows, least: usize) -> usize {
        let narrow = |ledger: &Ledger<'_, '_>, rows: &mut Rows, most: i64| {
            rows.leave(ledger.mixtures, ledger.settled, ledger.problem, ledger.best.0);
            rows.sheet.bounds[rows.runs].1 = most;
            ledger.best.1
        };
        self.lowest((least as i64, 1), &Way { of: &|best| best.2 as i64, rows, narrow: &narrow })
            as usize
    }

    /// The least that an objective can be: from below with a part of the work, then a step below
    /// the best day as long as that is found, and from below again with what work is left.
    fn lowest(&mut self, (first, step): (i64, i64), way: &Way<'_>) -> i64 {
        let (from, part) = (self.work, self.work / 8);
        self.held = from - part;
        self.work = part;
        let mut proven = self.upwards((first, step), way);
        self.work += std::mem::take(&mut self.held);
        while (way.of)(self.best) > proven && self.work > 0 {
            let best = (way.of)(self.best);
            // Where only this level is open nothing is put by for those below.
            self.held = if best - step > proven { self.work / 3 } else { 0 };
            self.work -= self.held;
            let outcome = self.level(way, best - step);
            self.work += std::mem::take(&mut self.held);
            if outcome.least == i64::MAX && outcome.found.is_none() {
                return best;
            }
            if (way.of)(self.best) >= best {
                proven = self.upwards((proven, step), way);
                break;
            }
        }
        proven
    }

    /// What is ruled out level by level, and the least that is not.
    fn upwards(&mut self, (first, step): (i64, i64), way: &Way<'_>) -> i64 {
        const LEVELS: usize = 200;
        let mut proven = first;
        for _ in 0..LEVELS {
            if proven >= (way.of)(self.best) || self.work == 0 {
                break;
            }
            let outcome = self.level(way, proven);
            if outcome.found.is_some() || outcome.least < i64::MAX {
                break;
            }
            proven = proven.saturating_add(step);
        }
        proven.min((way.of)(self.best))
    }

    /// Any day of which the objective is worth so much at most.
    fn level(&mut self, way: &Way<'_>, most: i64) -> Outcome {
        let mut rows = way.rows.clone();
        let limit = (way.narrow)(self, &mut rows, most);
        self.any(&rows, limit)
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
            if !self.sets.goes_on(self.most - self.work - self.held) {
                self.work = 0;
            }
            (verdict, work - self.work)
        };
        let (outcome, took) = whole::least(&rows.sheet, &rows.groups, wanted, work, &mut ask);
        self.work = self.work.saturating_sub(took);
        outcome
    }
}

/// The greatest number that measures both.
fn common(one: i128, two: i128) -> i128 {
    if two == 0 { one } else { common(two, one % two) }
}
