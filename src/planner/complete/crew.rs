//! Whether runs with fixed starts find sinks, people and loadings, and which.
//!
//! Complete: people are tried one by one, loadings are placed from the last to the first, each
//! as late as its loader can, which leaves tanks and reels free longest.
#![allow(
    clippy::indexing_slicing,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        clock::Seconds,
        day::Span,
        placing::before_hours,
        problem::Problem,
        room::{EVER, outside},
    },
    Started,
};

/// Who does a run, and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hand {
    pub(super) sink: usize,
    pub(super) person: usize,
    pub(super) loader: usize,
    pub(super) loading: Span,
}

/// The crew of runs, run by run.
pub(super) struct Crew<'a, 'd, 'm> {
    problem: &'a Problem<'d>,
    runs: &'a [Started<'m>],
    hands: Vec<Option<Hand>>,
    work: u32,
}

const NOBODY: Hand =
    Hand { sink: 0, person: 0, loader: usize::MAX, loading: Span { from: 0, to: 0 } };

/// What a search for a crew came to.
pub(super) enum Answer {
    Found(Vec<Hand>),
    None,
    /// Given up before it was settled.
    Unknown,
}

/// Finds a crew for the runs, and says with how much work; `before` is the crew of all but the
/// last, kept where it can be.
pub(super) fn crew<'m>(
    problem: &Problem<'_>,
    runs: &[Started<'m>],
    before: &[Hand],
    work: u32,
) -> (Answer, u64) {
    let mut crew = Crew { problem, runs, hands: vec![None; runs.len()], work: 100 };
    if let Some(found) = crew.extended(before) {
        return (Answer::Found(found), 1);
    }
    crew.hands = vec![None; runs.len()];
    crew.work = work;
    let Some(sinks) = crew.sinks() else { return (Answer::None, 2) };
    let found = crew.people(0);
    let used = u64::from(work - crew.work) + 2;
    if found {
        let hands = crew.hands.iter().zip(sinks);
        let hands = hands.map(|(hand, sink)| Hand { sink, ..hand.unwrap_or(NOBODY) });
        return (Answer::Found(hands.collect()), used);
    }
    (if crew.work == 0 { Answer::Unknown } else { Answer::None }, used)
}

