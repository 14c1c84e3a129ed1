//! Looks for the best day: the best grouping first, then orders and exchanges of rolls until
//! the bounds are met or the work budget is spent.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::BTreeSet;

use super::{
    bounds::{Bounds, Settled, after, left_over, settle},
    complete::Ground,
    grouping::{Grouping, group},
    placing::Batch,
    problem::Problem,
    proving::Open,
    room::Room,
    schedule::{Outcome, Score, Taste, decode},
    watching::{Part, Watch},
};

/// How much work a search may do. Work is counted, not timed, so that the same day gives the
/// same plan on any machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget {
    /// Days tried at most; fewer, in proportion, where a day has more than sixty rolls, because
    /// each then takes longer.
    pub tries: u64,
    /// Steps of the grouping search per family at most.
    pub grouping: u64,
    /// Steps of the complete search of the day at most. Where there are more than fourteen rolls
    /// the day's sums are searched with so many, which are short, and then the days one by one
    /// with a part of them, because each is longer.
    pub starts: u64,
}

impl Default for Budget {
    fn default() -> Self {
        Self { tries: 1500, grouping: 200_000, starts: 500_000 }
    }
}

/// The best day found and what is proven.
pub(super) struct Found {
    pub(super) outcome: Outcome,
    pub(super) bounds: Bounds,
}

impl Found {
    /// Weight left over, late rolls, runs.
    pub(super) fn standing(&self) -> (i64, usize, usize) {
        let (left, late, runs, ..) = self.outcome.score;
        (left, late, runs)
    }
}

type Order = Vec<(Batch, Taste)>;

/// Rolls of a day that is searched with the whole budget.
pub(super) const SMALL: usize = 14;

/// Rolls of a day that is tried as often as the budget says.
const SOME: u64 = 60;

/// How many steps ago the day lies that a step is compared with.
const MEMORY: usize = 40;

struct Climb<'a, 'd> {
    problem: &'a Problem<'d>,
    empty: &'a Room,
    never: &'a BTreeSet<usize>,
    budget: Budget,
    tries: u64,
    random: u64,
    goal: (i64, usize, usize, i128),
}

/// Plans the day.
pub(super) fn search(problem: &Problem<'_>, budget: Budget, watch: &mut Watch<'_, '_>) -> Found {
    let empty = Room::empty(problem);
    let settled = settle(problem, &empty);
    let ground = Ground::new(problem, &settled);
    let anything = (i64::MAX, usize::MAX, usize::MAX, i128::MAX);
    let reached = ground.as_ref().map_or(0, |ground| ground.least(problem, &settled, anything).0);
    let least_left = left_over(problem, &settled).max(reached);
    let kept = within_capacity(problem, &settled);
    let (batches, groupings) = grouped(problem, &kept.0, &settled, (budget, watch));
    let bounds = after(problem, &settled, &groupings, least_left);
    let forced: i64 = settled.never.iter().map(|roll| problem.items[*roll].weight).sum();
    let most = SOME.max(problem.items.len() as u64);
    let budget = Budget { tries: budget.tries * SOME / most, ..budget };
    let mut climb = Climb {
        problem,
        empty: &empty,
        never: &settled.never,
        budget,
        tries: 0,
        random: 0x9E37_79B9_7F4A_7C15,
        goal: (bounds.left_weight - forced, bounds.late, bounds.runs, bounds.cost),
    };
    let outcome = climb.run(&batches, &kept.1, watch);
    let outcome = climb.whole(outcome);
    let met = after(problem, &settled, &groupings, outcome.score.0.min(least_left));
    let open =
        Open { problem, empty: &empty, settled: &settled, groupings: &groupings, least_left };
    if climb.met(&outcome.score) || watch.stopped() {
        return Found { outcome, bounds: met };
    }
    open.prove(ground, (outcome, met), (budget, watch))
}

/// Rolls that fixer and baths can serve, most weight for their load first, and the others.
fn within_capacity(problem: &Problem<'_>, settled: &Settled) -> (Vec<usize>, Vec<usize>) {
    let mut rolls: Vec<usize> =
        (0..problem.items.len()).filter(|roll| !settled.never.contains(roll)).collect();
    rolls.sort_by(|a, b| {
        let (x, y) = (&problem.items[*a], &problem.items[*b]);
        let dense = (i128::from(y.weight) * x.fixer).cmp(&(i128::from(x.weight) * y.fixer));
        (x.preloaded.is_none()).cmp(&y.preloaded.is_none()).then(dense).then(a.cmp(b))
    });
    let mut fixer = problem.day.fixer.map_or(i128::MAX, |fixer| fixer.remaining.wide() * 1_000_000);
    let bath =
        |at: usize| problem.day.developers[at].bath.map_or(i128::MAX, |bath| bath.remaining.wide());
    let mut baths: Vec<i128> = (0..problem.day.developers.len()).map(bath).collect();
    let (mut kept, mut outside) = (Vec::new(), Vec::new());
    for roll in rolls {
        let item = &problem.items[roll];
        let bath = &mut baths[problem.families[item.family].developer];
        if item.fixer <= fixer && item.equivalents <= *bath {
            fixer -= item.fixer;
            *bath -= item.equivalents;
            kept.push(roll);
        } else {
            outside.push(roll);
        }
    }
    kept.sort_unstable();
    (kept, outside)
}

