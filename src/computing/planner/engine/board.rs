//! The schedule that a search is changing: batches, where they are, and changes tried on it.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: batches, rows and places are indices of this board"
)]

use super::{
    batch::Batch,
    draft::{Act, Draft, Layout, Place},
    problem::Problem,
    row::{Part, Row, Rows, first, step},
    task::{Placed, Schedule},
};

/// No batch.
pub(super) const NONE: u32 = u32::MAX;

/// The end of a row in [`Saved`].
const ROW_END: u32 = u32::MAX - 1;

/// A schedule kept: the jobs of each batch, each batch and each row with its end.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Saved(Vec<u32>);

/// A schedule that can be changed.
pub(super) struct Board<'p> {
    pub(super) problem: &'p Problem,
    pub(super) batches: Vec<Batch>,
    free: Vec<u32>,
    /// The batch of each job.
    pub(super) home: Vec<u32>,
    /// The place of each batch.
    pub(super) place: Vec<Place>,
    pub(super) rows: Vec<Row>,
    pub(super) cost: i64,
    draft: Draft,
    layouts: Vec<Layout>,
}

impl<'p> Board<'p> {
    /// An empty schedule.
    pub(super) fn new(problem: &'p Problem) -> Self {
        Self {
            problem,
            batches: Vec::new(),
            free: Vec::new(),
            home: vec![NONE; problem.jobs.len()],
            place: Vec::new(),
            rows: vec![Row::default(); problem.ovens.len()],
            cost: 0,
            draft: Draft::default(),
            layouts: Vec::new(),
        }
    }

    /// Becomes the schedule that was saved.
    pub(super) fn load(&mut self, saved: &Saved) {
        self.begin();
        self.batches.clear();
        self.free.clear();
        self.place.clear();
        self.home.fill(NONE);
        self.cost = 0;
        let mut marks = saved.0.iter();
        for machine in 0..self.rows.len() {
            self.rows[machine] = Row::default();
            let mut open = None;
            for &mark in marks.by_ref().take_while(|&&mark| mark != ROW_END) {
                if mark == NONE {
                    open = None;
                    continue;
                }
                let id = open.unwrap_or_else(|| self.append(machine));
                open = Some(id);
                self.batches[id as usize].add(self.problem, mark);
                self.home[mark as usize] = id;
            }
            let order = std::mem::take(&mut self.rows[machine].order);
            self.rows[machine].splice(0, 0, &order);
            self.rows[machine].refresh(self.problem, &self.batches, machine, (0, 0));
            self.cost += self.rows[machine].cost();
        }
    }

    /// A new batch at the end of a row.
    fn append(&mut self, machine: usize) -> u32 {
        let id = self.take();
        let order = &mut self.rows[machine].order;
        self.place[id as usize] = Place { row: machine as u32, at: order.len() as u32 };
        order.push(id);
        id
    }

    /// Keeps the schedule for [`Self::load`].
    pub(super) fn save(&self, to: &mut Saved) {
        to.0.clear();
        for row in &self.rows {
            for &batch in &row.order {
                to.0.extend_from_slice(&self.batches[batch as usize].jobs);
                to.0.push(NONE);
            }
            to.0.push(ROW_END);
        }
    }

    /// A batch without jobs, in no row.
    fn take(&mut self) -> u32 {
        if let Some(id) = self.free.pop() {
            self.batches[id as usize].clear();
            return id;
        }
        self.batches.push(Batch::empty());
        self.place.push(Place { row: NONE, at: NONE });
        self.batches.len() as u32 - 1
    }

    pub(super) fn batch(&self, id: u32) -> &Batch {
        &self.batches[id as usize]
    }

    pub(super) fn batch_of(&self, job: u32) -> u32 {
        self.home[job as usize]
    }

    pub(super) fn place_of(&self, batch: u32) -> Place {
        self.place[batch as usize]
    }

    /// When a batch ends.
    pub(super) fn end_of(&self, batch: u32) -> i64 {
        let place = self.place_of(batch);
        self.rows[place.row as usize].slots[place.at as usize].stand.end
    }

    pub(super) fn is_late(&self, job: u32) -> bool {
        self.end_of(self.batch_of(job)) > self.problem.jobs[job as usize].due
    }

    pub(super) fn len(&self, row: u32) -> u32 {
        self.rows[row as usize].order.len() as u32
    }

    /// Whether a batch of this size may be on a row.
    pub(super) fn allows(&self, row: u32, batch: &Batch) -> bool {
        batch.machines >> row & 1 == 1 && batch.size <= self.problem.ovens[row as usize].capacity
    }

    /// Begins a change.
    pub(super) fn begin(&mut self) {
        let Draft { copies, fresh, acts, used, .. } = &mut self.draft;
        self.free.extend(copies.drain(..).map(|(_, copy)| copy));
        self.free.append(fresh);
        acts.clear();
        *used = 0;
    }

    /// The copy of a batch in this change.
    fn copy(&mut self, of: u32) -> u32 {
        if let Some(&(_, copy)) = self.draft.copies.iter().find(|(known, _)| *known == of) {
            return copy;
        }
        let id = self.take();
        let mut into = std::mem::replace(&mut self.batches[id as usize], Batch::empty());
        into.copy(&self.batches[of as usize]);
        self.batches[id as usize] = into;
        self.draft.copies.push((of, id));
        id
    }

    /// In this change, takes a job out of its batch.
    pub(super) fn pull(&mut self, job: u32) {
        let copy = self.copy(self.batch_of(job));
        self.batches[copy as usize].remove(self.problem, job);
    }

