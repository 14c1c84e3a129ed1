//! Whether a set of runs, each with its tank, finds a day in the real room.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::BTreeMap;

use super::{
    super::{clock::Seconds, day::Span, problem::Problem},
    MOST_REMEMBERED, Started,
    crew::{Answer, Hand, crew},
    fits,
    reach::Reach,
    types::{Mixture, Mixtures},
};

/// A day found for a set of runs: mixture, tank and start of each, and its crew.
#[derive(Debug, Clone)]
pub(super) struct Scheduled {
    pub(super) runs: Vec<(usize, usize, Seconds)>,
    pub(super) hands: Vec<Hand>,
    pub(super) late: usize,
}

/// The runs of a set, and the most late rolls allowed.
type Key = (Vec<(usize, usize)>, usize);

/// Answers so far, and the work that is left.
pub(super) struct Sets<'a, 'd> {
    problem: &'a Problem<'d>,
    mixtures: &'a Mixtures,
    reach: &'a Reach,
    known: BTreeMap<Key, Option<Scheduled>>,
    pub(super) work: u64,
    pub(super) complete: bool,
}

/// One set on its way into the day.
struct Placing<'s, 'a> {
    waiting: Vec<(&'a Mixture, usize, usize)>,
    runs: Vec<Started<'a>>,
    free: Vec<Seconds>,
    late: usize,
    limit: usize,
    patience: &'s mut u64,
}

impl<'a, 'd> Sets<'a, 'd> {
    pub(super) fn new(
        problem: &'a Problem<'d>,
        mixtures: &'a Mixtures,
        reach: &'a Reach,
        work: u64,
    ) -> Self {
        Self { problem, mixtures, reach, known: BTreeMap::new(), work, complete: true }
    }

