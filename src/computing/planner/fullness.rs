//! How full a run can be with rolls of different sizes, whatever their times.
//!
//! Rolls of few sizes fill tanks in few ways. Any weights of the sizes, with the most that a full
//! run weighs, give a lower bound of the runs, and the best weights say which full run wastes
//! least.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::problem::{Load, Problem};

/// More sizes than this are not looked at together.
const MOST_SIZES: usize = 4;

/// A weight for each kind of roll, and the most that one run weighs.
#[derive(Debug, Clone)]
pub(super) struct Measure {
    pub(super) weights: Vec<i128>,
    pub(super) most: i128,
}

/// The sizes of a family's rolls and every full run of them.
pub(super) struct Sizes {
    /// The size of each kind; nothing for kinds that run alone.
    pub(super) of: Vec<Option<usize>>,
    /// How many of each size: runs to which no roll can be added.
    pub(super) full: Vec<Vec<usize>>,
    /// Weights of the sizes, to be tried in turn.
    pub(super) weights: Vec<Vec<i128>>,
}

impl Sizes {
    /// Of kinds given by one roll each; nothing where there are too many sizes.
    pub(super) fn of(problem: &Problem<'_>, family: usize, samples: &[usize]) -> Option<Self> {
        let mut known = Vec::new();
        let mut sized = Vec::new();
        let mut of = Vec::with_capacity(samples.len());
        for sample in samples {
            let item = &problem.items[*sample];
            let size = (item.height, item.reels, item.cover, item.equivalents);
            let place = known.iter().position(|other| *other == size);
            of.push((!item.alone).then(|| {
                place.unwrap_or_else(|| {
                    known.push(size);
                    sized.push(*sample);
                    known.len() - 1
                })
            }));
        }
        if sized.is_empty() || sized.len() > MOST_SIZES {
            return None;
        }
        let mut found = Self { of, full: Vec::new(), weights: Vec::new() };
        found.fill((problem, family), &sized, &mut vec![0; sized.len()], 0);
        found.weights = weights(&found.full, sized.len());
        (!found.full.is_empty()).then_some(found)
    }

    /// All counts from size `from` on; those that nothing can be added to are kept.
    fn fill(
        &mut self,
        (problem, family): (&Problem<'_>, usize),
        sized: &[usize],
        counts: &mut Vec<usize>,
        from: usize,
    ) {
        let mut full = true;
        for size in 0..sized.len() {
            counts[size] += 1;
            if holds(problem, family, sized, counts) {
                full = false;
                if size >= from {
                    self.fill((problem, family), sized, counts, size);
                }
            }
            counts[size] -= 1;
        }
        if full && counts.iter().any(|count| *count > 0) {
            self.full.push(counts.clone());
        }
    }

    /// Each kind's weight, and the most of a full run.
    pub(super) fn measure(&self, weights: &[i128]) -> Measure {
        let heavy = |full: &Vec<usize>| weigh(full, weights);
        Measure {
            weights: self.of.iter().map(|size| size.map_or(0, |size| weights[size])).collect(),
            most: self.full.iter().map(heavy).max().unwrap_or(1).max(1),
        }
    }

    /// The full run that weighs most of what is there, with at least one of size `with`.
    pub(super) fn heaviest(&self, weights: &[i128], there: &[usize], with: usize) -> Vec<usize> {
        let clipped = self.full.iter().map(|full| {
            full.iter().zip(there).map(|(n, there)| *n.min(there)).collect::<Vec<usize>>()
        });
        let best = clipped.filter(|run| run[with] > 0).max_by_key(|run| weigh(run, weights));
        best.unwrap_or_default()
    }
}

fn weigh(counts: &[usize], weights: &[i128]) -> i128 {
    counts.iter().zip(weights).map(|(n, weight)| *n as i128 * weight).sum()
}

/// Whether some tank holds so many of each size, times and owners apart.
fn holds(problem: &Problem<'_>, family: usize, sized: &[usize], counts: &[usize]) -> bool {
    let mut load = Load::empty();
    for (sample, count) in sized.iter().zip(counts) {
        let (item, n) = (&problem.items[*sample], *count as i64);
        load.height += item.height * i128::from(n);
        load.reels += item.reels * n;
        load.rolls += n;
        load.asked.cover += item.cover * i128::from(n);
        load.asked.equivalents += item.equivalents * i128::from(n);
    }
    let allowed = problem.day.rules.max_rolls_per_run.is_none_or(|most| load.rolls <= most);
    let mut tanks = 0..problem.day.tanks.len();
    allowed && tanks.any(|tank| problem.poured(family, &load, tank).is_some())
}

/// Weights about as a size takes its share of a tank, and more and less.
fn weights(full: &[Vec<usize>], sizes: usize) -> Vec<Vec<i128>> {
    const WHOLE: i128 = 1_000_000;
    let most = |size: usize| full.iter().map(|run| run[size]).max().unwrap_or(1).max(1);
    let shares: Vec<i128> = (0..sizes).map(|size| WHOLE / most(size) as i128).collect();
    let percents: &[i128] = match sizes {
        1 => &[100],
        2 => &[60, 65, 70, 75, 80, 84, 88, 92, 96, 100, 104, 108, 112, 116, 120, 130, 140, 160],
        3 => &[80, 90, 100, 110, 125],
        _ => &[85, 100, 115],
    };
    let mut all: Vec<Vec<i128>> = vec![vec![shares[0]]];
    for share in &shares[1..] {
        let more = |before: &Vec<i128>| {
            let before = before.clone();
            percents
                .iter()
                .map(move |percent| [before.clone(), vec![share * percent / 100]].concat())
        };
        all = all.iter().flat_map(more).collect();
    }
    all
}