    /// In this change, adds a job to a batch if it suits and fits as the change stands.
    pub(super) fn put(&mut self, job: u32, batch: u32) -> bool {
        let copy = self.copy(batch);
        let row = self.place_of(batch).row;
        let oven = &self.problem.ovens[row as usize];
        let piece = &self.problem.jobs[job as usize];
        let into = &mut self.batches[copy as usize];
        let fits = into.suits(piece)
            && piece.machines >> row & 1 == 1
            && into.size + piece.size <= oven.capacity;
        if fits {
            into.add(self.problem, job);
        }
        fits
    }

    /// In this change, makes a new batch of jobs at a place.
    pub(super) fn found(&mut self, jobs: &[u32], place: Place) -> bool {
        let id = self.take();
        self.draft.fresh.push(id);
        for &job in jobs {
            self.batches[id as usize].add(self.problem, job);
        }
        self.draft.acts.push((place, Act::Insert(id)));
        self.allows(place.row, &self.batches[id as usize])
    }

    /// In this change, does something with whole batches.
    pub(super) fn act(&mut self, place: Place, act: Act) {
        self.draft.acts.push((place, act));
    }

    /// In this change, gives a row a new order. Not to be mixed with the rest.
    pub(super) fn reorder(&mut self, row: u32, parts: &[Part]) {
        self.draft.edit(row as usize).parts.extend_from_slice(parts);
    }

    /// Prices the change and keeps it if the schedule then costs at most `limit`.
    pub(super) fn finish(&mut self, limit: i64) -> bool {
        let cost = self.weigh(limit);
        if let Some(cost) = cost {
            self.keep(cost);
        }
        cost.is_some()
    }

    /// What the schedule would cost after the change, if at most `limit`. The change must then
    /// be begun anew.
    pub(super) fn weigh(&mut self, limit: i64) -> Option<i64> {
        self.lay_out();
        let rows = Rows { problem: self.problem, batches: &self.batches, rows: &self.rows };
        let edits = &self.draft.edits[..self.draft.used];
        let mut cost = self.cost - edits.iter().map(|edit| self.rows[edit.row].cost()).sum::<i64>();
        for edit in edits {
            cost += rows.price(edit.row, &edit.parts, limit - cost)?;
        }
        Some(cost)
    }

    /// Turns copies and acts into the rows' new orders.
    fn lay_out(&mut self) {
        for index in 0..self.draft.copies.len() {
            let (old, copy) = self.draft.copies[index];
            let act = if self.batches[copy as usize].jobs.is_empty() {
                Act::Remove
            } else {
                Act::Replace(copy)
            };
            self.draft.acts.push((self.place[old as usize], act));
        }
        self.draft.sort_out(&self.rows);
    }

    fn keep(&mut self, cost: i64) {
        let Draft { copies, fresh, edits, used, .. } = &mut self.draft;
        for &(_, id) in copies.iter() {
            for &job in &self.batches[id as usize].jobs {
                self.home[job as usize] = id;
            }
        }
        for &id in fresh.iter() {
            for &job in &self.batches[id as usize].jobs {
                self.home[job as usize] = id;
            }
        }
        for (old, copy) in copies.drain(..) {
            self.free.push(old);
            if self.batches[copy as usize].jobs.is_empty() {
                self.free.push(copy);
            }
        }
        fresh.clear();
        let used = *used;
        let edits = std::mem::take(edits);
        let mut layouts = std::mem::take(&mut self.layouts);
        layouts.resize_with(layouts.len().max(used), Layout::default);
        for (edit, layout) in edits[..used].iter().zip(&mut layouts) {
            layout.read(edit, &self.rows);
        }
        for (edit, layout) in edits[..used].iter().zip(&layouts) {
            self.lay(edit.row, layout);
        }
        self.draft.edits = edits;
        self.layouts = layouts;
        self.draft.used = 0;
        self.cost = cost;
    }

    /// Gives a row a new order.
    fn lay(&mut self, machine: usize, layout: &Layout) {
        let Layout { from, tail, middle } = layout;
        let row = &mut self.rows[machine];
        let shifted = row.order.len() != from + tail + middle.len();
        row.splice(*from, *tail, middle);
        let to = if shifted { row.order.len() } else { from + middle.len() };
        for at in *from..to {
            self.place[row.order[at] as usize] = Place { row: machine as u32, at: at as u32 };
        }
        row.refresh(self.problem, &self.batches, machine, (*from, *tail));
    }

    /// What the schedule is, in the terms of the task.
    pub(super) fn schedule(&self, work: u64) -> Schedule {
        let mut batches = Vec::new();
        let mut left_out: Vec<usize> =
            (0..self.home.len()).filter(|&job| self.home[job] == NONE).collect();
        let mut cost = 0;
        for (machine, row) in self.rows.iter().enumerate() {
            let mut stand = first(self.problem, machine);
            for &id in &row.order {
                let batch = &self.batches[id as usize];
                let (next, more) = step(self.problem, machine, stand, batch);
                let mut jobs: Vec<usize> = batch.jobs.iter().map(|&job| job as usize).collect();
                if next.end == super::problem::NEVER {
                    left_out.append(&mut jobs);
                } else {
                    jobs.sort_unstable();
                    let start = next.end - batch.duration;
                    batches.push(Placed { machine, start, duration: batch.duration, jobs });
                    cost += more;
                }
                stand = next;
            }
        }
        left_out.sort_unstable();
        Schedule { batches, left_out, cost, work }
    }
}
