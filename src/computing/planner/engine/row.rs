//! The timetable of one machine: its batches in order, each as early as it can be.
//!
//! Ending a batch earlier never makes a later one end later, so the earliest times are the best
//! for an order. Every place knows how much later or earlier its batch could be handed the
//! machine without any cost from there on changing: most changes are priced without walking on.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places are indices of the row they came from"
)]

use super::{
    batch::Batch,
    problem::{BEFORE, NEVER, Problem},
};

/// Where a machine stands after a batch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Stand {
    pub(super) end: i64,
    pub(super) kind: u32,
    /// The interval it is in.
    pub(super) interval: u32,
}

/// One place of a row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slot {
    pub(super) stand: Stand,
    /// What the row costs up to here.
    pub(super) sum: i64,
    /// The machine may be free so much later with nothing from here on costing more.
    later: i64,
    /// It may be free so much earlier with nothing from here on costing less.
    earlier: i64,
}

/// The batches of a machine.
#[derive(Debug, Default, Clone)]
pub(super) struct Row {
    pub(super) order: Vec<u32>,
    pub(super) slots: Vec<Slot>,
}

/// A part of a row's new order.
#[derive(Debug, Clone, Copy)]
pub(super) enum Part {
    /// Places `from..to` of a row as it is.
    Kept { row: u32, from: u32, to: u32 },
    /// One batch.
    Batch(u32),
}

/// Puts a batch behind `stand`: where the machine stands then, what it costs, and when the
/// batch starts.
pub(super) fn step(problem: &Problem, machine: usize, stand: Stand, batch: &Batch) -> (Stand, i64) {
    let setup = problem.setup(stand.kind, batch.kind);
    let ready = batch.release.max(stand.end + setup.time);
    let open = &problem.ovens[machine].open;
    let mut interval = stand.interval as usize;
    let fixed = setup.cost + problem.per_time * batch.duration + problem.per_batch;
    while let Some(&(from, to)) = open.get(interval) {
        let end = ready.max(from + setup.time) + batch.duration;
        if end <= to {
            let stand = Stand { end, kind: batch.kind, interval: interval as u32 };
            return (stand, fixed + batch.late(end));
        }
        interval += 1;
    }
    let stand = Stand { end: NEVER, kind: batch.kind, interval: interval as u32 };
    (stand, fixed + batch.all_late + problem.left_cost * batch.jobs.len() as i64)
}

/// Where a machine stands before its first batch.
pub(super) fn first(problem: &Problem, machine: usize) -> Stand {
    Stand { end: BEFORE, kind: problem.ovens[machine].first_kind, interval: 0 }
}

impl Row {
    pub(super) fn cost(&self) -> i64 {
        self.slots.last().map_or(0, |slot| slot.sum)
    }

    /// Where the machine stands before place `at`, and what the row costs up to there.
    pub(super) fn before(&self, problem: &Problem, machine: usize, at: usize) -> (Stand, i64) {
        match at.checked_sub(1) {
            Some(last) => (self.slots[last].stand, self.slots[last].sum),
            None => (first(problem, machine), 0),
        }
    }

    /// Puts `middle` in the place of all but the first `from` and the last `tail` batches.
    pub(super) fn splice(&mut self, from: usize, tail: usize, middle: &[u32]) {
        let to = self.order.len() - tail;
        self.order.splice(from..to, middle.iter().copied());
        let blank = Slot {
            stand: Stand { end: NEVER, kind: 0, interval: 0 },
            sum: 0,
            later: 0,
            earlier: 0,
        };
        self.slots.splice(from..to, std::iter::repeat_n(blank, middle.len()));
    }

    /// Works the times out anew from place `from` on. The last `tail` slots are as they were
    /// before the change: once one of them comes out the same, so do all behind it.
    pub(super) fn refresh(
        &mut self,
        problem: &Problem,
        batches: &[Batch],
        machine: usize,
        (from, tail): (usize, usize),
    ) {
        let (mut stand, mut sum) = self.before(problem, machine, from);
        let len = self.order.len();
        let mut settled = len;
        for at in from..len {
            let cost;
            (stand, cost) = step(problem, machine, stand, &batches[self.order[at] as usize]);
            sum += cost;
            let slot = &mut self.slots[at];
            if at >= len - tail && slot.stand == stand {
                let more = sum - slot.sum;
                self.slots[at..].iter_mut().for_each(|slot| slot.sum += more);
                settled = at + 1;
                break;
            }
            slot.stand = stand;
            slot.sum = sum;
        }
        let (mut later, mut earlier) =
            self.slots.get(settled).map_or((NEVER, NEVER), |slot| (slot.later, slot.earlier));
        for at in (0..settled).rev() {
            let batch = &batches[self.order[at] as usize];
            (later, earlier) = self.slack(problem, batch, (machine, at), (later, earlier));
            let slot = &mut self.slots[at];
            if at < from && slot.later == later && slot.earlier == earlier {
                break;
            }
            slot.later = later;
            slot.earlier = earlier;
        }
    }

