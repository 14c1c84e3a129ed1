//! What the room gives over a day and what runs take of it, as rows of whole numbers.
//!
//! Each row holds for every day the rules allow, so that what the rows forbid no day has.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        super::{bounds::Settled, clock::Seconds, day::Span, problem::Problem},
        types::{Mixture, Mixtures},
    },
    linear::{FAR, Row, Sheet},
    reels,
};

/// A column: so many runs of a mixture in a tank.
#[derive(Debug, Clone, Copy)]
pub(super) struct Choice {
    pub(super) at: usize,
    pub(super) tank: usize,
}

/// The rows of a day.
#[derive(Clone)]
pub(super) struct Rows {
    pub(super) choices: Vec<Choice>,
    pub(super) sheet: Sheet,
    /// Columns to branch on, group by group; the last are the choices.
    pub(super) groups: Vec<Vec<usize>>,
    /// The column that counts runs.
    pub(super) runs: usize,
    /// What a choice, or another column, takes of the day's time: few of it are easily placed.
    pub(super) time: Vec<i64>,
}

/// More columns than this are not looked at.
const MOST_COLUMNS: usize = 2500;
/// No count of runs is larger.
pub(super) const MANY: i64 = 128;

impl Rows {
    /// The rows that hold in any room; nothing where there are too many columns.
    pub(super) fn of(problem: &Problem<'_>, mixtures: &Mixtures) -> Option<Self> {
        let mut choices = Vec::new();
        for (at, mixture) in mixtures.all.iter().enumerate() {
            let tanks = 0..problem.day.tanks.len();
            let held = tanks.filter(|tank| mixture.costs[*tank].is_some());
            choices.extend(held.map(|tank| Choice { at, tank }));
        }
        let rolls: usize = mixtures.kinds.iter().map(|kind| kind.rolls.len()).sum();
        if choices.is_empty() || choices.len() > MOST_COLUMNS || rolls as i64 > MANY {
            return None;
        }
        let most = |choice: &Choice| {
            let counts = mixtures.all[choice.at].counts.iter();
            let all = counts.map(|(kind, n)| mixtures.kinds[*kind].rolls.len() / n);
            (0, all.min().unwrap_or(0) as i64)
        };
        let mut rows = Self {
            sheet: Sheet { bounds: choices.iter().map(most).collect(), ..Sheet::default() },
            groups: Vec::new(),
            runs: 0,
            time: choices
                .iter()
                .map(|choice| {
                    mixtures.all[choice.at].length
                        + mixtures.all[choice.at].loading
                        + problem.day.steps.sink_gap_s
                })
                .collect(),
            choices,
        };
        rows.runs =
            rows.counted(&|_| 1, mixtures.kinds.iter().map(|kind| kind.rolls.len() as i64).sum());
        rows.groups.push(vec![rows.runs]);
        rows.supplies(problem, mixtures);
        rows.places(problem, mixtures);
        reels::add(&mut rows, problem, mixtures);
        Some(rows)
    }

    /// A new column.
    pub(super) fn column(&mut self, least: i64, most: i64) -> usize {
        self.sheet.bounds.push((least, most));
        self.time.push(0);
        self.sheet.bounds.len() - 1
    }

    pub(super) fn row(&mut self, terms: Vec<(usize, i64)>, least: i64, most: i64) {
        self.sheet.rows.push(Row { terms, least, most });
    }

    /// The choices with what each takes of something, where it takes any.
    pub(super) fn takes(&self, of: &dyn Fn(&Choice) -> i64) -> Vec<(usize, i64)> {
        let all = self.choices.iter().enumerate().map(|(at, choice)| (at, of(choice)));
        all.filter(|(_, taken)| *taken != 0).collect()
    }

    /// A column that counts what choices take of something.
    pub(super) fn counted(&mut self, of: &dyn Fn(&Choice) -> i64, most: i64) -> usize {
        let mut terms = self.takes(of);
        let column = self.column(0, most);
        terms.push((column, -1));
        self.row(terms, 0, 0);
        column
    }

