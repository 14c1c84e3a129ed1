//! A day that does not meet its bounds yet: better days are looked for, and bounds proven, first by
//! what the day adds up to, then day by day.

use super::{
    bounds::{Bounds, Settled, after},
    complete::{Ground, Worth},
    grouping::Grouping,
    problem::Problem,
    room::Room,
    schedule::{self, Outcome},
    search::{Budget, Found, SMALL},
    watching::{Part, Watch},
};

/// What is known of a day while it is open.
pub(super) struct Open<'a, 'd> {
    pub(super) problem: &'a Problem<'d>,
    pub(super) empty: &'a Room,
    pub(super) settled: &'a Settled,
    pub(super) groupings: &'a [Grouping],
    /// No day leaves less weight over.
    pub(super) least_left: i64,
}

impl Open<'_, '_> {
    /// The best day and its bounds, from a day and bounds that hold already.
    pub(super) fn prove(
        &self,
        ground: Option<Ground>,
        (mut outcome, mut met): (Outcome, Bounds),
        (budget, watch): (Budget, &mut Watch<'_, '_>),
    ) -> Found {
        let Some(ground) = ground else { return Found { outcome, bounds: met } };
        let summed = self.by_sums(&ground, (&mut outcome, &mut met), (budget, watch));
        let proven = worth(&outcome) == (met.left_weight, met.late, met.runs, met.cost);
        if !proven && !watch.stopped() {
            self.day_by_day(&ground, (&mut outcome, &mut met), summed, (budget, watch));
        }
        Found { outcome, bounds: met }
    }

    fn small(&self) -> bool {
        self.problem.items.len() <= SMALL
    }

    /// Searches what the day adds up to; whether it could.
    fn by_sums(
        &self,
        ground: &Ground,
        (outcome, met): (&mut Outcome, &mut Bounds),
        (budget, watch): (Budget, &mut Watch<'_, '_>),
    ) -> bool {
        let work = if self.small() { budget.starts * 2 } else { budget.starts };
        let mut go_on = |done: u64| watch.go_on(Part::Proving, (done.min(work), work));
        let bounds = (worth(outcome), (met.left_weight, met.late, met.runs, met.cost));
        let sums = ground.summed(self.problem, self.settled, bounds, (work, &mut go_on));
        let Some((better, least)) = sums else { return false };
        if let Some(placed) = better {
            *outcome = schedule::settled(self.problem, self.empty, placed);
        }
        let left = outcome.score.0.min(self.least_left.max(least.0));
        let grouped = after(self.problem, self.settled, self.groupings, left);
        *met = both(grouped, least, outcome.score.0);
        true
    }

    /// Looks at days one by one, with less work where the sums were searched before.
    fn day_by_day(
        &self,
        ground: &Ground,
        (outcome, met): (&mut Outcome, &mut Bounds),
        summed: bool,
        (budget, watch): (Budget, &mut Watch<'_, '_>),
    ) {
        let work = match (self.small(), summed) {
            (true, false) => budget.starts,
            (true, true) => budget.starts / 4,
            (false, false) => budget.starts / 8,
            (false, true) => budget.starts / 64,
        };
        let mut go_on = |done: u64| watch.go_on(Part::Proving, (done, work));
        let known = worth(outcome);
        let searched = ground.better(self.problem, self.settled, known, (work, &mut go_on));
        if let Some(placed) = searched.better {
            *outcome = schedule::settled(self.problem, self.empty, placed);
        }
        let known = worth(outcome);
        let least =
            if searched.complete { known } else { ground.least(self.problem, self.settled, known) };
        *met = both(*met, least, known.0);
    }
}

/// Objectives 1 to 4 of a day.
fn worth(outcome: &Outcome) -> Worth {
    let (left, late, runs, cost, ..) = outcome.score;
    (left, late, runs, cost)
}

/// The tighter of two bounds, objective by objective; later ones only where the first is met.
fn both(one: Bounds, (left, late, runs, cost): Worth, known: i64) -> Bounds {
    let left_weight = one.left_weight.max(left);
    let one = if one.left_weight == known { one } else { Bounds::default() };
    let (late, runs, cost) = if left == known { (late, runs, cost) } else { (0, 0, 0) };
    // The grouping's least cost is that of its least number of runs.
    let own_cost = if runs <= one.runs { one.cost } else { 0 };
    Bounds {
        left_weight,
        late: one.late.max(late),
        runs: one.runs.max(runs),
        cost: own_cost.max(cost),
    }
}
