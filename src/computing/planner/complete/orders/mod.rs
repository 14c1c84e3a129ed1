//! Whether a set of runs finds a day, settled conflict by conflict.
//!
//! Starts and loadings are as early as what was settled so far allows. Where two of them clash so,
//! one must give way: each way is tried, and put down as "this not before that, and so much
//! later" (precedence constraint posting; Cheng and Smith 1994). A clash of which only one way is
//! left before closing is settled at once. A day without a clash is a day for the runs; if every
//! way is closed, there is none. What is put down does not depend on the grid's fineness.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

mod clashes;
mod narrowing;
mod rules;
#[cfg(test)]
mod tests;

use super::{
    super::{clock::Seconds, problem::Problem},
    Started,
    timetable::{Answer, Hand, Scheduled},
};
use rules::{Pace, Rules};

/// Moment `to` comes no earlier than `after` after moment `from`. Moments are the starts of the
/// runs, then their loadings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Behind {
    from: usize,
    to: usize,
    after: Seconds,
}

/// One way to settle a clash: moments behind others, and a moment that is not before a time.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
struct Way {
    behind: Vec<Behind>,
    not_before: Option<(usize, Seconds)>,
}

/// The first and the last that each moment can be.
#[derive(Clone)]
struct Times {
    first: Vec<Seconds>,
    last: Vec<Seconds>,
}

/// The search for a day of a set of runs.
pub(super) struct Orders<'o, 'd> {
    problem: &'o Problem<'d>,
    rules: Rules,
    settled: Vec<Behind>,
    limit: usize,
    work: u64,
    most: u64,
    go_on: &'o mut dyn FnMut(u64) -> bool,
    /// Whether every way that was given up is closed.
    certain: bool,
}