    /// Rolls of each kind, fixer and baths.
    fn supplies(&mut self, problem: &Problem<'_>, mixtures: &Mixtures) {
        for (kind, of) in mixtures.kinds.iter().enumerate() {
            let taken = |choice: &Choice| {
                let mut counts = mixtures.all[choice.at].counts.iter();
                counts.find(|(own, _)| *own == kind).map_or(0, |(_, n)| *n as i64)
            };
            self.row(self.takes(&taken), 0, of.rolls.len() as i64);
        }
        // Loads are counted down and the supply up, so that nothing allowed is forbidden.
        const COARSE: i128 = 1_000_000_000;
        let up = |supply: i128| i64::try_from(supply.div_euclid(COARSE) + 1).unwrap_or(FAR);
        if let Some(fixer) = problem.day.fixer {
            let taken = |choice: &Choice| {
                i64::try_from(mixtures.all[choice.at].fixer / COARSE).unwrap_or(0)
            };
            self.row(self.takes(&taken), 0, up(fixer.remaining.wide() * 1_000_000));
        }
        for (developer, of) in problem.day.developers.iter().enumerate() {
            let Some(bath) = of.bath else { continue };
            let taken = |choice: &Choice| {
                let mixture = &mixtures.all[choice.at];
                let own = mixture.developer == developer;
                let load = mixture.equivalents * 1_000_000 / COARSE;
                if own { i64::try_from(load).unwrap_or(0) } else { 0 }
            };
            self.row(self.takes(&taken), 0, up(bath.remaining.wide() * 1_000_000));
        }
    }

    /// Tanks, places of sinks, loading places and hands: each so many seconds.
    fn places(&mut self, problem: &Problem<'_>, mixtures: &Mixtures) {
        let (day, grid) = (problem.day, problem.day.rules.grid_s);
        let (tank_gap, sink_gap) = (day.steps.tank_gap_s, day.steps.sink_gap_s);
        let open = hull(&day.open);
        let whole = open.to - open.from;
        let of = |choice: &Choice| &mixtures.all[choice.at];
        let mut in_tanks = Vec::new();
        for tank in 0..day.tanks.len() {
            let taken = |choice: &Choice| {
                let held = of(choice).length + of(choice).loading + tank_gap;
                if choice.tank == tank { held } else { 0 }
            };
            self.row(self.takes(&taken), 0, whole + tank_gap);
            let runs = self.counted(&|choice| i64::from(choice.tank == tank), MANY);
            in_tanks.push(runs);
            if let Some(twin) = (0..tank).rev().find(|other| alike(problem, *other, tank)) {
                self.row(vec![(in_tanks[twin], 1), (runs, -1)], 0, FAR);
            }
        }
        self.groups.push(in_tanks);
        // From start to start at one place lies a multiple of the grid.
        let apart = |choice: &Choice| up(of(choice).length + sink_gap, grid);
        let all = || self.choices.iter();
        let spare = all().map(|choice| apart(choice) - of(choice).length).max().unwrap_or(0);
        let lead = all().map(|choice| of(choice).loading).min().unwrap_or(0);
        let shortest = all().map(|choice| of(choice).length).min().unwrap_or(0);
        let places: i64 = day.sinks.iter().map(|sink| sink.places).sum();
        self.row(
            self.takes(&apart),
            0,
            places.saturating_mul((whole - lead + spare).max(0)).min(FAR),
        );
        let loading = day.loading_places.saturating_mul((whole - shortest).max(0)).min(FAR);
        self.row(self.takes(&|choice| of(choice).loading), 0, loading);
        let hours = day.people.iter().flat_map(|person| &person.hours);
        let after = mixtures.all.iter().map(Mixture::hands_after).max().unwrap_or(0);
        let last = open.to + sink_gap.max(after);
        let hours: Seconds = hours.map(|span| (span.to.min(last) - span.from).max(0)).sum();
        let hands = |choice: &Choice| {
            let windows = of(choice).hands.iter().map(|span| span.to - span.from);
            of(choice).loading + windows.sum::<Seconds>()
        };
        self.row(self.takes(&hands), 0, hours);
    }

    /// Only days that leave at most so much weight over.
    pub(super) fn leave(
        &mut self,
        mixtures: &Mixtures,
        settled: &Settled,
        problem: &Problem<'_>,
        left: i64,
    ) {
        let never: i64 = settled.never.iter().map(|roll| problem.items[*roll].weight).sum();
        let all: i64 =
            mixtures.kinds.iter().map(|kind| kind.weight * kind.rolls.len() as i64).sum();
        let weight = self.takes(&|choice| mixtures.all[choice.at].weight);
        self.row(weight, all + never - left, FAR);
    }
}

/// From the first opening to the last closing.
pub(super) fn hull(spans: &[Span]) -> Span {
    let from = spans.iter().map(|span| span.from).min().unwrap_or(0);
    Span { from, to: spans.iter().map(|span| span.to).max().unwrap_or(from) }
}

pub(super) fn up(length: Seconds, grid: Seconds) -> Seconds {
    (length + grid - 1).div_euclid(grid) * grid
}

/// Whether two tanks are the same in everything but their names.
fn alike(problem: &Problem<'_>, one: usize, two: usize) -> bool {
    let (one, two) = (&problem.day.tanks[one], &problem.day.tanks[two]);
    (one.stack_mm, one.max_reels, &one.busy) == (two.stack_mm, two.max_reels, &two.busy)
        && (one.base_ml, one.min_ml, one.max_ml) == (two.base_ml, two.min_ml, two.max_ml)
}
