//! Whether a set of runs, each with its tank, finds a day in the real room.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::{BTreeMap, BTreeSet};

use super::{
    super::{
        clock::Seconds,
        day::{Span, Tank},
        problem::Problem,
        room::Room,
    },
    MOST_REMEMBERED, Started,
    orders::Orders,
    reach::Reach,
    timetable::{Answer, Scheduled, Timetable},
    trial::Trial,
    types::{Mixture, Mixtures},
};

/// Told how much work was done; answers whether to go on.
pub(super) type GoOn<'a> = &'a mut dyn FnMut(u64) -> bool;

/// What a set of runs asks of the room, tank by tank, and the most late rolls allowed: sets
/// that ask the same have the same answer.
type Key = (Vec<usize>, usize);

/// Answers so far, and the work that is left.
pub(super) struct Sets<'a, 'd> {
    problem: &'a Problem<'d>,
    mixtures: &'a Mixtures,
    reach: &'a Reach,
    empty: Room,
    /// Tanks of the same number are alike for every run that fits them.
    alike: Vec<usize>,
    known: BTreeMap<Key, Option<Scheduled>>,
    /// Those of them that were given up before they were settled.
    unsettled: BTreeSet<Key>,
    pub(super) work: u64,
    most: u64,
    told: u64,
    go_on: GoOn<'a>,
    pub(super) complete: bool,
}

