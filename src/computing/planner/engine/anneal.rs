//! Simulated annealing: changes that make the schedule dearer are kept less and less often.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: chance stays below the table's length; counts of steps are far below 2^53"
)]

use super::{
    board::{Board, Saved},
    budget::Budget,
    moves::Mover,
    problem::Problem,
};

/// Changes tried between two looks at the budget.
const PACE: u64 = 256;

/// How many different amounts a change may be let off, at one temperature.
const SHADES: usize = 2048;

/// From which temperature to which one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heat {
    pub(super) from: f64,
    pub(super) to: f64,
    /// Where the smallest differences, those of set-ups, count: the end of a last leg.
    pub(super) cold: f64,
}

impl Heat {
    /// The range in which a problem's costs differ: from what being late costs down to small
    /// differences in the batches' durations.
    pub(super) fn of(problem: &Problem) -> Self {
        let jobs = || problem.able.iter().map(|&job| &problem.jobs[job as usize]);
        let mean = |values: &mut dyn Iterator<Item = i64>| {
            let (sum, many) = values.fold((0, 0), |(sum, many), value| (sum + value, many + 1));
            to_float(sum) / to_float(many).max(1.0)
        };
        let late = mean(&mut jobs().map(|job| job.late_cost).filter(|&cost| cost > 0));
        let time = mean(&mut jobs().map(|job| job.min_time));
        let unit = to_float(problem.per_time.max(1));
        let to = unit * (time * 0.06).max(0.4);
        Self { from: (late * 0.2).max(to * 20.0), to, cold: unit * 0.15 }
    }
}

#[allow(
    clippy::as_conversions,
    reason = "there is no other way between these; a rounded temperature is as good"
)]
pub(super) fn to_float(number: i64) -> f64 {
    number as f64
}

fn to_whole(number: f64) -> i64 {
    number as i64
}

/// What one anneal did.
pub(super) struct Best {
    pub(super) cost: i64,
    pub(super) rows: Saved,
    pub(super) work: u64,
}

/// Anneals the board while the budget's share goes from `span.0` to `span.1`.
pub(super) fn anneal(
    board: &mut Board<'_>,
    mover: &mut Mover,
    budget: Budget<'_>,
    span: (f64, f64),
    heat: Heat,
) -> Best {
    let shades = shades();
    let mut best = Best { cost: board.cost, rows: Saved::default(), work: 0 };
    board.save(&mut best.rows);
    loop {
        let share = match budget {
            Budget::Work(steps) => to_share(best.work, steps) + span.0,
            Budget::Share(gone) => gone(),
        };
        let done = (share - span.0) / (span.1 - span.0);
        if done >= 1.0 || done.is_nan() {
            break;
        }
        let warmth = heat.from * (heat.to / heat.from).powf(done.max(0.0));
        for _ in 0..PACE {
            let slack = warmth * shades[mover.dice.below(SHADES)];
            if mover.try_one(board, board.cost + to_whole(slack)) && board.cost < best.cost {
                best.cost = board.cost;
                board.save(&mut best.rows);
            }
        }
        best.work += PACE;
    }
    best
}

/// What a change of temperature 1 may cost more, each value as likely as another.
fn shades() -> Vec<f64> {
    (0..SHADES).map(|at| -((to_float(at as i64) + 0.5) / SHADES as f64).ln()).collect()
}

fn to_share(done: u64, of: u64) -> f64 {
    done as f64 / of as f64
}
