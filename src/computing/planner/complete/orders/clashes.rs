//! Clashes of more than two runs, in a day in which each moment is the first it can be.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::super::{clock::Seconds, day::Span},
    Behind, Orders, Way,
    rules::{Shared, Use, apart},
};

impl Orders<'_, '_> {
    /// Who does what, runs first and then loadings; or the ways to settle a clash, one of which
    /// every day takes. No way at all says that nothing is known.
    pub(super) fn clash(&self, moments: &[Seconds]) -> Result<Vec<usize>, Vec<Way>> {
        for shared in &self.rules.shared {
            if let Some(ways) = short(shared, moments) {
                return Err(ways);
            }
        }
        if self.rules.hands.supply == 1 {
            return Ok(vec![0; moments.len()]);
        }
        self.crew(moments)
    }

    /// What each moment takes of somebody's hands.
    fn spans(&self, moment: usize) -> Vec<Span> {
        let runs = self.rules.windows.len();
        match moment.checked_sub(runs) {
            Some(run) => vec![Span { from: 0, to: self.rules.loading[run] }],
            None => self.rules.windows[moment].clone(),
        }
    }

    /// Two people: whose work meets is done by different ones, all around.
    fn crew(&self, moments: &[Seconds]) -> Result<Vec<usize>, Vec<Way>> {
        let runs = self.rules.windows.len();
        let spans: Vec<Vec<Span>> = (0..moments.len())
            .map(|at| self.spans(at).into_iter().map(|span| span.after(moments[at])).collect())
            .collect();
        let meets = |one: usize, two: usize| {
            let own_loading = one + runs == two || two + runs == one;
            one != two
                && !own_loading
                && spans[one].iter().any(|own| spans[two].iter().any(|other| own.meets(*other)))
        };
        // Each part of those who meet, with the person of its first one open.
        let mut parts: Vec<Vec<usize>> = Vec::new();
        let mut person: Vec<Option<usize>> = vec![None; moments.len()];
        let mut found_by: Vec<usize> = (0..moments.len()).collect();
        for first in 0..moments.len() {
            if person[first].is_some() {
                continue;
            }
            person[first] = Some(0);
            let mut part = vec![first];
            let mut next = 0;
            while let Some(one) = part.get(next).copied() {
                next += 1;
                for two in (0..moments.len()).filter(|two| meets(one, *two)) {
                    if person[two].is_none() {
                        person[two] = person[one].map(|own| 1 - own);
                        found_by[two] = one;
                        part.push(two);
                    } else if person[two] == person[one] {
                        return Err(self.around((&found_by, moments), one, two));
                    }
                }
            }
            parts.push(part);
        }
        let person: Vec<usize> = person.into_iter().map(|own| own.unwrap_or(0)).collect();
        self.not_too_many(moments, person, &parts).ok_or_else(Vec::new)
    }

    /// An odd round of work that meets cannot be shared by two: somewhere it must be kept apart.
    fn around(
        &self,
        (found_by, moments): (&[usize], &[Seconds]),
        one: usize,
        two: usize,
    ) -> Vec<Way> {
        let line = |from: usize| {
            let mut all = vec![from];
            while let Some(last) = all.last().copied().filter(|last| found_by[*last] != *last) {
                all.push(found_by[last]);
            }
            all
        };
        let (mut one_up, mut two_up) = (line(one), line(two));
        // Above where the lines join they are the same.
        while one_up.len() > 1
            && two_up.len() > 1
            && one_up[one_up.len() - 2] == two_up[two_up.len() - 2]
        {
            one_up.pop();
            two_up.pop();
        }
        let steps = |line: &[usize]| -> Vec<(usize, usize)> {
            line.windows(2).map(|pair| (pair[0], pair[1])).collect()
        };
        let edges = steps(&one_up).into_iter().chain(steps(&two_up)).chain([(one, two)]);
        edges.flat_map(|(one, two)| self.ways_apart(moments, one, two)).map(Way::from).collect()
    }

    /// The ways to keep the work of two moments apart that meets now.
    fn ways_apart(&self, moments: &[Seconds], one: usize, two: usize) -> Vec<Behind> {
        let (own, other) = (self.spans(one), self.spans(two));
        let held = |way: &Behind| moments[way.to] >= moments[way.from] + way.after;
        let ways = apart((one, &own), (two, &other)).into_iter();
        ways.filter(|either| !either.iter().any(held)).flatten().collect()
    }

    /// Nobody develops more tanks at once than they may: parts change hands until that holds.
    fn not_too_many(
        &self,
        moments: &[Seconds],
        mut person: Vec<usize>,
        parts: &[Vec<usize>],
    ) -> Option<Vec<usize>> {
        const MOST: u32 = 10;
        let people = &self.problem.day.people;
        let runs = self.rules.windows.len();
        let fits = |person: &[usize]| {
            (0..runs).all(|at| {
                let moment = self.rules.developing[at].after(moments[at]).from;
                let at_once = (0..runs).filter(|other| {
                    let span = self.rules.developing[*other].after(moments[*other]);
                    person[*other] == person[at] && span.from <= moment && moment < span.to
                });
                i64::try_from(at_once.count()).unwrap_or(i64::MAX)
                    <= people[person[at]].tanks_at_once
            })
        };
        let first = person.clone();
        let parts = &parts[..parts.len().min(usize::try_from(MOST).unwrap_or(0))];
        for flipped in 0..1_usize << parts.len() {
            person.clone_from(&first);
            for (at, part) in parts.iter().enumerate() {
                if flipped & (1 << at) > 0 {
                    part.iter().for_each(|moment| person[*moment] = 1 - person[*moment]);
                }
            }
            if fits(&person) {
                return Some(person);
            }
        }
        None
    }
}

/// The ways to take less of something at a moment at which there is not enough.
fn short(shared: &Shared, moments: &[Seconds]) -> Option<Vec<Way>> {
    for taken in &shared.uses {
        let moment = moments[taken.from.0] + taken.from.1;
        let mut there: Vec<&Use> = shared
            .uses
            .iter()
            .filter(|own| {
                moments[own.from.0] + own.from.1 <= moment && moment < moments[own.to.0] + own.to.1
            })
            .collect();
        let mut sum: i64 = there.iter().map(|own| own.amount).sum();
        if sum <= shared.supply {
            continue;
        }
        // As few as make too much: of the others each could stay.
        there.sort_by_key(|own| own.amount);
        there.retain(|own| {
            let spared = sum - own.amount > shared.supply;
            sum -= if spared { own.amount } else { 0 };
            !spared
        });
        return Some(there.iter().map(|last| taken_last(&there, last, moments)).collect());
    }
    None
}

/// Of uses that are too many at once one is the last to begin: not before one of the others ends.
fn taken_last(all: &[&Use], last: &Use, moments: &[Seconds]) -> Way {
    let others = || all.iter().filter(|other| other.from.0 != last.from.0);
    let begun = others().map(|other| Behind {
        from: other.from.0,
        to: last.from.0,
        after: other.from.1 - last.from.1,
    });
    let ends = others().map(|other| moments[other.to.0] + other.to.1).min();
    Way { behind: begun.collect(), not_before: ends.map(|end| (last.from.0, end - last.from.1)) }
}
