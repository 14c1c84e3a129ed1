//! The best that a day begun so can still become.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{clock::Seconds, problem::Problem},
    Complete, Worth,
    reach::Line,
    types::Mixtures,
};

/// What each roll costs at least, for every split of a run's cost into a part of its own and
/// parts of its rolls; and other leasts that do not change over the search.
pub(super) struct Shares {
    /// A run's own part, and each kind's part, cheapest first.
    splits: Vec<(i128, Vec<(i128, usize)>)>,
    /// The family of each kind, and the most rolls that a run of each family holds.
    family: Vec<usize>,
    fullest: Vec<usize>,
    /// The shortest run that holds the kind.
    length: Vec<Seconds>,
    /// Hands' and loading's least, of a run and of a roll.
    hands_run: Seconds,
    hands_roll: Seconds,
    load_roll: Seconds,
    hours: Seconds,
    /// Kinds, heaviest first.
    by_weight: Vec<usize>,
}

impl Shares {
    pub(super) fn new(problem: &Problem<'_>, mixtures: &Mixtures) -> Self {
        let day = problem.day;
        let costs = |mixture: &super::Mixture| mixture.costs.iter().flatten().min().copied();
        let alike = mixtures.kinds.windows(2).all(|pair| pair[0].weight == pair[1].weight);
        let least = mixtures.all.iter().filter_map(costs).min().unwrap_or(0);
        let most = mixtures.all.iter().filter_map(costs).max().unwrap_or(0);
        let mut owns = vec![0, least / 2, least];
        if alike {
            owns.extend(
                [2, 3, 4, 6].map(|times| times * least).into_iter().filter(|own| *own < most),
            );
        }
        let splits = owns.into_iter().map(|own| split(mixtures, own, &costs));
        let holding = |kind: usize| {
            let all = mixtures.all.iter();
            all.filter(move |mixture| mixture.counts.iter().any(|(own, _)| *own == kind))
        };
        let length = (0..mixtures.kinds.len())
            .map(|kind| holding(kind).map(|mixture| mixture.length).min().unwrap_or(0));
        let hang = day.steps.hang_s_per_roll;
        let work = |mixture: &super::Mixture| -> Seconds {
            let hands: Seconds = mixture.hands.iter().map(|span| span.to - span.from).sum();
            hands - hang * mixture.rolls as Seconds
        };
        let family = mixtures.kinds.iter().map(|kind| problem.items[kind.rolls[0]].family);
        let family: Vec<usize> = family.collect();
        let mut fullest = vec![0; problem.families.len()];
        for mixture in &mixtures.all {
            let most = &mut fullest[mixture.batch.family];
            *most = (*most).max(mixture.rolls);
        }
        let load_roll = mixtures.kinds.iter().map(|kind| problem.items[kind.rolls[0]].loading);
        let load_roll = load_roll.min().unwrap_or(0);
        let mut by_weight: Vec<usize> = (0..mixtures.kinds.len()).collect();
        by_weight.sort_by_key(|kind| std::cmp::Reverse(mixtures.kinds[*kind].weight));
        let hours = day.people.iter().flat_map(|person| &person.hours);
        Self {
            splits: splits.collect(),
            length: length.collect(),
            family,
            fullest,
            hands_run: mixtures.all.iter().map(work).min().unwrap_or(0),
            hands_roll: hang + load_roll,
            load_roll,
            hours: hours.map(|span| span.to - span.from).sum(),
            by_weight,
        }
    }
}

/// The parts of a cost that is split into `own` for the run and the rest for its rolls.
///
/// Parts may be less than nothing where all rolls weigh the same: then as many rolls are run as
/// are counted, no more.
fn split(
    mixtures: &Mixtures,
    own: i128,
    costs: &dyn Fn(&super::Mixture) -> Option<i128>,
) -> (i128, Vec<(i128, usize)>) {
    let mut parts: Vec<(i128, usize)> =
        (0..mixtures.kinds.len()).map(|kind| (i128::MAX, kind)).collect();
    for mixture in &mixtures.all {
        let Some(cost) = costs(mixture) else { continue };
        let part = (cost - own).div_euclid(mixture.rolls as i128);
        mixture.counts.iter().for_each(|(kind, _)| parts[*kind].0 = parts[*kind].0.min(part));
    }
    parts.sort_unstable();
    (own, parts)
}

impl Complete<'_, '_> {
    /// A lower bound of every day that goes on with starts from `start`; where a bound of one
    /// objective already decides, the later ones are left at nothing.
    pub(super) fn promise(&self, start: Seconds) -> Worth {
        let so_far = (self.late, self.runs.len(), self.cost);
        let left = self.left();
        let most = left - self.never - self.serves(start);
        let least_left = self.never + most;
        if least_left != self.best.0 {
            return (least_left, so_far.0, so_far.1, so_far.2);
        }
        let needed = self.needed(left - self.best.0);
        let on_time = self.on_time(start);
        let late = so_far.0 + needed.saturating_sub(on_time);
        let runs = so_far.1 + self.least_runs(needed);
        let cost = so_far.2 + self.least_cost(needed, self.best.2.saturating_sub(so_far.1));
        (least_left, late, runs, cost)
    }

    /// The most weight that the waiting rolls can still bring into runs.
    fn serves(&self, start: Seconds) -> i64 {
        let mut most = self.most_rolls(start).min(self.rolls_in(self.most_runs(start)));
        let mut by_reel: Vec<usize> = (0..self.reach.reels.len())
            .map(|kind| self.reach.reels_go_round(self.problem, &self.runs, kind, start))
            .collect();
        let mut weight = 0;
        for kind in &self.shares.by_weight {
            let of = &self.mixtures.kinds[*kind];
            let taken = self.waiting[*kind].min(most).min(by_reel[of.reel]);
            by_reel[of.reel] -= taken;
            most -= taken;
            weight += taken as i64 * of.weight;
        }
        weight
    }