    /// A day with just these runs and at most so many late rolls; nothing if there is none.
    /// Where the work does not suffice, the search as a whole is no longer complete.
    pub(super) fn day(&mut self, runs: &[Started<'a>], limit: usize) -> Option<Scheduled> {
        const MOST: u64 = 20_000;
        let mut set: Vec<(usize, usize)> = runs.iter().map(|run| (run.at, run.tank)).collect();
        set.sort_unstable();
        let key = (set, limit);
        if let Some(known) = self.known.get(&key) {
            return known.clone();
        }
        let mut patience = self.work.min(MOST);
        let before = patience;
        let mut placing = Placing {
            waiting: runs.iter().map(|run| (run.mixture, run.at, run.tank)).collect(),
            runs: Vec::new(),
            free: vec![self.opening(); self.problem.day.tanks.len()],
            late: 0,
            limit,
            patience: &mut patience,
        };
        let found = self.place(&mut placing, &[]);
        let ended = patience == 0;
        self.work -= before - patience;
        if found.is_none() && ended {
            self.complete = false;
        }
        if self.known.len() < MOST_REMEMBERED {
            self.known.insert(key, found.clone());
        }
        found
    }

    fn opening(&self) -> Seconds {
        self.problem.day.open.first().map_or(0, |open| open.from)
    }

    /// Places the waiting runs, each next start after the last.
    fn place(&mut self, placing: &mut Placing<'_, 'a>, hands: &[Hand]) -> Option<Scheduled> {
        if placing.waiting.is_empty() {
            let runs = placing.runs.iter().map(|run| (run.at, run.tank, run.start)).collect();
            return Some(Scheduled { runs, hands: hands.to_vec(), late: placing.late });
        }
        let grid = self.problem.day.rules.grid_s;
        let (last, last_tank) =
            placing.runs.last().map_or((self.opening(), 0), |run| (run.start, run.tank + 1));
        let mut start = (last + grid - 1).div_euclid(grid) * grid;
        while self.still_fits(placing, start) {
            for at in 0..placing.waiting.len() {
                let (mixture, name, tank) = placing.waiting[at];
                let twin = |other: &(&Mixture, usize, usize)| (other.1, other.2) == (name, tank);
                let before = start == last && tank < last_tank && !placing.runs.is_empty();
                if before || placing.waiting[..at].iter().any(twin) {
                    continue;
                }
                let free = placing.free[tank].max(mixture.ready);
                let Some(from) = self.loads_from(mixture, tank, start, free) else { continue };
                if let Some(found) = self.tried(placing, hands, at, (start, from)) {
                    return Some(found);
                }
                if *placing.patience == 0 {
                    return None;
                }
            }
            start += grid;
        }
        None
    }

    /// Places one of the waiting runs at a start, and the others after it.
    fn tried(
        &mut self,
        placing: &mut Placing<'_, 'a>,
        hands: &[Hand],
        at: usize,
        (start, from): (Seconds, Seconds),
    ) -> Option<Scheduled> {
        const PATIENCE: u32 = 5000;
        let (mixture, name, tank) = placing.waiting[at];
        let late = self.late_of(mixture, start + mixture.length);
        if placing.late + late > placing.limit || !self.inside(placing, mixture, tank, start) {
            return None;
        }
        placing.runs.push(Started { mixture, at: name, tank, start, from });
        let mut found = None;
        let (answer, used) = crew(self.problem, &placing.runs, hands, PATIENCE);
        *placing.patience = placing.patience.saturating_sub(used);
        match answer {
            Answer::None => {}
            Answer::Unknown => self.complete = false,
            Answer::Found(hands) => {
                let freed = start + mixture.length + self.problem.day.steps.tank_gap_s;
                let freed = std::mem::replace(&mut placing.free[tank], freed);
                let taken = placing.waiting.remove(at);
                placing.late += late;
                found = self.place(placing, &hands);
                placing.late -= late;
                placing.waiting.insert(at, taken);
                placing.free[tank] = freed;
            }
        }
        placing.runs.pop();
        found
    }

    /// Whether what waits could still end before closing if all of it starts at `start` or later.
    fn still_fits(&self, placing: &Placing<'_, 'a>, start: Seconds) -> bool {
        let day = self.problem.day;
        let close = day.open.last().map_or(0, |open| open.to);
        let (tank_gap, sink_gap) = (day.steps.tank_gap_s, day.steps.sink_gap_s);
        for tank in 0..placing.free.len() {
            let own = || placing.waiting.iter().filter(|(_, _, other)| *other == tank);
            let Some(least) = own().map(|(mixture, ..)| mixture.loading).min() else { continue };
            let all: Seconds = own().map(|(m, ..)| m.loading + m.length + tank_gap).sum();
            if start.max(placing.free[tank] + least) + all - tank_gap - least > close {
                return false;
            }
        }
        for kind in 0..day.reels.len() {
            let own = placing.waiting.iter().flat_map(|(mixture, ..)| &mixture.reels);
            let asked: i64 = own.filter(|(other, _)| *other == kind).map(|(_, n)| n).sum();
            let most = self.reach.reels_go_round(self.problem, &placing.runs, kind, start);
            if asked > most as i64 {
                return false;
            }
        }
        let places: Seconds = day.sinks.iter().map(|sink| sink.places).sum();
        let ends = placing.runs.iter().map(|run| run.end() + sink_gap);
        let active: Seconds = ends.map(|end| (end - start).max(0)).sum();
        let work: Seconds = placing.waiting.iter().map(|(m, ..)| m.length + sink_gap).sum();
        let longest = placing.waiting.iter().map(|(m, ..)| m.length).max().unwrap_or(0);
        start + longest <= close && work + active <= places * (close + sink_gap - start).max(0)
    }

    /// How many of a run's rolls are late if it ends then.
    pub(super) fn late_of(&self, mixture: &Mixture, end: Seconds) -> usize {
        let ready = end + self.problem.day.steps.ready_after_s;
        let late = mixture.counts.iter().filter(|(kind, _)| self.mixtures.kinds[*kind].due < ready);
        late.map(|(_, n)| n).sum()
    }

    /// When a run's loading may begin at the earliest; nothing if it cannot start then.
    pub(super) fn loads_from(
        &self,
        mixture: &Mixture,
        tank: usize,
        start: Seconds,
        mut from: Seconds,
    ) -> Option<Seconds> {
        let latest = start - mixture.loading;
        let until = start + mixture.length + self.problem.day.steps.tank_gap_s;
        for busy in &self.problem.day.tanks[tank].busy {
            if busy.meets(Span { from: latest, to: until }) {
                return None;
            }
            if busy.to <= latest {
                from = from.max(busy.to);
            }
        }
        (from <= latest).then_some(from)
    }

    /// Opening hours, the hooks, the fixer bottle and the bath, beside the runs so far.
    fn inside(
        &self,
        placing: &Placing<'_, 'a>,
        mixture: &Mixture,
        tank: usize,
        start: Seconds,
    ) -> bool {
        let (day, runs) = (self.problem.day, &placing.runs);
        let end = start + mixture.length;
        if !day.open.iter().any(|open| open.from <= start && end <= open.to) {
            return false;
        }
        if day.developers[mixture.developer].bath.is_some() {
            let own = (mixture.developing.after(start), 1);
            let same = runs.iter().filter(|run| run.mixture.developer == mixture.developer);
            let others = same.map(|run| (run.mixture.developing.after(run.start), 1));
            if !fits(own, others, 1) {
                return false;
            }
        }
        let hooks = day.hanging.as_ref().is_none_or(|hanging| {
            let hung = |start: Seconds, mixture: &Mixture| {
                let end = start + mixture.length;
                (Span { from: end, to: end + hanging.drying_s }, mixture.rolls as i64)
            };
            let busy = hanging.busy.iter().map(|busy| (busy.span, busy.count));
            let others = runs.iter().map(|run| hung(run.start, run.mixture));
            fits(hung(start, mixture), others.chain(busy), hanging.places)
        });
        hooks
            && day.fixer.is_none_or(|fixer| {
                let wet = |start: Seconds, mixture: &Mixture, tank: usize| {
                    let volume = mixture.batch.fixer_volume(self.problem, tank);
                    (mixture.fixing.after(start), volume)
                };
                let others = runs.iter().map(|run| wet(run.start, run.mixture, run.tank));
                fits(wet(start, mixture, tank), others, fixer.volume_ml.millionths())
            })
    }
}
