//! Whole numbers of runs: branches until the bounds decide, and asks of each whole answer whether
//! the room has a day for it.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::cast_precision_loss,
    reason = "the search kernel: places come from the lists they index"
)]

use super::linear::{Sheet, Solved, Tableau};

/// What the room says to a whole answer.
pub(super) enum Verdict {
    /// There is such a day; kept by whoever was asked.
    Yes,
    /// There is none, nor with more runs beside these: columns and how much of each.
    No(Vec<(usize, i64)>),
    /// Not known.
    Perhaps,
}

/// What a search came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Outcome {
    /// The least value for which the room said yes.
    pub(super) found: Option<i64>,
    /// No day has less than this.
    pub(super) least: i64,
}

/// Asked with the values of all columns, or now and then with none; answers also how much work
/// asking took so far.
pub(super) type Ask<'a> = &'a mut dyn FnMut(Option<&[i64]>) -> (Verdict, u64);

struct Search<'s, 'a> {
    tableau: Tableau<'s>,
    sheet: &'s Sheet,
    /// Columns that must be whole, group by group: earlier groups are branched on first.
    whole: &'s [Vec<usize>],
    /// Only less than this is of interest, and so much is enough.
    below: i64,
    enough: i64,
    found: Option<i64>,
    /// The least of what was not looked at.
    unseen: i64,
    work: u64,
    ask: Ask<'a>,
    asking: u64,
    nodes: u64,
}

/// Looks for the least value below `below`, and is content with `enough`; with at most so much work (entries of tableaus).
pub(super) fn least(
    sheet: &Sheet,
    whole: &[Vec<usize>],
    (below, enough): (i64, i64),
    work: u64,
    ask: Ask<'_>,
) -> (Outcome, u64) {
    let tableau = Tableau::new(sheet);
    let mut search = Search {
        tableau,
        sheet,
        whole,
        below,
        enough,
        found: None,
        unseen: i64::MAX,
        work,
        ask,
        asking: 0,
        nodes: 0,
    };
    let mut bounds = sheet.bounds.clone();
    search.node(&mut bounds, i64::MIN / 2);
    let known = search.found.unwrap_or(below);
    (Outcome { found: search.found, least: known.min(search.unseen) }, search.tableau.work)
}

impl Search<'_, '_> {
    /// Everything within these bounds, of which the value is known to be at least `floor`.
    fn node(&mut self, bounds: &mut Vec<(i64, i64)>, floor: i64) {
        const AT_ONCE: u64 = 3000;
        const SELDOM: u64 = 32;
        if self.found.is_some_and(|found| found <= self.enough) {
            return;
        }
        self.nodes += 1;
        if self.nodes.is_multiple_of(SELDOM) {
            self.asking = (self.ask)(None).1;
        }
        if self.tableau.work + self.asking >= self.work {
            self.work = 0;
            self.unseen = self.unseen.min(floor);
            return;
        }
        self.tableau.work += 1;
        let mut solved = self.tableau.solve(bounds, AT_ONCE);
        if solved == Solved::Unclear {
            self.tableau.fresh();
            solved = self.tableau.solve(bounds, AT_ONCE);
        }
        let (floor, columns) = match solved {
            Solved::Nothing => return,
            Solved::Unclear => return self.halves(bounds, floor),
            Solved::Least(least, columns) => (least.max(floor), columns),
        };
        if floor >= self.found.unwrap_or(self.below) {
            return;
        }
        match self.fraction(&columns) {
            Some(column) => {
                let cut = columns[column].floor() as i64;
                let first_down = columns[column] - cut as f64 <= 0.5;
                for down in [first_down, !first_down] {
                    let before = bounds[column];
                    let own = &mut bounds[column];
                    if down {
                        own.1 = own.1.min(cut)
                    } else {
                        own.0 = own.0.max(cut + 1)
                    }
                    if own.0 <= own.1 {
                        self.node(bounds, floor);
                    }
                    bounds[column] = before;
                }
            }
            None => self.answer(bounds, floor, &columns),
        }
    }

    /// Where floating point says nothing clear: halves of what is still open, until it does.
    fn halves(&mut self, bounds: &mut Vec<(i64, i64)>, floor: i64) {
        let mut all = self.whole.iter().flatten().copied();
        let Some(column) = all.find(|column| bounds[*column].0 < bounds[*column].1) else {
            self.unseen = self.unseen.min(floor);
            return;
        };
        let (low, high) = bounds[column];
        let middle = (low + high).div_euclid(2);
        for half in [(low, middle), (middle + 1, high)] {
            bounds[column] = half;
            self.node(bounds, floor);
        }
        bounds[column] = (low, high);
    }

    /// The column of the first group that is farthest from whole.
    fn fraction(&self, columns: &[f64]) -> Option<usize> {
        let far = |column: &usize| (columns[*column] - columns[*column].round()).abs();
        for group in self.whole {
            let mut best: Option<(f64, usize)> = None;
            for column in group {
                let own = far(column);
                if own > 1e-5 && best.is_none_or(|(most, _)| own > most + 1e-9) {
                    best = Some((own, *column));
                }
            }
            if let Some((_, column)) = best {
                return Some(column);
            }
        }
        None
    }

    /// A whole answer: if the room has no day for it, all that do not contain it are left.
    fn answer(&mut self, bounds: &mut Vec<(i64, i64)>, floor: i64, columns: &[f64]) {
        let values: Vec<i64> = columns.iter().map(|value| value.round() as i64).collect();
        let sum: i64 = values.iter().zip(&self.sheet.prices).map(|(n, price)| n * price).sum();
        let last = self.whole.last().map_or(&[][..], Vec::as_slice);
        let mut blamed: Vec<(usize, i64)> = Vec::new();
        let (verdict, asking) = (self.ask)(Some(&values));
        self.asking = asking;
        match verdict {
            Verdict::Yes => {
                if sum < self.found.unwrap_or(self.below) {
                    self.found = Some(sum);
                }
                if sum <= floor {
                    return;
                }
            }
            Verdict::No(columns) => blamed = columns,
            Verdict::Perhaps => self.unseen = self.unseen.min(floor),
        }
        if blamed.is_empty() {
            let all = last.iter().map(|column| (*column, values[*column]));
            blamed.extend(all.filter(|(_, value)| *value > 0));
        }
        // Less of one run, with the runs before it kept: so no answer is looked at twice.
        let kept: Vec<(i64, i64)> = bounds.clone();
        for (column, value) in blamed {
            let own = bounds[column];
            if own.0 < value {
                bounds[column].1 = own.1.min(value - 1);
                self.node(bounds, floor);
            }
            bounds[column] = (own.0.max(value), own.1.max(value));
            if self.work == 0 {
                self.unseen = self.unseen.min(floor);
                break;
            }
        }
        bounds.clone_from(&kept);
    }
}