    /// The most rolls by tanks, by sinks, by loading and by hands.
    fn most_rolls(&self, start: Seconds) -> usize {
        let grid = self.reach.grid;
        let tanks: u32 = self
            .reach
            .tanks
            .iter()
            .zip(&self.free)
            .map(|(line, free)| line.from(grid, *free, start))
            .sum();
        let loads: Seconds = self.runs.iter().map(|run| run.mixture.loading).sum();
        let hands = self.runs.iter().map(|run| {
            let hands: Seconds = run.mixture.hands.iter().map(|span| span.to - span.from).sum();
            hands + run.mixture.loading
        });
        let (per_tank, full) =
            (self.problem.day.loading_per_tank_s, self.reach.fullest.max(1) as Seconds);
        let by = |supply: Seconds, roll: Seconds, run: Seconds| {
            let each = roll * full + run;
            if each == 0 { Seconds::MAX } else { (supply.max(0) * full + each - 1) / each }
        };
        let loaded = by(self.reach.loading - loads, self.shares.load_roll, per_tank);
        let handled = by(
            self.shares.hours - hands.sum::<Seconds>(),
            self.shares.hands_roll,
            self.shares.hands_run + per_tank,
        );
        let sinks = self.at_sinks(&self.reach.sinks, start);
        let least = i64::from(tanks.min(sinks)).min(loaded).min(handled);
        usize::try_from(least).unwrap_or(usize::MAX)
    }

    /// The most runs by tanks and by sinks.
    fn most_runs(&self, start: Seconds) -> usize {
        let tanks = self.reach.runs_in_tanks.iter().zip(&self.free);
        let tanks: u32 = tanks.map(|(line, free)| line.from(self.reach.grid, *free, start)).sum();
        tanks.min(self.at_sinks(&self.reach.runs_at_sinks, start)) as usize
    }

    /// What all places of the sinks still hold, by lines of one place each.
    fn at_sinks(&self, sinks: &[(i64, Line)], start: Seconds) -> u32 {
        let (grid, gap) = (self.reach.grid, self.problem.day.steps.sink_gap_s);
        let best = |free: Seconds| {
            sinks.iter().map(|(_, line)| line.from(grid, free, start)).max().unwrap_or(0)
        };
        let places: i64 = sinks.iter().map(|(places, _)| places).sum();
        let ends = self.runs.iter().map(|run| run.start + run.mixture.length + gap);
        let active: Vec<u32> = ends.filter(|end| *end > start).map(best).collect();
        let idle = u32::try_from(places).unwrap_or(0).saturating_sub(active.len() as u32);
        let shared = active.iter().sum::<u32>() + idle * best(0);
        let apart: u32 = sinks
            .iter()
            .map(|(places, line)| u32::try_from(*places).unwrap_or(0) * line.from(grid, 0, start))
            .sum();
        shared.min(apart)
    }

    /// The fewest rolls that make up a weight.
    fn needed(&self, mut weight: i64) -> usize {
        let mut rolls = 0;
        for kind in &self.shares.by_weight {
            let each = self.mixtures.kinds[*kind].weight;
            if weight <= 0 || each <= 0 {
                break;
            }
            let taken = (self.waiting[*kind] as i64).min((weight + each - 1) / each);
            weight -= taken * each;
            rolls += taken as usize;
        }
        rolls
    }

    /// The fewest runs that hold so many more rolls.
    fn least_runs(&self, needed: usize) -> usize {
        let mut held = 0;
        let full = |more: &&usize| {
            let before = held;
            held += **more;
            before < needed
        };
        self.fullest_runs().iter().take_while(full).count()
    }

    /// The most rolls that so many more runs hold.
    fn rolls_in(&self, runs: usize) -> usize {
        self.fullest_runs().iter().take(runs).sum()
    }

    /// How many rolls runs hold if each family's are as full as they can be, fullest first.
    fn fullest_runs(&self) -> Vec<usize> {
        let mut waiting = vec![0; self.shares.fullest.len()];
        for (kind, n) in self.waiting.iter().enumerate() {
            waiting[self.shares.family[kind]] += n;
        }
        let mut runs = Vec::new();
        for (waiting, fullest) in waiting.into_iter().zip(&self.shares.fullest) {
            let Some(rest) = usize::checked_rem(waiting, *fullest) else { continue };
            runs.extend(std::iter::repeat_n(*fullest, waiting / fullest));
            runs.extend((rest > 0).then_some(rest));
        }
        runs.sort_unstable_by_key(|more| std::cmp::Reverse(*more));
        runs
    }

    fn on_time(&self, start: Seconds) -> usize {
        let after = start + self.problem.day.steps.ready_after_s;
        let kinds = self.mixtures.kinds.iter().zip(&self.shares.length).zip(&self.waiting);
        let open = kinds.filter(|((kind, length), _)| after + **length <= kind.due);
        open.map(|(_, waiting)| waiting).sum()
    }

    /// The least that so many more rolls in so many more runs cost.
    fn least_cost(&self, rolls: usize, runs: usize) -> i128 {
        let of = |(own, parts): &(i128, Vec<(i128, usize)>)| {
            let (mut open, mut cost) = (rolls, *own * runs as i128);
            for (part, kind) in parts {
                let taken = self.waiting[*kind].min(open);
                open -= taken;
                cost = cost.saturating_add(part.saturating_mul(taken as i128));
            }
            cost
        };
        self.shares.splits.iter().map(of).max().unwrap_or(0)
    }
}