    /// How much later and earlier place `at` may come, when `next` is that of the place after.
    fn slack(
        &self,
        problem: &Problem,
        batch: &Batch,
        (machine, at): (usize, usize),
        next: (i64, i64),
    ) -> (i64, i64) {
        let before = self.before(problem, machine, at).0;
        let stand = self.slots[at].stand;
        if stand.end == NEVER {
            return (NEVER, 0);
        }
        let open = &problem.ovens[machine].open;
        let setup = problem.setup(before.kind, batch.kind).time;
        let (from, to) = open[stand.interval as usize];
        let start = stand.end - batch.duration;
        let wait = start - (before.end + setup);
        let more = batch.room_after(stand.end).min(to - stand.end).min(next.0);
        let later = (wait + more).min(NEVER);
        let earlier = if wait > 0 {
            let held = start == batch.release;
            match (stand.interval as usize).checked_sub(1).map(|last| open[last].1) {
                Some(last_end) if !held && batch.release + batch.duration <= last_end => {
                    (before.end - (last_end - batch.duration - setup) - 1).max(0)
                }
                _ => NEVER,
            }
        } else {
            let own = (start - batch.release).min(start - setup - from);
            batch.room_before(stand.end).min(own).min(next.1)
        };
        (later, earlier)
    }

    /// Whether the row from place `at` on costs what it costs now if the machine stands so.
    fn settled(&self, problem: &Problem, machine: usize, at: usize, stand: Stand) -> bool {
        let before = self.before(problem, machine, at).0;
        if before.kind != stand.kind {
            return false;
        }
        let shift = stand.end - before.end;
        let slot = &self.slots[at];
        if shift >= 0 { shift <= slot.later } else { -shift <= slot.earlier }
    }
}

/// The rows as they are, for pricing others made of their parts.
pub(super) struct Rows<'r> {
    pub(super) problem: &'r Problem,
    pub(super) batches: &'r [Batch],
    pub(super) rows: &'r [Row],
}

impl Rows<'_> {
    /// What `machine` would cost with these parts, or `None` once that passes `limit`.
    pub(super) fn price(&self, machine: usize, parts: &[Part], limit: i64) -> Option<i64> {
        let mut stand = first(self.problem, machine);
        let mut sum = 0;
        for (index, part) in parts.iter().enumerate() {
            match *part {
                Part::Batch(batch) => {
                    let cost;
                    (stand, cost) =
                        step(self.problem, machine, stand, &self.batches[batch as usize]);
                    sum += cost;
                }
                Part::Kept { row, from, to } => {
                    let same = row as usize == machine;
                    if index == 0 && same && from == 0 {
                        (stand, sum) =
                            self.rows[machine].before(self.problem, machine, to as usize);
                    } else if same
                        && index + 1 == parts.len()
                        && to as usize == self.rows[machine].order.len()
                    {
                        sum = self.walk_out(machine, from as usize, (stand, sum), limit)?;
                    } else {
                        let order = &self.rows[row as usize].order[from as usize..to as usize];
                        (stand, sum) = self.walk(machine, order, (stand, sum), limit)?;
                    }
                }
            }
            if sum > limit {
                return None;
            }
        }
        Some(sum)
    }

    fn walk(
        &self,
        machine: usize,
        order: &[u32],
        from: (Stand, i64),
        limit: i64,
    ) -> Option<(Stand, i64)> {
        let (mut stand, mut sum) = from;
        for &batch in order {
            let cost;
            (stand, cost) = step(self.problem, machine, stand, &self.batches[batch as usize]);
            sum += cost;
            if sum > limit {
                return None;
            }
        }
        Some((stand, sum))
    }

    /// Walks to the row's end, or to where it is settled that nothing more changes.
    fn walk_out(
        &self,
        machine: usize,
        from: usize,
        start: (Stand, i64),
        limit: i64,
    ) -> Option<i64> {
        let row = &self.rows[machine];
        let (mut stand, mut sum) = start;
        for at in from..row.order.len() {
            let (before, spent) = row.before(self.problem, machine, at);
            let rest = row.cost() - spent;
            if row.settled(self.problem, machine, at, stand) {
                return Some(sum + rest);
            }
            if before.kind == stand.kind && stand.end >= before.end && sum + rest > limit {
                return None; // later never costs less
            }
            let cost;
            (stand, cost) =
                step(self.problem, machine, stand, &self.batches[row.order[at] as usize]);
            sum += cost;
            if sum > limit {
                return None;
            }
        }
        Some(sum)
    }
}
