//! Linear bounds: the least of a sum over whole numbers of runs, if runs could be cut to pieces.
//!
//! A dual simplex in floating point finds prices of the rows; what is claimed is computed from
//! those prices, rounded, in whole numbers. So a claim holds whatever the floating point did.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::cast_precision_loss,
    reason = "the search kernel: places come from the lists they index"
)]

/// A row without an end on one side has this one.
pub(super) const FAR: i64 = 1 << 50;
/// Prices are rounded to parts of one.
const PARTS: i128 = 1 << 44;
/// Entries of a tableau that are as much work as all else of an exchange.
const WHOLE_TABLE: usize = 20_000;
/// What is less counts as nothing in floating point.
const TINY: f64 = 1e-9;
/// By so much a bound may be passed in floating point.
const SLACK: f64 = 1e-7;

/// `least <= sum of coefficient x column <= most`.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) terms: Vec<(usize, i64)>,
    pub(super) least: i64,
    pub(super) most: i64,
}

/// Columns with their bounds, rows, and the sum to be made small.
#[derive(Debug, Clone, Default)]
pub(super) struct Sheet {
    /// Least and most of each column; both finite.
    pub(super) bounds: Vec<(i64, i64)>,
    pub(super) rows: Vec<Row>,
    pub(super) prices: Vec<i64>,
}

/// What a solution came to.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Solved {
    /// The value is at least this, proven; and the columns of a solution in floating point.
    Least(i64, Vec<f64>),
    /// There is no solution, proven.
    Nothing,
    /// Nothing is proven.
    Unclear,
}

/// The simplex tableau: each variable in the basis as a sum of those outside. Variables are the
/// columns, then the rows.
pub(super) struct Tableau<'s> {
    sheet: &'s Sheet,
    low: Vec<f64>,
    high: Vec<f64>,
    inside: Vec<usize>,
    outside: Vec<usize>,
    /// Row by row, one number for each variable outside.
    table: Vec<f64>,
    costs: Vec<f64>,
    values: Vec<f64>,
    basic: Vec<f64>,
    /// How much was done so far: exchanges, more for large tableaus.
    pub(super) work: u64,
    since_fresh: u64,
}

impl<'s> Tableau<'s> {
    pub(super) fn new(sheet: &'s Sheet) -> Self {
        let mut tableau = Self {
            sheet,
            low: Vec::new(),
            high: Vec::new(),
            inside: Vec::new(),
            outside: Vec::new(),
            table: Vec::new(),
            costs: Vec::new(),
            values: Vec::new(),
            basic: Vec::new(),
            work: 0,
            since_fresh: 0,
        };
        tableau.fresh();
        tableau
    }

    /// Back to the beginning: all rows in the basis.
    pub(super) fn fresh(&mut self) {
        let (sheet, columns) = (self.sheet, self.sheet.bounds.len());
        let ends = sheet.rows.iter().map(|row| (row.least, row.most));
        let all: Vec<(i64, i64)> = sheet.bounds.iter().copied().chain(ends).collect();
        self.low = all.iter().map(|(low, _)| *low as f64).collect();
        self.high = all.iter().map(|(_, high)| *high as f64).collect();
        self.outside = (0..columns).collect();
        self.inside = (columns..columns + sheet.rows.len()).collect();
        self.table = vec![0.0; columns * sheet.rows.len()];
        for (row, of) in sheet.rows.iter().enumerate() {
            for (column, coefficient) in &of.terms {
                self.table[row * columns + column] += *coefficient as f64;
            }
        }
        // A little is added to each price, so that no two ways are equally good.
        let bent = |(at, price): (usize, &i64)| {
            *price as f64 + 1e-6 * (((at * 7919) % 997) as f64 + 1.0) / 997.0
        };
        self.costs = sheet.prices.iter().enumerate().map(bent).collect();
        self.values = vec![0.0; columns];
        self.basic = vec![0.0; sheet.rows.len()];
        self.since_fresh = 0;
        self.work += 1 + (self.table.len() / WHOLE_TABLE) as u64;
    }

