//! A batch: some jobs of one kind and what follows from them.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: jobs are indices of the problem they came from"
)]

use super::problem::{BEFORE, NEVER, Piece, Problem};

/// Jobs together, and the sums and bounds the search asks for all the time.
#[derive(Debug, Clone)]
pub(super) struct Batch {
    pub(super) duration: i64,
    pub(super) release: i64,
    pub(super) first_due: i64,
    pub(super) last_due: i64,
    pub(super) all_late: i64,
    pub(super) kind: u32,
    pub(super) size: i64,
    /// The least longest time of its jobs.
    pub(super) longest: i64,
    pub(super) machines: u64,
    pub(super) jobs: Vec<u32>,
    /// Due times and what missing each costs, by due time.
    dues: Vec<(i64, i64)>,
}

impl Batch {
    pub(super) fn empty() -> Self {
        Self {
            duration: 0,
            release: BEFORE,
            first_due: NEVER,
            last_due: BEFORE,
            all_late: 0,
            kind: 0,
            size: 0,
            longest: NEVER,
            machines: u64::MAX,
            jobs: Vec::new(),
            dues: Vec::new(),
        }
    }

    pub(super) fn clear(&mut self) {
        self.duration = 0;
        self.release = BEFORE;
        self.first_due = NEVER;
        self.last_due = BEFORE;
        self.all_late = 0;
        self.size = 0;
        self.longest = NEVER;
        self.machines = u64::MAX;
        self.jobs.clear();
        self.dues.clear();
    }

    /// Becomes a copy, without new memory where there is some.
    pub(super) fn copy(&mut self, of: &Self) {
        self.duration = of.duration;
        self.release = of.release;
        self.first_due = of.first_due;
        self.last_due = of.last_due;
        self.all_late = of.all_late;
        self.kind = of.kind;
        self.size = of.size;
        self.longest = of.longest;
        self.machines = of.machines;
        self.jobs.clone_from(&of.jobs);
        self.dues.clone_from(&of.dues);
    }

    /// Whether the job may join, capacity apart.
    pub(super) fn suits(&self, job: &Piece) -> bool {
        self.jobs.is_empty()
            || (job.kind == self.kind
                && job.machines & self.machines != 0
                && job.min_time <= self.longest
                && job.max_time >= self.duration)
    }

    pub(super) fn add(&mut self, problem: &Problem, job: u32) {
        let piece = &problem.jobs[job as usize];
        self.duration = self.duration.max(piece.min_time);
        self.release = self.release.max(piece.release);
        self.first_due = self.first_due.min(piece.due);
        self.last_due = self.last_due.max(piece.due);
        self.all_late += piece.late_cost;
        self.kind = piece.kind;
        self.size += piece.size;
        self.longest = self.longest.min(piece.max_time);
        self.machines &= piece.machines;
        self.jobs.push(job);
        let at = self.dues.iter().position(|due| due.0 > piece.due).unwrap_or(self.dues.len());
        self.dues.insert(at, (piece.due, piece.late_cost));
    }

    pub(super) fn remove(&mut self, problem: &Problem, job: u32) {
        let Some(at) = self.jobs.iter().position(|&other| other == job) else { return };
        self.jobs.swap_remove(at);
        let gone = &problem.jobs[job as usize];
        if let Some(at) = self.dues.iter().position(|&due| due == (gone.due, gone.late_cost)) {
            self.dues.remove(at);
        }
        self.first_due = self.dues.first().map_or(NEVER, |due| due.0);
        self.last_due = self.dues.last().map_or(BEFORE, |due| due.0);
        self.all_late -= gone.late_cost;
        self.size -= gone.size;
        (self.duration, self.release, self.longest, self.machines) = (0, BEFORE, NEVER, u64::MAX);
        for &other in &self.jobs {
            let piece = &problem.jobs[other as usize];
            self.duration = self.duration.max(piece.min_time);
            self.release = self.release.max(piece.release);
            self.longest = self.longest.min(piece.max_time);
            self.machines &= piece.machines;
        }
    }

    /// What its jobs' being late costs if it ends then.
    pub(super) fn late(&self, end: i64) -> i64 {
        if end <= self.first_due {
            0
        } else if end > self.last_due {
            self.all_late
        } else {
            self.dues.iter().take_while(|due| due.0 < end).map(|due| due.1).sum()
        }
    }

    /// How much later than `end` it may end without more being late.
    pub(super) fn room_after(&self, end: i64) -> i64 {
        if end > self.last_due {
            return NEVER;
        }
        self.dues.iter().find(|due| due.0 >= end).map_or(NEVER, |due| due.0 - end)
    }

    /// How much earlier than `end` it may end without less being late.
    pub(super) fn room_before(&self, end: i64) -> i64 {
        if end <= self.first_due {
            return NEVER;
        }
        self.dues.iter().rev().find(|due| due.0 < end).map_or(NEVER, |due| end - due.0 - 1)
    }
}
