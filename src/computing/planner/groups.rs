//! Which rolls share a run, without the room: how much work a backlog is.
#![allow(clippy::indexing_slicing, reason = "places come from the lists they index")]

use super::{
    day::Day,
    decimal::Decimal,
    grouping::group,
    plan::Amount,
    problem::Problem,
    search::Budget,
    watching::{Part, Progress, Watch},
};

/// The runs of a backlog, by rules 1 to 4 alone: no hours, no hands, no reels that must dry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Groups {
    /// Ids of the rolls of each run, families in the order of the file.
    pub runs: Vec<Vec<String>>,
    /// Ids of rolls that no tank holds, in the order of the file.
    pub unfit: Vec<String>,
    /// No grouping has fewer runs.
    pub least_runs: usize,
    /// What the developer of these runs costs.
    pub cost: Amount,
    /// No grouping of as many runs as `least_runs` costs less.
    pub least_cost: Amount,
}

/// Groups all rolls of a day into as few runs as can be, and then as cheap ones.
///
/// Preloaded tanks are taken as any other. `watch` as in [`super::plan`]; only the part
/// [`Part::Grouping`] is told, once or more for each family.
pub fn groups(day: &Day, budget: &Budget, watch: &mut dyn FnMut(Progress<'_>)) -> Groups {
    let problem = Problem::new(day);
    let mut watch = Watch::new(&problem, watch);
    let id = |roll: &usize| day.rolls[*roll].id.clone();
    let fits = |roll: &usize| {
        let load = problem.load(&[*roll]);
        load.is_some_and(|load| problem.cheapest(problem.items[*roll].family, &load).is_some())
    };
    let (mut runs, mut cost, mut least_runs, mut least_cost) = (Vec::new(), 0, 0, 0);
    for (family, of) in problem.families.iter().enumerate() {
        let rolls: Vec<usize> = of.rolls.iter().filter(|roll| fits(roll)).copied().collect();
        let mut go_on = |done: u64| watch.go_on(Part::Grouping, (done, budget.grouping));
        let found = group(&problem, family, &rolls, (budget.grouping, &mut go_on));
        for run in &found.runs {
            let load = problem.load(run);
            let price = load.and_then(|load| problem.cheapest(family, &load));
            cost += price.map_or(0, |(cost, _)| cost);
            runs.push(run.iter().map(id).collect());
        }
        least_runs += found.least_runs;
        least_cost += found.least_cost;
    }
    let amount = |cost: i128| Amount(Decimal::from_millionths(problem.prices.millionths(cost)));
    Groups {
        runs,
        unfit: (0..day.rolls.len()).filter(|roll| !fits(roll)).map(|roll| id(&roll)).collect(),
        least_runs,
        cost: amount(cost),
        least_cost: amount(least_cost),
    }
}