    /// The least within these bounds of the columns, with at most so many exchanges.
    pub(super) fn solve(&mut self, bounds: &[(i64, i64)], most: u64) -> Solved {
        const STALE: u64 = 1500;
        if self.since_fresh > STALE {
            self.fresh();
        }
        for (at, (low, high)) in bounds.iter().enumerate() {
            (self.low[at], self.high[at]) = (*low as f64, *high as f64);
        }
        self.settle();
        for _ in 0..most {
            let Some((row, above)) = self.worst() else {
                let prices = self.row_prices();
                return match certain(self.sheet, bounds, &prices, true) {
                    Some(least) => Solved::Least(least, self.columns()),
                    None => Solved::Unclear,
                };
            };
            let Some(column) = self.entering(row, above) else {
                return self.impossible(row, bounds);
            };
            self.exchange(row, column, above);
        }
        Solved::Unclear
    }

    /// Puts every variable outside at the bound that its cost asks for.
    fn settle(&mut self) {
        for (at, variable) in self.outside.iter().enumerate() {
            let (low, high) = (self.low[*variable], self.high[*variable]);
            let far = FAR as f64;
            let up = (self.costs[at] < 0.0 && high < far) || low <= -far;
            self.values[at] = if up { high } else { low };
        }
        let columns = self.outside.len();
        for (row, value) in self.basic.iter_mut().enumerate() {
            let own = &self.table[row * columns..(row + 1) * columns];
            *value = own.iter().zip(&self.values).map(|(a, b)| a * b).sum();
        }
    }

    /// The row of the basis that is farthest out of its bounds, and whether above.
    fn worst(&self) -> Option<(usize, bool)> {
        let mut found: Option<(f64, usize, bool)> = None;
        for (row, variable) in self.inside.iter().enumerate() {
            let value = self.basic[row];
            let scale = SLACK * (1.0 + value.abs().min(1e6));
            let (below, above) = (self.low[*variable] - value, value - self.high[*variable]);
            let (far, up) = if above > below { (above, true) } else { (below, false) };
            if far > scale && found.is_none_or(|(best, ..)| far > best) {
                found = Some((far, row, up));
            }
        }
        found.map(|(_, row, up)| (row, up))
    }

    /// The variable that enters for the row, by the least loss.
    fn entering(&self, row: usize, above: bool) -> Option<usize> {
        let columns = self.outside.len();
        let own = &self.table[row * columns..(row + 1) * columns];
        let mut best: Option<(f64, f64, usize)> = None;
        for (at, (entry, variable)) in own.iter().zip(&self.outside).enumerate() {
            if entry.abs() < TINY || self.low[*variable] >= self.high[*variable] {
                continue;
            }
            let at_low = self.values[at] <= self.low[*variable];
            // Rising from its low bound it must push the row the right way, and the reverse.
            if ((*entry > 0.0) == at_low) == above {
                continue;
            }
            let (loss, size) = ((self.costs[at] / entry).abs(), entry.abs());
            let better = best.is_none_or(|(least, large, _)| {
                loss < least - 1e-12 || (loss <= least + 1e-12 && size > large)
            });
            if better {
                best = Some((loss, size, at));
            }
        }
        best.map(|(.., at)| at)
    }

