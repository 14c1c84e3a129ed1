//! What the rules take away from the times of moments before any clash is settled.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::super::clock::Seconds,
    Times,
    rules::{Rules, Shared, Use},
};

impl Rules {
    /// Whether something has less time than is asked of it, between any two moments.
    pub(super) fn overfull(&self, times: &Times) -> bool {
        let full = |shared: &Shared| {
            let mut asked: Vec<(Seconds, Seconds, Seconds)> = shared
                .uses
                .iter()
                .map(|taken| {
                    let from = times.first[taken.from.0] + taken.from.1;
                    let to = times.last[taken.to.0] + taken.to.1;
                    (to, from, taken.length.saturating_mul(taken.amount))
                })
                .collect();
            asked.sort_unstable();
            asked.iter().any(|(_, open, _)| {
                let mut sum: Seconds = 0;
                asked.iter().filter(|(_, from, _)| from >= open).any(|(to, _, work)| {
                    sum = sum.saturating_add(*work);
                    sum > (to - open).saturating_mul(shared.supply)
                })
            })
        };
        full(&self.hands) || self.shared.iter().any(full)
    }

    /// Moves what cannot be beside what is there for sure at a moment: whether anything moved, or
    /// nothing where something has no place left.
    pub(super) fn shifted(&self, times: &mut Times) -> Option<bool> {
        let mut changed = false;
        for shared in &self.shared {
            for (at, taken) in shared.uses.iter().enumerate() {
                changed |= self.later(shared, (at, taken), times)?;
                changed |= self.earlier(shared, (at, taken), times)?;
            }
        }
        Some(changed)
    }

    fn later(
        &self,
        shared: &Shared,
        (at, taken): (usize, &Use),
        times: &mut Times,
    ) -> Option<bool> {
        let mut changed = false;
        loop {
            let from = times.first[taken.from.0] + taken.from.1;
            let Some((_, end)) = shared.full(at, (from, from + taken.length), times) else {
                return Some(changed);
            };
            let first = self.pace.up(taken.from.0, end - taken.from.1);
            if first > times.last[taken.from.0] {
                return None;
            }
            times.first[taken.from.0] = first;
            changed = true;
        }
    }

    fn earlier(
        &self,
        shared: &Shared,
        (at, taken): (usize, &Use),
        times: &mut Times,
    ) -> Option<bool> {
        let mut changed = false;
        loop {
            let to = times.last[taken.to.0] + taken.to.1;
            let Some((begin, _)) = shared.full(at, (to - taken.length, to), times) else {
                return Some(changed);
            };
            let last = self.pace.down(taken.to.0, begin - taken.to.1);
            if last < times.first[taken.to.0] {
                return None;
            }
            times.last[taken.to.0] = last;
            changed = true;
        }
    }
}

impl Shared {
    /// A stretch that meets the span and in which the others surely leave too little for one.
    fn full(
        &self,
        one: usize,
        (from, to): (Seconds, Seconds),
        times: &Times,
    ) -> Option<(Seconds, Seconds)> {
        let sure = |other: &Use| {
            let begin = times.last[other.from.0] + other.from.1;
            (begin, times.first[other.to.0] + other.to.1)
        };
        let others = || {
            let all = self.uses.iter().enumerate().filter(move |(at, _)| *at != one);
            all.map(|(_, other)| (sure(other), other.amount)).filter(|((a, b), _)| a < b)
        };
        others().find_map(|((begin, _), _)| {
            let moment = begin.max(from);
            if moment >= to {
                return None;
            }
            let there = || others().filter(|((a, b), _)| *a <= moment && moment < *b);
            let sum: i64 = there().map(|(_, amount)| amount).sum();
            if sum + self.uses[one].amount <= self.supply {
                return None;
            }
            let begin = there().map(|((a, _), _)| a).max()?;
            let end = there().map(|((_, b), _)| b).min()?;
            Some((begin, end))
        })
    }
}