/// The best grouping of every family, preloaded tanks as they are.
fn grouped(
    problem: &Problem<'_>,
    kept: &[usize],
    settled: &Settled,
    (budget, watch): (Budget, &mut Watch<'_, '_>),
) -> (Vec<Batch>, Vec<Grouping>) {
    let (mut batches, mut groupings) = (Vec::new(), Vec::new());
    for (tank, place) in problem.day.tanks.iter().zip(0..) {
        let all =
            !tank.preloaded.is_empty() && tank.preloaded.iter().all(|roll| kept.contains(roll));
        let Some(batch) = all.then(|| Batch::of(problem, tank.preloaded.clone())).flatten() else {
            continue;
        };
        let cost = batch.tanks.iter().find(|(_, tank)| *tank == place).map_or(0, |(cost, _)| *cost);
        groupings.push(Grouping { runs: Vec::new(), least_runs: 1, least_cost: cost });
        batches.push(batch);
    }
    let mut inside = vec![false; problem.items.len()];
    kept.iter().for_each(|roll| inside[*roll] = true);
    // Families are grouped one after another; whoever watches sees one part with one end.
    let in_all = budget.grouping * 2 * problem.families.len() as u64;
    for (family, of) in problem.families.iter().enumerate() {
        let loose = |roll: &&usize| {
            problem.items[**roll].preloaded.is_none() && !settled.never.contains(*roll)
        };
        let all: Vec<usize> = of.rolls.iter().filter(loose).copied().collect();
        let wanted: Vec<usize> = all.iter().copied().filter(|roll| inside[*roll]).collect();
        let mut group = |rolls: &[usize], second: u64| {
            let of = budget.grouping;
            let before = of * (2 * family as u64 + second);
            let mut go_on = |done: u64| watch.go_on(Part::Grouping, (before + done, in_all));
            group(problem, family, rolls, (of, &mut go_on))
        };
        let grouping = group(&wanted, 0);
        batches.extend(grouping.runs.iter().filter_map(|run| Batch::of(problem, run.clone())));
        groupings.push(if wanted.len() == all.len() { grouping } else { group(&all, 1) });
    }
    (batches, groupings)
}

impl Climb<'_, '_> {
    fn run(&mut self, batches: &[Batch], outside: &[usize], watch: &mut Watch<'_, '_>) -> Outcome {
        let mut best: Option<(Order, Outcome)> = None;
        for order in self.first_orders(batches) {
            let outcome = self.decoded(&order, outside);
            if best.as_ref().is_none_or(|(_, least)| outcome.score < least.score) {
                watch.better(self.so_far(&outcome));
                best = Some((order, outcome));
            }
            let met = best.as_ref().is_some_and(|(_, best)| self.met(&best.score));
            if met || !self.told(watch) {
                break;
            }
        }
        let (mut order, mut outcome) =
            best.unwrap_or_else(|| (Vec::new(), decode(self.problem, self.empty, &[])));
        let mut best = outcome.clone();
        // A step is taken if it is no worse than the day some steps ago: so the search can leave
        // a day that no single step improves.
        let mut before = vec![outcome.score; MEMORY];
        while self.tries < self.budget.tries && !self.met(&best.score) && self.told(watch) {
            let Some(next) = self.neighbour(&order, &outcome) else { continue };
            let tried = self.decoded(&next, outside);
            let at = (self.tries % MEMORY as u64) as usize;
            if tried.score <= outcome.score || tried.score <= before[at] {
                (order, outcome) = (next, tried);
            }
            before[at] = outcome.score;
            if outcome.score < best.score {
                best = outcome.clone();
                watch.better(self.so_far(&best));
            }
        }
        best
    }

    /// Tells how far it has come; whether to go on.
    fn told(&self, watch: &mut Watch<'_, '_>) -> bool {
        watch.tried(self.tries);
        watch.go_on(Part::Trying, (self.tries, self.budget.tries))
    }

    /// The best day so far for those who watch; of its bounds only those that always hold.
    fn so_far(&self, outcome: &Outcome) -> Found {
        Found { outcome: self.whole(outcome.clone()), bounds: Bounds::default() }
    }

    /// A day with the rolls that no plan runs, in order.
    fn whole(&self, mut outcome: Outcome) -> Outcome {
        outcome.left.extend(self.never.iter().copied());
        outcome.left.sort_unstable();
        outcome.placed.sort_by_key(|run| (run.start, run.tank));
        outcome.score.0 = outcome.left.iter().map(|roll| self.problem.items[*roll].weight).sum();
        outcome
    }

    fn met(&self, score: &Score) -> bool {
        let forced = self.goal.0;
        (score.0, score.1, score.2, score.3) <= (forced, self.goal.1, self.goal.2, self.goal.3)
    }

