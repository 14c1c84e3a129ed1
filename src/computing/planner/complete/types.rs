//! Rolls that nothing tells apart, and every mixture of them that a run could be.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::{BTreeMap, BTreeSet};

use super::super::{
    clock::Seconds,
    day::Span,
    placing::{Batch, Phases},
    problem::Problem,
};

/// Rolls alike in everything that a plan depends on.
pub(super) struct Kind {
    pub(super) rolls: Vec<usize>,
    pub(super) weight: i64,
    pub(super) reel: usize,
    pub(super) due: Seconds,
}

/// A run without its place in the day: how many rolls of which kinds, and what follows.
pub(super) struct Mixture {
    /// Kind and how many of it.
    pub(super) counts: Vec<(usize, usize)>,
    /// When its rolls are due, and how many then.
    pub(super) dues: Vec<(Seconds, usize)>,
    pub(super) batch: Batch,
    pub(super) rolls: usize,
    pub(super) weight: i64,
    pub(super) length: Seconds,
    pub(super) loading: Seconds,
    pub(super) ready: Seconds,
    pub(super) hands: Vec<Span>,
    pub(super) developing: Span,
    pub(super) fixing: Span,
    /// Reel kind and how many.
    pub(super) reels: Vec<(usize, i64)>,
    pub(super) fixer: i128,
    pub(super) equivalents: i128,
    pub(super) developer: usize,
    /// Cost by tank, nothing where it does not fit.
    pub(super) costs: Vec<Option<i128>>,
    /// The same for mixtures that need the same times and reels.
    pub(super) shape: usize,
    /// The same for mixtures that ask the same of the room in everything.
    pub(super) likeness: usize,
}

/// All mixtures of a day.
pub(super) struct Mixtures {
    pub(super) kinds: Vec<Kind>,
    pub(super) all: Vec<Mixture>,
    /// How many shapes there are.
    pub(super) shapes: usize,
}

impl Mixture {
    /// How long hands are at work after its end: the room may be closed then.
    pub(super) fn hands_after(&self) -> Seconds {
        self.hands.last().map_or(0, |last| (last.to - self.length).max(0))
    }
}

impl Mixtures {
    /// Every mixture of rolls, without those that no plan runs; nothing where there are more
    /// than `most`, or where a tank was loaded before.
    pub(super) fn of(problem: &Problem<'_>, never: &BTreeSet<usize>, most: usize) -> Option<Self> {
        if problem.items.iter().any(|item| item.preloaded.is_some()) {
            return None;
        }
        let mut found = Self { kinds: kinds(problem, never), all: Vec::new(), shapes: 0 };
        for first in 0..found.kinds.len() {
            found.grow(problem, &mut vec![(first, 1)], most)?;
        }
        found.all.sort_by_key(|mixture| {
            (std::cmp::Reverse(mixture.weight), mixture.length, mixture.counts.clone())
        });
        let (mut shapes, mut likes) = (BTreeMap::new(), BTreeMap::new());
        for mixture in &mut found.all {
            let bath = problem.day.developers[mixture.developer].bath.map(|_| mixture.developer);
            let moments = (mixture.length, mixture.loading, mixture.ready, mixture.dues.clone());
            let spans = (mixture.hands.clone(), mixture.developing, mixture.fixing);
            let amounts = (mixture.reels.clone(), mixture.rolls, mixture.batch.load.asked.cover);
            let next = likes.len();
            mixture.likeness = *likes.entry((moments, spans, amounts, bath)).or_insert(next);
            let times = (mixture.length, mixture.loading, mixture.ready);
            let next = shapes.len();
            mixture.shape = *shapes.entry((times, mixture.reels.clone())).or_insert(next);
        }
        found.shapes = shapes.len();
        Some(found)
    }

    fn grow(
        &mut self,
        problem: &Problem<'_>,
        counts: &mut Vec<(usize, usize)>,
        most: usize,
    ) -> Option<()> {
        let rolls = self.rolls(counts);
        let Some(batch) = Batch::of(problem, rolls) else { return Some(()) };
        let mixture = self.mixture(problem, counts, batch);
        let owned = |(kind, n): &(usize, i64)| *n <= problem.day.reels[*kind].owned;
        let hooks = problem.day.hanging.as_ref().is_none_or(|h| mixture.rolls as i64 <= h.places);
        if !hooks || !mixture.reels.iter().all(owned) {
            return Some(());
        }
        self.all.push(mixture);
        if self.all.len() > most {
            return None;
        }
        let (last, used) = counts[counts.len() - 1];
        if used < self.kinds[last].rolls.len() {
            let at = counts.len() - 1;
            counts[at].1 += 1;
            self.grow(problem, counts, most)?;
            counts[at].1 -= 1;
        }
        for next in last + 1..self.kinds.len() {
            counts.push((next, 1));
            self.grow(problem, counts, most)?;
            counts.pop();
        }
        Some(())
    }

    fn rolls(&self, counts: &[(usize, usize)]) -> Vec<usize> {
        counts.iter().flat_map(|(kind, n)| self.kinds[*kind].rolls[..*n].to_vec()).collect()
    }

    fn mixture(&self, problem: &Problem<'_>, counts: &[(usize, usize)], batch: Batch) -> Mixture {
        let phases = Phases::of(problem, &batch);
        let items = || batch.rolls.iter().map(|roll| &problem.items[*roll]);
        let mut costs = vec![None; problem.day.tanks.len()];
        batch.tanks.iter().for_each(|(cost, tank)| costs[*tank] = Some(*cost));
        Mixture {
            counts: counts.to_vec(),
            dues: counts.iter().map(|(kind, n)| (self.kinds[*kind].due, *n)).collect(),
            rolls: batch.rolls.len(),
            weight: items().map(|item| item.weight).sum(),
            length: phases.end,
            loading: problem.day.loading_per_tank_s + items().map(|item| item.loading).sum::<i64>(),
            ready: items().map(|item| item.ready).max().unwrap_or(0),
            developing: Span { from: phases.poured, to: phases.developed },
            fixing: phases.fixing,
            hands: phases.hands,
            reels: {
                let mut reels = batch.reels(problem);
                reels.sort_unstable();
                reels
            },
            fixer: items().map(|item| item.fixer).sum(),
            equivalents: items().map(|item| item.equivalents).sum(),
            developer: problem.families[batch.family].developer,
            costs,
            shape: 0,
            likeness: 0,
            batch,
        }
    }
}

fn kinds(problem: &Problem<'_>, never: &BTreeSet<usize>) -> Vec<Kind> {
    let by_owner = problem.day.rules.max_owners_per_run.is_some();
    let mut kinds: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (roll, item) in problem.items.iter().enumerate().filter(|(roll, _)| !never.contains(roll)) {
        let owner = if by_owner { item.owner } else { 0 };
        let times = (item.family, item.least, item.most, item.time);
        let shape = (item.height, item.reel, item.reels, item.cover, item.loading);
        let rest = (item.equivalents, item.fixer, item.alone, item.weight, owner);
        kinds.entry((times, shape, rest, item.ready, item.due)).or_default().push(roll);
    }
    let of = |rolls: Vec<usize>| {
        let item = &problem.items[rolls[0]];
        Kind { weight: item.weight, reel: item.reel, due: item.due, rolls }
    };
    kinds.into_values().map(of).collect()
}
