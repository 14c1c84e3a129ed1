//! A day for a set of runs, tried: one order of the runs after another, each run as early as the
//! room allows beside those before it. What finds no day so may still have one.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    super::{
        clock::Seconds,
        engine::dice::Dice,
        placing::{Batch, Placed},
        problem::Problem,
        room::Room,
        schedule::{Taste, place},
    },
    Started,
    timetable::{Hand, Scheduled},
};

/// How many steps ago the day lies that a step is compared with.
const MEMORY: usize = 20;

/// Runs without a place, late rolls over the limit, and the sum of the ends.
type Excess = (usize, usize, Seconds);

/// An order tried: the room before each of its runs, and their places.
#[derive(Clone)]
struct Tried {
    order: Vec<usize>,
    rooms: Vec<Room>,
    placed: Vec<Option<Placed>>,
    excess: Excess,
}

/// The search for an order.
pub(super) struct Trial<'t, 'd> {
    problem: &'t Problem<'d>,
    empty: &'t Room,
    /// Each run with the tanks that it may be in.
    batches: Vec<Batch>,
    late: Vec<Vec<(Seconds, usize)>>,
    limit: usize,
    /// Runs placed so far.
    pub(super) work: u64,
}

impl<'t, 'd> Trial<'t, 'd> {
    /// The runs stay in their tanks, or in any that cost the same where `anywhere` says so.
    pub(super) fn new(
        problem: &'t Problem<'d>,
        empty: &'t Room,
        runs: &[Started<'_>],
        (limit, anywhere): (usize, bool),
    ) -> Self {
        let batch = |run: &Started<'_>| {
            let mut batch = run.mixture.batch.clone();
            let cost = run.mixture.costs[run.tank];
            batch.tanks.retain(|(own, tank)| *tank == run.tank || anywhere && Some(*own) == cost);
            batch
        };
        Self {
            problem,
            empty,
            batches: runs.iter().map(batch).collect(),
            late: runs.iter().map(|run| run.mixture.dues.clone()).collect(),
            limit,
            work: 0,
        }
    }

    /// A day of all runs, with so many orders tried at most.
    pub(super) fn find(&mut self, runs: &[Started<'_>], orders: usize) -> Option<Scheduled> {
        let mut dice = Dice::new(runs.len() as u64);
        let mut now = self.first()?;
        let mut before = [now.excess; MEMORY];
        for at in 0..orders {
            if now.excess.0 == 0 && now.excess.1 == 0 {
                return self.scheduled(runs, &now);
            }
            let next = self.neighbour(&now, &mut dice);
            if next.excess <= now.excess || next.excess <= before[at % MEMORY] {
                now = next;
            }
            before[at % MEMORY] = now.excess;
        }
        None
    }

    /// The best of the orders that come to mind first.
    fn first(&mut self) -> Option<Tried> {
        let due = |at: &usize| self.late[*at].iter().map(|(due, _)| *due).min();
        let ready = |at: &usize| {
            let rolls = self.batches[*at].rolls.iter();
            rolls.map(|roll| self.problem.items[*roll].ready).max()
        };
        let all: Vec<usize> = (0..self.batches.len()).collect();
        let mut by_due = all.clone();
        by_due.sort_by_key(|at| (due(at), ready(at), *at));
        let mut by_size = all.clone();
        by_size.sort_by_key(|at| (ready(at), -self.batches[*at].load.rolls, *at));
        let mut by_time = all;
        by_time.sort_by_key(|at| (ready(at), -self.batches[*at].time, *at));
        let tried = [by_due, by_size, by_time].map(|order| {
            let start = Tried {
                order,
                rooms: vec![self.empty.clone()],
                placed: Vec::new(),
                excess: (0, 0, 0),
            };
            self.completed(start)
        });
        tried.into_iter().min_by_key(|tried| tried.excess)
    }

    /// The same with another order from a place on.
    fn neighbour(&mut self, now: &Tried, dice: &mut Dice) -> Tried {
        let runs = now.order.len();
        let (one, two) = (dice.below(runs), dice.below(runs));
        let mut order = now.order.clone();
        if dice.below(2) == 0 {
            order.swap(one, two);
        } else {
            let moved = order.remove(one);
            order.insert(two, moved);
        }
        let same = order.iter().zip(&now.order).take_while(|(own, old)| own == old).count();
        self.completed(Tried {
            order,
            rooms: now.rooms[..=same.min(now.placed.len())].to_vec(),
            placed: now.placed[..same.min(now.placed.len())].to_vec(),
            excess: (0, 0, 0),
        })
    }

    /// Places what has no place yet.
    fn completed(&mut self, mut tried: Tried) -> Tried {
        while let Some(run) = tried.order.get(tried.placed.len()) {
            let Some(room) = tried.rooms.last() else { break };
            let found = place(self.problem, room, &self.batches[*run], Taste::Prompt);
            let mut room = room.clone();
            if let Some(found) = &found {
                room.book(self.problem, found);
            }
            self.work += 1;
            tried.rooms.push(room);
            tried.placed.push(found);
        }
        let unplaced = tried.placed.iter().filter(|placed| placed.is_none()).count();
        let late = tried.order.iter().zip(&tried.placed).map(|(run, placed)| {
            let end = placed.as_ref().map_or(0, |placed| placed.end);
            self.late_at(*run, end)
        });
        let late = late.sum::<usize>().saturating_sub(self.limit);
        let ends = tried.placed.iter().flatten().map(|placed| placed.end).sum();
        tried.excess = (unplaced, late, ends);
        tried
    }

    fn late_at(&self, run: usize, end: Seconds) -> usize {
        let ready = end + self.problem.day.steps.ready_after_s;
        self.late[run].iter().filter(|(due, _)| *due < ready).map(|(_, n)| n).sum()
    }

    fn scheduled(&self, runs: &[Started<'_>], tried: &Tried) -> Option<Scheduled> {
        let mut all: Vec<(usize, &Placed)> = Vec::with_capacity(runs.len());
        for (run, placed) in tried.order.iter().zip(&tried.placed) {
            all.push((*run, placed.as_ref()?));
        }
        all.sort_by_key(|(run, _)| *run);
        let mut hands = Vec::with_capacity(all.len());
        for (_, placed) in &all {
            let (loader, loading) = placed.loading?;
            hands.push(Hand { sink: placed.sink, person: placed.person, loader, loading });
        }
        Some(Scheduled {
            late: all.iter().map(|(run, placed)| self.late_at(*run, placed.end)).sum(),
            runs: all
                .iter()
                .map(|(run, placed)| (runs[*run].at, placed.tank, placed.start))
                .collect(),
            hands,
        })
    }
}