    fn decoded(&mut self, order: &Order, outside: &[usize]) -> Outcome {
        self.tries += 1;
        let mut outcome = decode(self.problem, self.empty, order);
        outcome.left.extend(outside);
        outcome.score.0 += outside.iter().map(|roll| self.problem.items[*roll].weight).sum::<i64>();
        outcome
    }

    /// Orders a person would think of first.
    fn first_orders(&self, batches: &[Batch]) -> Vec<Order> {
        let due =
            |batch: &Batch| batch.rolls.iter().map(|roll| self.problem.items[*roll].due).min();
        let ready =
            |batch: &Batch| batch.rolls.iter().map(|roll| self.problem.items[*roll].ready).max();
        let mut orders = Vec::new();
        for taste in [Taste::Thrifty, Taste::Prompt] {
            let mut by_due = batches.to_vec();
            by_due.sort_by_key(|batch| {
                (batch.preloaded.is_none(), due(batch), ready(batch), batch.rolls[0])
            });
            let mut by_size = batches.to_vec();
            by_size.sort_by_key(|batch| (due(batch), ready(batch), -batch.load.rolls, -batch.time));
            let mut by_time = batches.to_vec();
            by_time.sort_by_key(|batch| (ready(batch), -batch.time, due(batch)));
            for order in [by_due, by_size, by_time] {
                orders.push(order.into_iter().map(|batch| (batch, taste)).collect());
            }
        }
        orders
    }

    fn roll_of_dice(&mut self, sides: usize) -> usize {
        self.random ^= self.random << 13;
        self.random ^= self.random >> 7;
        self.random ^= self.random << 17;
        (self.random % sides.max(1) as u64) as usize
    }

    /// A day a little different from this one, with what was left over tried again.
    fn neighbour(&mut self, order: &Order, outcome: &Outcome) -> Option<Order> {
        self.tries += 1;
        let mut next = order.clone();
        self.take_up_left(&mut next, outcome);
        if next.is_empty() {
            return None;
        }
        let (a, b) = (self.roll_of_dice(next.len()), self.roll_of_dice(next.len()));
        match self.roll_of_dice(6) {
            0 => next.swap(a, b),
            1 => {
                let moved = next.remove(a);
                next.insert(b.min(next.len()), moved);
            }
            2 => {
                next[a].1 =
                    if next[a].1 == Taste::Thrifty { Taste::Prompt } else { Taste::Thrifty };
            }
            3 => self.transfer(&mut next, a, b)?,
            4 => self.exchange(&mut next, a, b)?,
            _ => self.split(&mut next, a)?,
        }
        Some(next)
    }

    /// Rolls that the decoding dropped are still in the order's batches; those that lost their
    /// batch altogether come back as batches of their own at the front now and then.
    fn take_up_left(&mut self, next: &mut Order, outcome: &Outcome) {
        if outcome.left.is_empty() || self.roll_of_dice(3) > 0 {
            return;
        }
        let roll = outcome.left[self.roll_of_dice(outcome.left.len())];
        if let Some(at) = next.iter().position(|(batch, _)| batch.rolls.contains(&roll)) {
            let moved = next.remove(at);
            next.insert(0, moved);
        }
    }

    fn transfer(&mut self, next: &mut Order, from: usize, to: usize) -> Option<()> {
        if from == to || next[from].0.family != next[to].0.family {
            return None;
        }
        let at = self.roll_of_dice(next[from].0.rolls.len());
        let mut giving = next[from].0.rolls.clone();
        let mut taking = next[to].0.rolls.clone();
        taking.push(giving.remove(at));
        next[to].0 = Batch::of(self.problem, taking)?;
        if giving.is_empty() {
            next.remove(from);
        } else {
            next[from].0 = Batch::of(self.problem, giving)?;
        }
        Some(())
    }

    fn exchange(&mut self, next: &mut Order, a: usize, b: usize) -> Option<()> {
        if a == b || next[a].0.family != next[b].0.family {
            return None;
        }
        let (mut left, mut right) = (next[a].0.rolls.clone(), next[b].0.rolls.clone());
        let (i, j) = (self.roll_of_dice(left.len()), self.roll_of_dice(right.len()));
        std::mem::swap(&mut left[i], &mut right[j]);
        next[a].0 = Batch::of(self.problem, left)?;
        next[b].0 = Batch::of(self.problem, right)?;
        Some(())
    }

    fn split(&mut self, next: &mut Order, a: usize) -> Option<()> {
        let rolls = next[a].0.rolls.clone();
        if rolls.len() < 2 {
            return None;
        }
        let cut = 1 + self.roll_of_dice(rolls.len() - 1);
        let taste = next[a].1;
        let rest = Batch::of(self.problem, rolls[cut..].to_vec())?;
        next[a].0 = Batch::of(self.problem, rolls[..cut].to_vec())?;
        let at = self.roll_of_dice(next.len());
        next.insert(at, (rest, taste));
        Some(())
    }
}