impl<'o, 'd> Orders<'o, 'd> {
    /// Nothing where the room has more to it than is settled here.
    pub(super) fn of(
        problem: &'o Problem<'d>,
        runs: &[Started<'_>],
        limit: usize,
        (most, go_on): (u64, &'o mut dyn FnMut(u64) -> bool),
    ) -> Option<Self> {
        let rules = Rules::of(problem, runs)?;
        let settled = rules.always.clone();
        Some(Self { problem, rules, settled, limit, work: 0, most, go_on, certain: true })
    }

    /// The answer, and how much work it took.
    pub(super) fn find(mut self, runs: &[Started<'_>]) -> (Answer, u64) {
        let times = Times { first: self.rules.first.clone(), last: self.rules.last.clone() };
        let found = self.go(times);
        let answer = match found {
            Some(day) => Answer::Found(self.scheduled(runs, &day)),
            None if self.certain => Answer::None,
            None => Answer::Unknown,
        };
        (answer, self.work)
    }

    /// A day without a clash within these times.
    fn go(&mut self, mut times: Times) -> Option<(Vec<Seconds>, Vec<usize>)> {
        const SELDOM: u64 = 64;
        self.work += 1;
        let told = self.work.is_multiple_of(SELDOM) && !(self.go_on)(self.work);
        if told || self.work >= self.most {
            self.most = 0;
            self.certain = false;
            return None;
        }
        if !self.narrowed(&mut times) {
            return None;
        }
        let ways = match self.tightest(&times) {
            Some(either) => either.into_iter().map(Way::from).collect(),
            None => match self.clash(&times.first) {
                Ok(crew) => return Some((times.first, crew)),
                Err(ways) => ways,
            },
        };
        if ways.is_empty() {
            self.certain = false;
            return None;
        }
        let mut ways: Vec<(Seconds, usize, Way)> = ways
            .into_iter()
            .enumerate()
            .map(|(at, way)| (times.room_of(&way), at, way))
            .filter(|(room, ..)| *room >= 0)
            .collect();
        ways.sort_by_key(|(room, at, _)| (-room, *at));
        for (_, _, way) in ways {
            let before = self.settled.len();
            let mut times = times.clone();
            if let Some((moment, time)) = way.not_before {
                times.first[moment] = times.first[moment].max(self.rules.pace.up(moment, time));
            }
            self.settled.extend(way.behind);
            let found = self.go(times);
            self.settled.truncate(before);
            if found.is_some() || self.most == 0 {
                return found;
            }
        }
        None
    }

    /// Takes away all that what is settled rules out; whether anything is left.
    fn narrowed(&self, times: &mut Times) -> bool {
        loop {
            let mut changed = false;
            for behind in &self.settled {
                match times.put(*behind, self.rules.pace) {
                    None => return false,
                    Some(new) => changed |= new,
                }
            }
            for [one, two] in &self.rules.either {
                let put = match (times.room(*one) >= 0, times.room(*two) >= 0) {
                    (true, true) => Some(false),
                    (true, false) => times.put(*one, self.rules.pace),
                    (false, true) => times.put(*two, self.rules.pace),
                    (false, false) => None,
                };
                match put {
                    None => return false,
                    Some(new) => changed |= new,
                }
            }
            if !changed {
                if !self.in_time(times) || self.rules.overfull(times) {
                    return false;
                }
                // Fewer late rolls may be allowed to the rest than a moment would bring.
                let earlier = self.on_time(times);
                match self.rules.shifted(times) {
                    None => return false,
                    Some(false) if !earlier => return true,
                    Some(_) => {}
                }
            }
        }
    }

    /// Whether no more rolls are late than may be.
    fn in_time(&self, times: &Times) -> bool {
        self.late(times) <= self.limit
    }

    fn late(&self, times: &Times) -> usize {
        let runs = self.rules.late.iter().zip(&times.first);
        runs.map(|(late, start)| late.iter().filter(|last| *last < start).count()).sum()
    }

    /// Starts after which too many rolls were late are taken away; whether there were any.
    fn on_time(&self, times: &mut Times) -> bool {
        let spare = self.limit - self.late(times).min(self.limit);
        let mut changed = false;
        for (run, late) in self.rules.late.iter().enumerate() {
            // In order: the last start at which each roll is on time.
            let still = late.iter().filter(|last| **last >= times.first[run]);
            let last = still.copied().nth(spare).map(|last| self.rules.pace.down(run, last));
            if let Some(last) = last.filter(|last| *last < times.last[run]) {
                times.last[run] = last;
                changed = true;
            }
        }
        changed
    }

    /// Of the clashes of two moments the one that leaves least room.
    fn tightest(&self, times: &Times) -> Option<[Behind; 2]> {
        let open = self.rules.either.iter().filter(|[one, two]| {
            let held =
                |behind: &Behind| times.first[behind.to] >= times.first[behind.from] + behind.after;
            !held(one) && !held(two)
        });
        let room = |[one, two]: &[Behind; 2]| {
            let (one, two) = (times.room(*one), times.room(*two));
            (one.min(two), one.max(two))
        };
        open.min_by_key(|either| room(either)).copied()
    }

    fn scheduled(&self, runs: &[Started<'_>], day: &(Vec<Seconds>, Vec<usize>)) -> Scheduled {
        let (moments, crew) = day;
        let count = runs.len();
        let sinks = self.sinks(runs, moments);
        let hand = |at: usize| Hand {
            sink: sinks[at],
            person: crew[at],
            loader: crew[count + at],
            loading: super::super::day::Span {
                from: moments[count + at],
                to: moments[count + at] + runs[at].mixture.loading,
            },
        };
        let late = self.rules.late.iter().zip(moments);
        Scheduled {
            runs: runs.iter().zip(moments).map(|(run, start)| (run.at, run.tank, *start)).collect(),
            hands: (0..count).map(hand).collect(),
            late: late.map(|(late, start)| late.iter().filter(|last| *last < start).count()).sum(),
        }
    }

    /// A place at a sink for each run, the first that is free.
    fn sinks(&self, runs: &[Started<'_>], moments: &[Seconds]) -> Vec<usize> {
        let day = self.problem.day;
        let gap = day.steps.sink_gap_s;
        let mut free: Vec<(usize, Seconds)> = Vec::new();
        for (sink, of) in day.sinks.iter().enumerate() {
            let places = usize::try_from(of.places).unwrap_or(0).min(runs.len());
            free.extend(std::iter::repeat_n((sink, 0), places));
        }
        let mut by_start: Vec<usize> = (0..runs.len()).collect();
        by_start.sort_by_key(|at| moments[*at]);
        let mut sinks = vec![0; runs.len()];
        for at in by_start {
            let start = moments[at];
            if let Some(place) = free.iter_mut().find(|(_, free)| *free <= start) {
                sinks[at] = place.0;
                place.1 = start + runs[at].mixture.length + gap;
            }
        }
        sinks
    }
}

impl From<Behind> for Way {
    fn from(behind: Behind) -> Self {
        Self { behind: vec![behind], not_before: None }
    }
}

impl Times {
    /// How much room the least of what a way puts behind another has.
    fn room_of(&self, way: &Way) -> Seconds {
        let behind = way.behind.iter().map(|behind| self.room(*behind));
        let late = way.not_before.map(|(moment, time)| self.last[moment] - time);
        behind.chain(late).min().unwrap_or(0)
    }

    /// How much later than it must the moment behind could still be; less than nothing where it
    /// cannot be behind.
    fn room(&self, behind: Behind) -> Seconds {
        self.last[behind.to] - self.first[behind.from] - behind.after
    }

    /// Puts one moment behind the other: whether that changed anything, nothing where it cannot
    /// be.
    fn put(&mut self, behind: Behind, pace: Pace) -> Option<bool> {
        let first = pace.up(behind.to, self.first[behind.from] + behind.after);
        let last = pace.down(behind.from, self.last[behind.to] - behind.after);
        let mut changed = false;
        if first > self.first[behind.to] {
            self.first[behind.to] = first;
            changed = true;
        }
        if last < self.last[behind.from] {
            self.last[behind.from] = last;
            changed = true;
        }
        let possible = self.first[behind.to] <= self.last[behind.to]
            && self.first[behind.from] <= self.last[behind.from];
        possible.then_some(changed)
    }
}
