//! Whether runs that one person does one after another, at one place of a sink, find a day.
//!
//! Exact where nothing else binds: runs are put one behind another, and loadings into the gaps of
//! a run's hands or between two. What is loaded, what ran, and the last start say all that
//! matters; a state that failed once, or a later one like it, is not entered again.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::HashMap;

use super::{
    super::{
        super::{clock::Seconds, day::Span, problem::Problem},
        Started,
        timetable::{Answer, Hand, Scheduled},
        types::Mixture,
    },
    alone::to_the_end,
    rows::up,
};

/// A set of runs on the way through the day.
pub(super) struct Sequence<'a, 'm, 'd> {
    problem: &'a Problem<'d>,
    runs: &'a [Started<'m>],
    open: Span,
    sink: usize,
    limit: usize,
    failed: HashMap<(u32, u32, usize, usize), Vec<Failed>>,
    loadings: Vec<Span>,
    starts: Vec<Seconds>,
    work: u64,
}

/// A state that failed: the start of its last run, the moments tanks are free, and whether a
/// later start would have been no better.
type Failed = (Seconds, Vec<Seconds>, bool);

/// What was done so far.
#[derive(Clone)]
struct State {
    done: u32,
    loaded: u32,
    late: usize,
    /// When each tank is free.
    free: Vec<Seconds>,
    last: usize,
}