impl<'a, 'd> Sets<'a, 'd> {
    pub(super) fn new(
        problem: &'a Problem<'d>,
        mixtures: &'a Mixtures,
        reach: &'a Reach,
        (work, go_on): (u64, GoOn<'a>),
    ) -> Self {
        let tanks = &problem.day.tanks;
        let same = |one: &Tank, two: &Tank| one.busy == two.busy && one.base_ml == two.base_ml;
        let first = |tank: &Tank| tanks.iter().position(|other| same(other, tank)).unwrap_or(0);
        Self {
            problem,
            mixtures,
            reach,
            empty: Room::empty(problem),
            alike: tanks.iter().map(first).collect(),
            known: BTreeMap::new(),
            unsettled: BTreeSet::new(),
            work,
            most: work,
            told: 0,
            go_on,
            complete: true,
        }
    }

    /// The runs in an order that does not depend on names, and what they ask.
    fn ordered(&self, runs: &[Started<'a>]) -> (Vec<Started<'a>>, Vec<usize>) {
        let mut tanks: BTreeMap<usize, Vec<(usize, usize)>> = BTreeMap::new();
        for (place, run) in runs.iter().enumerate() {
            tanks.entry(run.tank).or_default().push((run.mixture.likeness, place));
        }
        let mut tanks: Vec<(usize, Vec<(usize, usize)>)> = tanks.into_iter().collect();
        tanks.iter_mut().for_each(|(_, inside)| inside.sort_unstable());
        tanks.sort_by_key(|(tank, inside)| {
            let likes: Vec<usize> = inside.iter().map(|(like, _)| *like).collect();
            (self.alike[*tank], likes, *tank)
        });
        let (mut ordered, mut asked) = (Vec::with_capacity(runs.len()), Vec::new());
        for (tank, inside) in tanks {
            asked.extend([usize::MAX, self.alike[tank]]);
            for (like, place) in inside {
                asked.push(like);
                ordered.push(runs[place]);
            }
        }
        (ordered, asked)
    }

    /// A day with just these runs and at most so many late rolls; nothing if there is none.
    /// Where the work does not suffice, the search as a whole is no longer complete.
    pub(super) fn day(&mut self, runs: &[Started<'a>], limit: usize) -> Option<Scheduled> {
        let (runs, asked) = self.ordered(runs);
        let key = (asked, limit);
        if let Some(known) = self.known.get(&key) {
            if self.unsettled.contains(&key) {
                self.complete = false;
            }
            let mut known = known.clone()?;
            for (own, run) in known.runs.iter_mut().zip(&runs) {
                (own.0, own.1) = (run.at, run.tank);
            }
            return Some(known);
        }
        let answer = self.settled(&runs, limit);
        let found = match answer {
            Answer::Found(found) => Some(found),
            Answer::None => None,
            Answer::Unknown => {
                self.complete = false;
                self.unsettled.insert(key.clone());
                None
            }
        };
        if self.known.len() < MOST_REMEMBERED {
            self.known.insert(key, found.clone());
        }
        found
    }

    /// By clashes with little work, by trying, by clashes with more work; or moment by moment in
    /// a room that has more to it.
    fn settled(&mut self, runs: &[Started<'a>], limit: usize) -> Answer {
        const LITTLE: u64 = 100;
        const MORE: u64 = 10_000;
        const ORDERS: usize = 30;
        let first = self.by_clashes(runs, limit, LITTLE);
        if let Some(answer @ (Answer::Found(_) | Answer::None)) = first {
            return answer;
        }
        if let Some(found) = self.tried(runs, (limit, false), ORDERS) {
            return Answer::Found(found);
        }
        match first.and_then(|_| self.by_clashes(runs, limit, MORE)) {
            Some(answer) => answer,
            None => self.by_moments(runs, limit),
        }
    }

    /// Settled clash by clash, where the room is plain enough for that.
    pub(super) fn by_clashes(
        &mut self,
        runs: &[Started<'a>],
        limit: usize,
        most: u64,
    ) -> Option<Answer> {
        const EACH: u64 = 3;
        let (left, told) = (self.work, self.most - self.work);
        let go_on = &mut self.go_on;
        let mut ended = false;
        let mut tell = |done: u64| {
            ended |= !go_on(told + done * EACH);
            !ended
        };
        let orders = Orders::of(self.problem, runs, limit, ((left / EACH).min(most), &mut tell))?;
        let (answer, took) = orders.find(runs);
        self.work = if ended { 0 } else { left.saturating_sub(took * EACH) };
        Some(answer)
    }

    /// Settled moment by moment, in any room.
    fn by_moments(&mut self, runs: &[Started<'a>], limit: usize) -> Answer {
        const MOST: u64 = 100_000;
        let (mut done, most, told) = (0, self.work.min(MOST), self.most - self.work);
        let go_on = &mut self.go_on;
        let mut ended = false;
        let mut step = || {
            done += 1;
            ended |= done % 64 == 0 && !go_on(told + done);
            done < most && !ended
        };
        let table = Timetable::new(self.problem, self.reach, runs, (limit, &mut step));
        let answer = table.find();
        self.work = if ended { 0 } else { self.work - done.min(self.work) };
        answer
    }

    /// A day for a set of runs, found by trying so many orders; each run placed is work.
    pub(super) fn tried(
        &mut self,
        runs: &[Started<'a>],
        (limit, anywhere): (usize, bool),
        orders: usize,
    ) -> Option<Scheduled> {
        // Finding a place for a run takes longer the more there is to a room.
        const EACH: u64 = 6;
        if self.work == 0 {
            return None;
        }
        let mut trial = Trial::new(self.problem, &self.empty, runs, (limit, anywhere));
        let found = trial.find(runs, orders);
        self.work = self.work.saturating_sub(trial.work * EACH);
        found
    }

    /// Tells now and then how far it has come; once told to end there is no work left.
    pub(super) fn tell(&mut self) {
        const SELDOM: u64 = 64;
        self.told += 1;
        if self.told.is_multiple_of(SELDOM) && self.work > 0 && !(self.go_on)(self.most - self.work)
        {
            self.work = 0;
            self.complete = false;
        }
    }

    /// Whether whoever watches lets a search beside this one go on, that did so much.
    pub(super) fn goes_on(&mut self, done: u64) -> bool {
        (self.go_on)(done)
    }

    /// How many of a run's rolls are late if it ends then.
    pub(super) fn late_of(&self, mixture: &Mixture, end: Seconds) -> usize {
        let ready = end + self.problem.day.steps.ready_after_s;
        let late = mixture.counts.iter().filter(|(kind, _)| self.mixtures.kinds[*kind].due < ready);
        late.map(|(_, n)| n).sum()
    }

    /// Whether a run can start then in a tank that may be loaded from a moment on.
    pub(super) fn can_load(
        &self,
        mixture: &Mixture,
        tank: usize,
        start: Seconds,
        from: Seconds,
    ) -> bool {
        let latest = start - mixture.loading;
        let until = start + mixture.length + self.problem.day.steps.tank_gap_s;
        let held = Span { from: latest, to: until };
        from <= latest && !self.problem.day.tanks[tank].busy.iter().any(|busy| busy.meets(held))
    }
}
