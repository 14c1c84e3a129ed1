//! The complete search: every day that could be better than the best known one is looked at or
//! ruled out.
//!
//! First an easier room is searched, in which only tanks, sinks and reels are taken and hands are
//! many: there a run never gains by waiting, so each run of an order starts at the first moment
//! it can, and orders are few. What such a room could still do from a moment on (`reach`,
//! `promise`) rules out most of them. Each set of runs that the easier room allows is then put to
//! the real room (`sets`, `trial`, `orders`, `timetable`), which settles exactly whether its runs
//! find starts, sinks, people and loadings; a set of which a part finds none finds none itself.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

mod beside;
mod ledger;
mod moments;
mod orders;
mod promise;
mod reach;
mod sets;
mod still;
mod timetable;
mod trial;
mod types;

use std::collections::BTreeMap;

use super::{
    bounds::Settled,
    clock::Seconds,
    day::Span,
    placing::{Batch, Placed},
    problem::Problem,
};
use promise::Shares;
use reach::Reach;
use sets::{GoOn, Sets};
use timetable::Scheduled;
use types::{Mixture, Mixtures};

/// Objectives 1 to 4 in their order.
pub(super) type Worth = (i64, usize, usize, i128);

/// What is remembered of states is given up beyond this, for the sake of memory.
const MOST_REMEMBERED: usize = 200_000;
/// The same for starts of one set of runs.
const MOST_ALIKE: usize = 32;

/// What the search came to.
pub(super) struct Searched {
    /// A better day than the one known before.
    pub(super) better: Option<Vec<Placed>>,
    /// Whether there is none better than the best of both.
    pub(super) complete: bool,
}

/// A run with its tank and start.
#[derive(Clone, Copy)]
struct Started<'m> {
    mixture: &'m Mixture,
    at: usize,
    tank: usize,
    start: Seconds,
}

impl Started<'_> {
    fn end(&self) -> Seconds {
        self.start + self.mixture.length
    }
}

/// The starts of a set of runs, and the last run's start and tank.
type State = (Vec<Seconds>, (Seconds, usize));

struct Complete<'a, 'd> {
    problem: &'a Problem<'d>,
    mixtures: &'a Mixtures,
    reach: &'a Reach,
    shares: &'a Shares,
    sets: Sets<'a, 'd>,
    /// Of each kind, rolls without a run.
    waiting: Vec<usize>,
    runs: Vec<Started<'a>>,
    free: Vec<Seconds>,
    late: usize,
    cost: i128,
    fixer: i128,
    baths: Vec<i128>,
    never: i64,
    best: Worth,
    found: Option<Scheduled>,
    /// For each set of runs the starts it was seen with, and its last start.
    seen: BTreeMap<Vec<(usize, usize)>, Vec<State>>,
}

/// Runs, kinds of rolls and leasts of a day, made once for all searches of it.
pub(super) struct Ground {
    mixtures: Mixtures,
    reach: Reach,
    shares: Shares,
}

impl Ground {
    /// Nothing where a day has more mixtures than can be looked at, or a tank loaded before.
    pub(super) fn new(problem: &Problem<'_>, settled: &Settled) -> Option<Self> {
        const MOST_MIXTURES: usize = 12_000;
        let mixtures = Mixtures::of(problem, &settled.never, MOST_MIXTURES)?;
        let reach = Reach::new(problem, &mixtures);
        let shares = Shares::new(problem, &mixtures);
        Some(Self { mixtures, reach, shares })
    }

    /// A lower bound of objectives 1 to 4; each later one holds for days that are worth as much
    /// as `known` in those before, and is nothing where the bound before is not met.
    pub(super) fn least(&self, problem: &Problem<'_>, settled: &Settled, known: Worth) -> Worth {
        let mut nobody = |_: u64| true;
        Complete::new(problem, self, settled, (known, 0, &mut nobody)).promise(0)
    }