    fn exchange(&mut self, row: usize, column: usize, above: bool) {
        let columns = self.outside.len();
        let (leaving, entering) = (self.inside[row], self.outside[column]);
        let goal = if above { self.high[leaving] } else { self.low[leaving] };
        let pivot = self.table[row * columns + column];
        let change = (goal - self.basic[row]) / pivot;
        for at in 0..self.basic.len() {
            self.basic[at] += self.table[at * columns + column] * change;
        }
        self.basic[row] = self.values[column] + change;
        self.values[column] = goal;
        let mut own: Vec<f64> = self.table[row * columns..(row + 1) * columns].to_vec();
        own.iter_mut().for_each(|entry| *entry /= -pivot);
        own[column] = 1.0 / pivot;
        let touched: Vec<usize> = (0..columns).filter(|at| own[*at] != 0.0).collect();
        let apply = |line: &mut [f64]| {
            let factor = line[column];
            if factor == 0.0 {
                return;
            }
            line[column] = 0.0;
            for at in &touched {
                line[*at] += factor * own[*at];
            }
        };
        for (at, line) in self.table.chunks_exact_mut(columns).enumerate() {
            if at != row {
                apply(line);
            }
        }
        apply(&mut self.costs);
        self.table[row * columns..(row + 1) * columns].copy_from_slice(&own);
        (self.inside[row], self.outside[column]) = (entering, leaving);
        self.work += 1 + (self.table.len() / WHOLE_TABLE) as u64;
        self.since_fresh += 1;
    }

    fn columns(&self) -> Vec<f64> {
        let mut found = vec![0.0; self.sheet.bounds.len()];
        let all = self.outside.iter().zip(&self.values).chain(self.inside.iter().zip(&self.basic));
        for (variable, value) in all {
            if let Some(place) = found.get_mut(*variable) {
                *place = *value;
            }
        }
        found
    }

    fn row_prices(&self) -> Vec<f64> {
        let columns = self.sheet.bounds.len();
        let mut prices = vec![0.0; self.sheet.rows.len()];
        for (variable, cost) in self.outside.iter().zip(&self.costs) {
            if let Some(row) = variable.checked_sub(columns) {
                prices[row] = *cost;
            }
        }
        prices
    }

    /// A row that cannot be brought into its bounds shows that there is no solution.
    fn impossible(&self, row: usize, bounds: &[(i64, i64)]) -> Solved {
        let columns = self.sheet.bounds.len();
        let own = &self.table[row * self.outside.len()..(row + 1) * self.outside.len()];
        let mut shown = vec![0.0; self.sheet.rows.len()];
        for (variable, entry) in self.outside.iter().zip(own) {
            if let Some(at) = variable.checked_sub(columns) {
                shown[at] = -entry;
            }
        }
        if let Some(at) = self.inside[row].checked_sub(columns) {
            shown[at] = 1.0;
        }
        let most = shown.iter().fold(TINY, |most: f64, entry| most.max(entry.abs()));
        for scale in [1.0 / most, -1.0 / most] {
            let prices: Vec<f64> = shown.iter().map(|entry| entry * scale).collect();
            if certain(self.sheet, bounds, &prices, false).is_some_and(|least| least > 0) {
                return Solved::Nothing;
            }
        }
        Solved::Unclear
    }
}

/// A lower bound of the sum (or of nothing, where prices do not count) from prices of the rows,
/// in whole numbers and rounded up: the sum is rows times their prices plus what is left of each
/// column, and each of those is at least what its bounds allow.
fn certain(sheet: &Sheet, bounds: &[(i64, i64)], prices: &[f64], counts: bool) -> Option<i64> {
    let mut left: Vec<i128> = if counts {
        sheet.prices.iter().map(|price| i128::from(*price) * PARTS).collect()
    } else {
        vec![0; bounds.len()]
    };
    let mut sum: i128 = 0;
    for (row, price) in sheet.rows.iter().zip(prices) {
        if !price.is_finite() || price.abs() > 1e15 {
            return None;
        }
        let price = (price * PARTS as f64).round() as i128;
        let end = if price > 0 { row.least } else { row.most };
        if price == 0 || end.abs() >= FAR {
            continue;
        }
        sum = sum.checked_add(price.checked_mul(i128::from(end))?)?;
        for (column, coefficient) in &row.terms {
            let part = price.checked_mul(i128::from(*coefficient))?;
            left[*column] = left[*column].checked_sub(part)?;
        }
    }
    for (left, (low, high)) in left.iter().zip(bounds) {
        let end = if *left > 0 { low } else { high };
        sum = sum.checked_add(left.checked_mul(i128::from(*end))?)?;
    }
    i64::try_from(-(-sum).div_euclid(PARTS)).ok()
}