impl<'a, 'm, 'd> Sequence<'a, 'm, 'd> {
    /// Nothing where more than hands, the sink's place and tanks could bind.
    pub(super) fn of(
        problem: &'a Problem<'d>,
        runs: &'a [Started<'m>],
        limit: usize,
    ) -> Option<Self> {
        let day = problem.day;
        let places: i64 = day.sinks.iter().map(|sink| sink.places).sum();
        if day.people.len() != 1 || places != 1 {
            return None;
        }
        let [open] = day.open[..] else { return None };
        let [hours] = day.people.first()?.hours[..] else { return None };
        let sink = day.sinks.iter().position(|sink| sink.places == 1)?;
        let within = |mixture: &Mixture| {
            to_the_end(mixture) && mixture.hands.first().is_some_and(|window| window.from >= 0)
        };
        let simple = hours.from <= open.from
            && hours.to >= open.to
            && runs.iter().all(|run| within(run.mixture))
            && runs.len() <= 20
            && day.people[0].tanks_at_once >= 1
            && day.loading_places >= 1
            && day.loading_busy.is_empty()
            && day.sinks[sink].busy.is_empty()
            && day.tanks.iter().all(|tank| tank.busy.is_empty());
        let plenty = (0..day.reels.len()).all(|kind| {
            let own = runs.iter().flat_map(|run| &run.mixture.reels);
            let asked: i64 = own.filter(|(own, _)| *own == kind).map(|(_, n)| n).sum();
            let busy: i64 = day.reels[kind].busy.iter().map(|busy| busy.count).sum();
            asked + busy <= day.reels[kind].owned
        });
        let rolls: i64 = runs.iter().map(|run| run.mixture.rolls as i64).sum();
        let hooks = day.hanging.as_ref().is_none_or(|hanging| {
            rolls + hanging.busy.iter().map(|busy| busy.count).sum::<i64>() <= hanging.places
        });
        (simple && plenty && hooks).then(|| Self {
            problem,
            runs,
            open,
            sink,
            limit,
            failed: HashMap::new(),
            loadings: vec![open; runs.len()],
            starts: vec![open.from; runs.len()],
            work: 0,
        })
    }

    /// With at most so many steps; and how many it took.
    pub(super) fn find(mut self, most: u64) -> (Answer, u64) {
        let state = State {
            done: 0,
            loaded: 0,
            late: 0,
            free: vec![self.open.from; self.problem.day.tanks.len()],
            last: usize::MAX,
        };
        self.work = most;
        let found = self.between(&state, self.open.from, self.open.from);
        let took = most - self.work;
        let answer = match (found, self.work) {
            (true, _) => Answer::Found(self.scheduled()),
            (false, 0) => Answer::Unknown,
            (false, _) => Answer::None,
        };
        (answer, took)
    }

    fn scheduled(&self) -> Scheduled {
        let runs = self.runs.iter().zip(&self.starts);
        let loadings = self.loadings.iter();
        Scheduled {
            late: runs.clone().map(|(run, start)| self.late_at(run, *start)).sum(),
            runs: runs.map(|(run, start)| (run.at, run.tank, *start)).collect(),
            hands: loadings
                .map(|loading| Hand { sink: self.sink, person: 0, loader: 0, loading: *loading })
                .collect(),
        }
    }

    fn late_at(&self, run: &Started<'_>, start: Seconds) -> usize {
        let ready = start + run.mixture.length + self.problem.day.steps.ready_after_s;
        run.mixture.dues.iter().filter(|(due, _)| *due < ready).map(|(_, n)| n).sum()
    }

    /// Runs that may be loaded: in a tank that holds nothing, and none like one before.
    fn loadable(&self, state: &State) -> Vec<usize> {
        let waits = |at: usize| (state.done | state.loaded) & (1 << at) == 0;
        let held = |tank: usize| {
            let mut all = 0..self.runs.len();
            all.any(|at| state.loaded & (1 << at) > 0 && self.runs[at].tank == tank)
        };
        let like = |at: usize, other: usize| {
            let (one, two) = (&self.runs[at], &self.runs[other]);
            (one.at, one.tank) == (two.at, two.tank)
        };
        (0..self.runs.len())
            .filter(|at| waits(*at) && !held(self.runs[*at].tank))
            .filter(|at| !(0..*at).any(|other| waits(other) && like(*at, other)))
            .collect()
    }

    /// The loading of a run from a moment on, if it ends by another.
    fn load(&self, state: &State, at: usize, from: Seconds, by: Seconds) -> Option<(State, Span)> {
        let run = &self.runs[at];
        let from = from.max(state.free[run.tank]).max(run.mixture.ready);
        let span = Span { from, to: from + run.mixture.loading };
        (span.to <= by).then(|| {
            let mut next = state.clone();
            next.loaded |= 1 << at;
            (next, span)
        })
    }

    /// What happens while the last run is under way: its gaps from `gap` on, the first of them
    /// from a moment on.
    fn gaps(&mut self, state: &State, gap: usize, from: Seconds) -> bool {
        let Some(left) = self.work.checked_sub(1) else { return false };
        self.work = left;
        let (run, start) = (&self.runs[state.last], self.starts[state.last]);
        let Some(pair) = run.mixture.hands.get(gap..gap + 2) else {
            let end = start + run.mixture.length;
            let mut next = state.clone();
            next.free[run.tank] = end + self.problem.day.steps.tank_gap_s;
            return self.between(&next, end, end + self.problem.day.steps.sink_gap_s);
        };
        let (opens, closes) = (start + pair[0].to, start + pair[1].from);
        for at in self.loadable(state).into_iter().filter(|at| self.runs[*at].tank != run.tank) {
            let Some((next, span)) = self.load(state, at, from.max(opens), closes) else {
                continue;
            };
            self.loadings[at] = span;
            if self.gaps(&next, gap, span.to) {
                return true;
            }
        }
        self.gaps(state, gap + 1, closes)
    }

    /// Between two runs: hands are free from a moment on, the sink's place from another.
    fn between(&mut self, state: &State, hands: Seconds, place: Seconds) -> bool {
        let Some(left) = self.work.checked_sub(1) else { return false };
        self.work = left;
        let all = (1_u32 << self.runs.len()) - 1;
        if state.done == all {
            return true;
        }
        let gap = self.problem.day.steps.sink_gap_s;
        let rest: Seconds = (0..self.runs.len())
            .filter(|at| state.done & (1 << at) == 0)
            .map(|at| self.runs[at].mixture.length + gap)
            .sum();
        if place + rest - gap > self.open.to {
            return false;
        }
        for at in (0..self.runs.len()).filter(|at| state.loaded & (1 << at) > 0) {
            if self.start(state, at, (hands, place), rest - gap) {
                return true;
            }
        }
        for at in self.loadable(state) {
            let Some((next, span)) = self.load(state, at, hands, self.open.to) else { continue };
            self.loadings[at] = span;
            if self.between(&next, span.to, place) {
                return true;
            }
        }
        false
    }

    /// Starts a loaded run and goes on from there: at the first moment, or later as long as
    /// waiting may let more be loaded in its gaps.
    fn start(
        &mut self,
        state: &State,
        at: usize,
        (hands, place): (Seconds, Seconds),
        rest: Seconds,
    ) -> bool {
        let (mixture, grid) = (self.runs[at].mixture, self.problem.day.rules.grid_s);
        let Some(first) = mixture.hands.first() else { return false };
        let earliest = place.max(self.loadings[at].to).max(hands - first.from);
        let mut start = up(earliest, grid);
        let waits = |other: &usize| (state.done | state.loaded) & (1 << other) == 0;
        let open = (0..self.runs.len()).filter(waits).map(|other| {
            let run = &self.runs[other];
            run.mixture.ready.max(state.free[run.tank])
        });
        // From this start on everything could be loaded in all of the gaps.
        let settled = open.max().unwrap_or(0) - first.to;
        loop {
            let late = state.late + self.late_at(&self.runs[at], start);
            if start + rest > self.open.to || late > self.limit {
                return false;
            }
            if self.started(state, at, (start, late), start >= settled) {
                return true;
            }
            if start >= settled || self.work == 0 {
                return false;
            }
            start += grid;
        }
    }

    /// Goes on from a start; `settled` says that a later one would be no better.
    fn started(
        &mut self,
        state: &State,
        at: usize,
        (start, late): (Seconds, usize),
        settled: bool,
    ) -> bool {
        let (mixture, tank) = (self.runs[at].mixture, self.runs[at].tank);
        let mut next = state.clone();
        next.done |= 1 << at;
        next.loaded &= !(1 << at);
        (next.last, next.late) = (at, late);
        next.free[tank] = start + mixture.length + self.problem.day.steps.tank_gap_s;
        next.free.iter_mut().filter(|free| **free <= start).for_each(|free| *free = 0);
        self.starts[at] = start;
        let key = (next.done, next.loaded, at, late);
        let no_later = |(theirs, free, settled): &Failed| {
            (*theirs == start || *settled && *theirs <= start)
                && free.iter().zip(&next.free).all(|(theirs, own)| theirs <= own)
        };
        if self.failed.get(&key).is_some_and(|seen| seen.iter().any(no_later)) {
            return false;
        }
        if self.gaps(&next, 0, start) {
            return true;
        }
        if self.work > 0 {
            self.failed.entry(key).or_default().push((start, next.free, settled));
        }
        false
    }
}