    /// Looks for a day better than one worth `known`, with at most so much work.
    pub(super) fn better(
        &self,
        problem: &Problem<'_>,
        settled: &Settled,
        known: Worth,
        (work, go_on): (u64, GoOn<'_>),
    ) -> Searched {
        let mut search = Complete::new(problem, self, settled, (known, work, go_on));
        search.branch(0);
        let better = search.found.as_ref().map(|found| search.placed(found));
        Searched { better, complete: search.sets.complete }
    }
}

impl<'a, 'd> Complete<'a, 'd> {
    fn new(
        problem: &'a Problem<'d>,
        ground: &'a Ground,
        settled: &Settled,
        (known, work, go_on): (Worth, u64, GoOn<'a>),
    ) -> Self {
        let (day, mixtures) = (problem.day, &ground.mixtures);
        let remaining = |bath: super::day::Bath| bath.remaining.wide();
        let baths = day.developers.iter().map(|at| at.bath.map_or(i128::MAX, remaining));
        Self {
            problem,
            mixtures,
            reach: &ground.reach,
            shares: &ground.shares,
            sets: Sets::new(problem, mixtures, &ground.reach, (work, go_on)),
            waiting: mixtures.kinds.iter().map(|kind| kind.rolls.len()).collect(),
            runs: Vec::new(),
            free: vec![day.open.first().map_or(0, |open| open.from); day.tanks.len()],
            late: 0,
            cost: 0,
            fixer: day.fixer.map_or(i128::MAX, |fixer| fixer.remaining.wide() * 1_000_000),
            baths: baths.collect(),
            never: settled.never.iter().map(|roll| problem.items[*roll].weight).sum(),
            best: known,
            found: None,
            seen: BTreeMap::new(),
        }
    }
}

impl<'a> Complete<'a, '_> {
    /// Tries every next run that starts at `from` or later.
    fn branch(&mut self, from: Seconds) {
        if self.promise(from) >= self.best {
            return;
        }
        let mixtures = self.mixtures;
        let looked_at = (mixtures.shapes * self.free.len() / 8 + 1) as u64;
        self.sets.work = self.sets.work.saturating_sub(looked_at);
        let mut next: Vec<Started<'a>> = Vec::new();
        let tanks = self.free.len();
        let mut known: Vec<Option<Option<Started<'a>>>> = vec![None; mixtures.shapes * tanks];
        for (at, mixture) in mixtures.all.iter().enumerate() {
            let short = mixture.counts.iter().any(|(kind, n)| self.waiting[*kind] < *n);
            if short
                || mixture.fixer > self.fixer
                || mixture.equivalents > self.baths[mixture.developer]
            {
                continue;
            }
            for tank in 0..self.free.len() {
                if mixture.costs[tank].is_none() || self.twin(mixture, tank) {
                    continue;
                }
                let place = &mut known[mixture.shape * tanks + tank];
                let first = match *place {
                    Some(first) => first,
                    None => *place.insert(self.first_start(mixture, tank)),
                };
                next.extend(first.map(|first| Started { mixture, at, ..first }));
            }
        }
        next.sort_by_key(|run| (run.start, run.tank, run.at));
        for run in next {
            if self.sets.work == 0 {
                self.sets.complete = false;
                return;
            }
            self.sets.work -= 1;
            self.sets.tell();
            self.run(run);
        }
    }

    /// Whether an equal tank that is free at the same time comes before.
    fn twin(&self, mixture: &Mixture, tank: usize) -> bool {
        let tanks = &self.problem.day.tanks;
        let same = |other: usize| {
            let (one, two) = (&tanks[other], &tanks[tank]);
            self.free[other] == self.free[tank]
                && mixture.costs[other] == mixture.costs[tank]
                && (one.stack_mm, one.max_reels) == (two.stack_mm, two.max_reels)
                && (one.base_ml, one.min_ml, one.max_ml) == (two.base_ml, two.min_ml, two.max_ml)
                && one.busy == two.busy
        };
        let last = self.runs.last().map(|last| last.tank);
        (0..tank).any(|other| same(other) && last.is_none_or(|last| last < other))
    }