impl Crew<'_, '_, '_> {
    /// The crew before, with somebody for the last run.
    fn extended(&mut self, before: &[Hand]) -> Option<Vec<Hand>> {
        let last = self.runs.len() - 1;
        for (at, hand) in before.iter().enumerate() {
            self.hands[at] = Some(*hand);
        }
        let sink = (0..self.problem.day.sinks.len()).find(|sink| self.sink_free(last, *sink))?;
        for person in 0..self.problem.day.people.len() {
            if !self.free_person(last, person) {
                continue;
            }
            self.hands[last] = Some(Hand { sink, person, ..NOBODY });
            if self.load(last) {
                return self.hands.iter().copied().collect();
            }
            self.hands[last] = None;
        }
        None
    }

    fn at_sink(&self, at: usize) -> Span {
        let run = &self.runs[at];
        let end = run.start + run.mixture.length + self.problem.day.steps.sink_gap_s;
        Span { from: run.start, to: end }
    }

    fn sink_free(&self, at: usize, sink: usize) -> bool {
        let (span, of) = (self.at_sink(at), &self.problem.day.sinks[sink]);
        if of.busy.iter().any(|busy| busy.meets(span)) {
            return false;
        }
        let taken = |from: Seconds| {
            let inside = |other: &usize| {
                let theirs = self.at_sink(*other);
                self.hands[*other].is_some_and(|hand| hand.sink == sink)
                    && theirs.from <= from
                    && from < theirs.to
            };
            (0..self.runs.len()).filter(|other| *other != at).filter(inside).count()
        };
        let moments = (0..self.runs.len()).map(|other| self.at_sink(other).from.max(span.from));
        let most = moments.filter(|moment| *moment < span.to).map(taken).max().unwrap_or(0);
        i64::try_from(most).is_ok_and(|most| most < of.places)
    }

    /// A sink for every run.
    fn sinks(&mut self) -> Option<Vec<usize>> {
        let found = self.sinks_from(0);
        let sinks = self.hands.iter().map(|hand| hand.map_or(0, |hand| hand.sink)).collect();
        self.hands.iter_mut().for_each(|hand| *hand = None);
        found.then_some(sinks)
    }

    fn sinks_from(&mut self, at: usize) -> bool {
        if at == self.runs.len() {
            return true;
        }
        for sink in 0..self.problem.day.sinks.len() {
            if self.sink_free(at, sink) {
                self.hands[at] = Some(Hand { sink, ..NOBODY });
                if self.sinks_from(at + 1) {
                    return true;
                }
                self.hands[at] = None;
            }
        }
        false
    }

    /// Whether a person's windows, hours and tanks at once allow the run beside the others.
    fn free_person(&self, at: usize, person: usize) -> bool {
        let (run, of) = (&self.runs[at], &self.problem.day.people[person]);
        for window in &run.mixture.hands {
            let span = window.after(run.start);
            if outside(&of.hours, span).is_some() || self.busy(person, span, at).is_some() {
                return false;
            }
        }
        let own = run.mixture.developing.after(run.start);
        let others: Vec<Span> =
            self.developing(person, at).filter(|span| span.meets(own)).collect();
        let at_once = |moment: Seconds| {
            others.iter().filter(|span| span.from <= moment && moment < span.to).count()
        };
        let moments = others.iter().map(|span| span.from.max(own.from));
        let most = moments.map(at_once).max().unwrap_or(0);
        own.from >= own.to || i64::try_from(most).is_ok_and(|most| most < of.tanks_at_once)
    }

    fn developing(&self, person: usize, but: usize) -> impl Iterator<Item = Span> {
        self.runs.iter().zip(&self.hands).enumerate().filter_map(move |(at, (run, hand))| {
            let own = at != but && hand.is_some_and(|hand| hand.person == person);
            own.then(|| run.mixture.developing.after(run.start))
        })
    }

    /// The start of what keeps a person from a span, if anything does.
    fn busy(&self, person: usize, span: Span, but: usize) -> Option<Seconds> {
        let mut first: Option<Seconds> = None;
        for (at, (run, hand)) in self.runs.iter().zip(&self.hands).enumerate() {
            let Some(hand) = hand else { continue };
            if at != but && hand.loader == person && hand.loading.meets(span) {
                first = first.max(Some(hand.loading.from));
            }
            if hand.person == person && at != but {
                let windows = run.mixture.hands.iter().map(|window| window.after(run.start));
                let met = windows.filter(|window| window.meets(span)).map(|window| window.from);
                first = first.max(met.max());
            }
        }
        first
    }

    fn people(&mut self, at: usize) -> bool {
        if at == self.runs.len() {
            return self.loadings();
        }
        for person in 0..self.problem.day.people.len() {
            if self.work == 0 {
                return false;
            }
            self.work -= 1;
            if self.like_one_before(at, person) || !self.free_person(at, person) {
                continue;
            }
            self.hands[at] = Some(Hand { person, ..NOBODY });
            if self.people(at + 1) {
                return true;
            }
            self.hands[at] = None;
        }
        false
    }

    /// Whether somebody with the same hours, also without work so far, was tried before.
    fn like_one_before(&self, at: usize, person: usize) -> bool {
        let people = &self.problem.day.people;
        let idle =
            |person: usize| self.hands[..at].iter().flatten().all(|hand| hand.person != person);
        let same = |other: usize| {
            people[other].hours == people[person].hours
                && people[other].tanks_at_once == people[person].tanks_at_once
        };
        idle(person) && (0..person).any(|other| idle(other) && same(other))
    }

    /// Places all loadings, the last first.
    fn loadings(&mut self) -> bool {
        let open = (0..self.runs.len()).filter(|at| self.loader(*at).is_none());
        let mut open: Vec<usize> = open.collect();
        if open.is_empty() {
            return true;
        }
        open.sort_by_key(|at| std::cmp::Reverse((self.runs[*at].start, *at)));
        let people = self.problem.day.people.len();
        let mut ways: Vec<(usize, usize, Span)> = Vec::with_capacity(open.len() * people);
        for at in &open {
            let before = ways.len();
            let by = |loader: usize| Some((*at, loader, self.latest(*at, loader)?));
            ways.extend((0..people).filter_map(by));
            if ways.len() == before {
                return false;
            }
        }
        for (at, loader, loading) in ways {
            if self.work == 0 {
                return false;
            }
            self.work -= 1;
            self.set_loader(at, loader, loading);
            if self.reels_free(at) && self.loadings() {
                return true;
            }
            self.set_loader(at, usize::MAX, NOBODY.loading);
        }
        false
    }

    fn loader(&self, at: usize) -> Option<usize> {
        self.hands[at].map(|hand| hand.loader).filter(|loader| *loader != usize::MAX)
    }

    fn set_loader(&mut self, at: usize, loader: usize, loading: Span) {
        if let Some(hand) = &mut self.hands[at] {
            (hand.loader, hand.loading) = (loader, loading);
        }
    }

    /// Places one loading beside all others.
    fn load(&mut self, at: usize) -> bool {
        let mut best: Option<(Span, usize)> = None;
        for loader in 0..self.problem.day.people.len() {
            let found = self.latest(at, loader);
            if let Some(span) = found.filter(|span| best.is_none_or(|(b, _)| b.from < span.from)) {
                best = Some((span, loader));
            }
        }
        let Some((span, loader)) = best else { return false };
        self.set_loader(at, loader, span);
        self.reels_free(at)
    }

    /// The latest loading of a run by a person beside what is placed.
    fn latest(&self, at: usize, loader: usize) -> Option<Span> {
        let (run, day) = (&self.runs[at], self.problem.day);
        let length = run.mixture.loading;
        let mut to = run.start;
        while to - length >= run.from {
            let span = Span { from: to - length, to };
            let blocked = before_hours(&day.open, span)
                .or_else(|| before_hours(&day.people[loader].hours, span))
                .or_else(|| self.busy(loader, span, usize::MAX))
                .or_else(|| self.places_taken(span));
            match blocked {
                None => return Some(span),
                Some(before) => to = before.min(to - 1),
            }
        }
        None
    }

    fn places_taken(&self, span: Span) -> Option<Seconds> {
        let loadings = self.hands.iter().flatten().filter(|hand| hand.loader != usize::MAX);
        let meeting = loadings.map(|hand| hand.loading).filter(|loading| loading.meets(span));
        let meeting: Vec<Span> = meeting.collect();
        let at_once = |moment: Seconds| {
            meeting.iter().filter(|other| other.from <= moment && moment < other.to).count()
        };
        let moments = meeting.iter().map(|other| other.from.max(span.from));
        let most = moments.map(at_once).max().unwrap_or(0);
        let free = i64::try_from(most).is_ok_and(|most| most < self.problem.day.loading_places);
        if free { None } else { meeting.iter().map(|other| other.from).max().or(Some(-EVER)) }
    }

    /// Whether there are reels enough from the run's loading on, beside what is placed.
    fn reels_free(&self, at: usize) -> bool {
        let day = self.problem.day;
        let held = |at: usize, kind: usize| {
            let run = &self.runs[at];
            let from = self.hands[at].map_or(run.start, |hand| hand.loading.from);
            Span { from, to: run.start + run.mixture.length + day.reels[kind].drying_s }
        };
        self.runs[at].mixture.reels.iter().all(|(kind, own)| {
            let span = held(at, *kind);
            let placed = (0..self.runs.len()).filter(|other| *other != at);
            let others: Vec<(Span, i64)> = placed
                .filter(|other| self.loader(*other).is_some())
                .filter_map(|other| {
                    let mut reels = self.runs[other].mixture.reels.iter();
                    let (_, count) = reels.find(|(other, _)| other == kind)?;
                    Some((held(other, *kind), *count))
                })
                .chain(day.reels[*kind].busy.iter().map(|busy| (busy.span, busy.count)))
                .filter(|(other, _)| other.meets(span))
                .collect();
            let level = |moment: Seconds| -> i64 {
                let here = others.iter().filter(|(o, _)| o.from <= moment && moment < o.to);
                here.map(|(_, count)| count).sum()
            };
            let moments = others.iter().map(|(other, _)| other.from.max(span.from));
            moments.map(level).max().unwrap_or(0) + own <= day.reels[*kind].owned
        })
    }
}
