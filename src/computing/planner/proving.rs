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

/// How a day is searched.
#[derive(Clone, Copy)]
enum Way {
    /// By what it adds up to.
    Sums,
    /// Day by day.
    Days,
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
        let starts = budget.starts;
        let mut summed = true;
        for (way, work) in self.ways(starts) {
            let proven = worth(&outcome) == (met.left_weight, met.late, met.runs, met.cost);
            if proven || watch.stopped() {
                break;
            }
            let day = (&mut outcome, &mut met);
            match way {
                Way::Sums if summed => summed = self.by_sums(&ground, day, (work, watch)),
                Way::Sums => {}
                Way::Days if summed => self.day_by_day(&ground, day, (work, watch)),
                Way::Days => self.day_by_day(&ground, day, (work.max(starts / 8), watch)),
            }
        }
        Found { outcome, bounds: met }
    }

    /// Ways to search and how much work each may take. What one leaves open the next often
    /// settles; only of a small day are there few enough days to look at one by one.
    fn ways(&self, starts: u64) -> Vec<(Way, u64)> {
        if self.problem.items.len() <= SMALL {
            vec![(Way::Sums, starts / 8), (Way::Days, starts), (Way::Sums, starts)]
        } else {
            vec![(Way::Sums, starts), (Way::Days, starts / 64)]
        }
    }

    /// Searches what the day adds up to; whether it could.
    fn by_sums(
        &self,
        ground: &Ground,
        (outcome, met): (&mut Outcome, &mut Bounds),
        (work, watch): (u64, &mut Watch<'_, '_>),
    ) -> bool {
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

    /// Looks at days one by one.
    fn day_by_day(
        &self,
        ground: &Ground,
        (outcome, met): (&mut Outcome, &mut Bounds),
        (work, watch): (u64, &mut Watch<'_, '_>),
    ) {
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