    /// The run at the first start that tanks, sinks and reels allow; nothing where that lies
    /// before the last run: then another order has it.
    fn first_start(&self, mixture: &'a Mixture, tank: usize) -> Option<Started<'a>> {
        let grid = self.reach.grid;
        let last = self.runs.last().map_or((0, 0), |last| (last.start, last.tank + 1));
        let from = self.free[tank].max(mixture.ready);
        let close = self.problem.day.open.last().map_or(0, |open| open.to);
        let mut start = (from + mixture.loading + grid - 1).div_euclid(grid) * grid;
        while start + mixture.length <= close {
            if self.sets.can_load(mixture, tank, start, from) && self.allows(mixture, start) {
                let run = Started { mixture, at: 0, tank, start };
                return ((start, tank) >= last).then_some(run);
            }
            start += grid;
        }
        None
    }

    /// Opening hours, sinks and reels in the easier room.
    fn allows(&self, mixture: &Mixture, start: Seconds) -> bool {
        let day = self.problem.day;
        let end = start + mixture.length;
        if !day.open.iter().any(|open| open.from <= start && end <= open.to) {
            return false;
        }
        let gap = day.steps.sink_gap_s;
        let at_sink = |run: &Started<'_>| (Span { from: run.start, to: run.end() + gap }, 1);
        let others = self.runs.iter().map(at_sink).chain(self.reach.sinks_busy.iter().copied());
        if !fits((Span { from: start, to: end + gap }, 1), others, self.reach.sink_places) {
            return false;
        }
        mixture.reels.iter().all(|(kind, count)| {
            let (reel, lead) = (&day.reels[*kind], self.reach.lead);
            let held =
                |start: Seconds, end: Seconds| Span { from: start - lead, to: end + reel.drying_s };
            let others = self.runs.iter().filter_map(|run| {
                let (_, count) = run.mixture.reels.iter().find(|(own, _)| own == kind)?;
                Some((held(run.start, run.end()), *count))
            });
            let busy = reel.busy.iter().map(|busy| (busy.span, busy.count));
            fits((held(start, end), *count), others.chain(busy), reel.owned)
        })
    }

    /// Adds a run, goes on from there, and takes it away again.
    fn run(&mut self, run: Started<'a>) {
        let (mixture, tank) = (run.mixture, run.tank);
        let Some(cost) = mixture.costs[tank] else { return };
        let late = self.sets.late_of(mixture, run.end());
        let gap = self.problem.day.steps.tank_gap_s;
        let freed = std::mem::replace(&mut self.free[tank], run.end() + gap);
        mixture.counts.iter().for_each(|(kind, n)| self.waiting[*kind] -= n);
        self.runs.push(run);
        (self.late, self.cost, self.fixer) =
            (self.late + late, self.cost + cost, self.fixer - mixture.fixer);
        self.baths[mixture.developer] -= mixture.equivalents;
        if self.promise(run.start) < self.best && !self.dominated() && self.in_the_room() {
            self.branch(run.start);
        }
        self.baths[mixture.developer] += mixture.equivalents;
        (self.late, self.cost, self.fixer) =
            (self.late - late, self.cost - cost, self.fixer + mixture.fixer);
        self.runs.pop();
        mixture.counts.iter().for_each(|(kind, n)| self.waiting[*kind] += n);
        self.free[tank] = freed;
    }

    /// Whether the same runs were here before, none later than now.
    fn dominated(&mut self) -> bool {
        let mut runs: Vec<(usize, usize, Seconds)> =
            self.runs.iter().map(|run| (run.at, run.tank, run.start)).collect();
        let last = runs.last().map_or((0, 0), |(_, tank, start)| (*start, *tank));
        runs.sort_unstable();
        let key: Vec<(usize, usize)> = runs.iter().map(|(at, tank, _)| (*at, *tank)).collect();
        let starts: Vec<Seconds> = runs.iter().map(|(.., start)| *start).collect();
        if self.seen.len() >= MOST_REMEMBERED && !self.seen.contains_key(&key) {
            return false;
        }
        let seen = self.seen.entry(key).or_default();
        let earlier = |(theirs, their_last): &State| {
            *their_last <= last && theirs.iter().zip(&starts).all(|(theirs, own)| theirs <= own)
        };
        if seen.iter().any(earlier) {
            return true;
        }
        if seen.len() < MOST_ALIKE {
            seen.push((starts, last));
        }
        false
    }

    /// Whether the real room has a day with these runs; it is kept where it is the best so far.
    fn in_the_room(&mut self) -> bool {
        let left = self.left();
        let Some(mut day) = self.sets.day(&self.runs, usize::MAX) else { return false };
        if left == self.best.0 && (day.late, self.runs.len(), self.cost) >= self.rest_of_best() {
            let same_late = (self.runs.len(), self.cost) < (self.best.2, self.best.3);
            let limit = if same_late { Some(self.best.1) } else { self.best.1.checked_sub(1) };
            if let Some(limit) = limit.filter(|limit| self.late <= *limit && *limit < day.late) {
                match self.sets.day(&self.runs, limit) {
                    Some(other) => day = other,
                    None => return true,
                }
            }
        }
        let worth = (left, day.late, self.runs.len(), self.cost);
        if worth < self.best {
            self.best = worth;
            self.found = Some(day);
        }
        true
    }

    fn rest_of_best(&self) -> (usize, usize, i128) {
        (self.best.1, self.best.2, self.best.3)
    }

    fn left(&self) -> i64 {
        let waiting = self.waiting.iter().zip(&self.mixtures.kinds);
        self.never + waiting.map(|(n, kind)| *n as i64 * kind.weight).sum::<i64>()
    }

    /// The found runs with their crew, as the planner places them.
    fn placed(&self, found: &Scheduled) -> Vec<Placed> {
        let mut places: Vec<std::vec::IntoIter<usize>> =
            self.mixtures.kinds.iter().map(|kind| kind.rolls.clone().into_iter()).collect();
        let mut placed = Vec::with_capacity(found.runs.len());
        for ((at, tank, start), hand) in found.runs.iter().zip(&found.hands) {
            let mixture = &self.mixtures.all[*at];
            let take = |(kind, n): &(usize, usize)| {
                places[*kind].by_ref().take(*n).collect::<Vec<usize>>()
            };
            let rolls: Vec<usize> = mixture.counts.iter().flat_map(take).collect();
            let Some(batch) = Batch::of(self.problem, rolls) else { continue };
            placed.push(Placed {
                batch,
                tank: *tank,
                cost: mixture.costs[*tank].unwrap_or(0),
                sink: hand.sink,
                person: hand.person,
                loading: Some((hand.loader, hand.loading)),
                start: *start,
                end: *start + mixture.length,
            });
        }
        placed
    }
}

/// Whether one more claim fits beside others below a limit.
fn fits(own: (Span, i64), others: impl Iterator<Item = (Span, i64)> + Clone, limit: i64) -> bool {
    let (span, count) = own;
    if span.from >= span.to {
        return true;
    }
    let meeting = others.filter(move |(other, _)| other.meets(span));
    let level = |moment: Seconds| -> i64 {
        let here = meeting.clone().filter(|(o, _)| o.from <= moment && moment < o.to);
        here.map(|(_, count)| count).sum()
    };
    let moments = meeting.clone().map(|(other, _)| other.from.max(span.from));
    moments.map(level).max().unwrap_or(0) + count <= limit
}
