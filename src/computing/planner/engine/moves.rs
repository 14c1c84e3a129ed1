//! Changes that take jobs from batch to batch.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: jobs are indices of the problem, ranks of its rankings"
)]

use super::{board::Board, dice::Dice, draft::Place, shifts};

/// How far apart in a ranking two jobs may be that are tried together most of the time.
const NEAR: usize = 24;
/// The most batches that are emptied and filled anew together.
const REPACKED: usize = 4;

/// A kind of change, around a job.
type Change = fn(&mut Mover, &mut Board<'_>, u32, i64) -> bool;

/// All kinds, and how often each is tried.
const CHANGES: &[(usize, Change)] = &[
    (24, Mover::relocate),
    (28, Mover::swap),
    (10, Mover::rotate),
    (3, Mover::extract),
    (4, Mover::split),
    (2, Mover::merge),
    (6, Mover::dissolve),
    (6, Mover::repack),
    (6, |mover, board, job, limit| shifts::move_batch(board, &mut mover.dice, job, limit)),
    (4, |mover, board, job, limit| shifts::swap_batches(board, &mut mover.dice, job, limit)),
    (2, |mover, board, job, limit| shifts::move_stretch(board, &mut mover.dice, job, limit)),
    (1, |mover, board, job, limit| shifts::swap_tails(board, &mut mover.dice, job, limit)),
    (16, Mover::join_in_time),
    (8, Mover::gather_in_time),
    (4, Mover::shift_in_time),
    (5, Mover::displace_in_time),
];

/// The sum of the weights of [`CHANGES`].
const TOTAL: usize = {
    let (mut sum, mut at) = (0, 0);
    while at < CHANGES.len() {
        sum += CHANGES[at].0;
        at += 1;
    }
    sum
};

/// The chance and the memory that the changes use.
pub(super) struct Mover {
    pub(super) dice: Dice,
    pub(super) jobs: Vec<u32>,
    batches: Vec<u32>,
}

impl Mover {
    pub(super) fn new(seed: u64) -> Self {
        Self { dice: Dice::new(seed), jobs: Vec::new(), batches: Vec::new() }
    }

    /// Tries one change and keeps it if the schedule then costs at most `limit`.
    pub(super) fn try_one(&mut self, board: &mut Board<'_>, limit: i64) -> bool {
        let able = &board.problem.able;
        let job = able[self.dice.below(able.len())];
        board.begin();
        let mut drawn = self.dice.below(TOTAL);
        for (weight, change) in CHANGES {
            if drawn < *weight {
                return change(self, board, job, limit);
            }
            drawn -= weight;
        }
        false
    }

    /// Another job of the same kind, mostly one alike in time, due or release.
    fn alike(&mut self, board: &Board<'_>, job: u32) -> Option<u32> {
        let problem = board.problem;
        let ranking = &problem.rankings[self.dice.below(3)];
        let list = &ranking.lists[problem.jobs[job as usize].kind as usize];
        let others = list.len().checked_sub(1).filter(|&many| many > 0)?;
        let reach = if self.dice.below(4) == 0 { others } else { others.min(NEAR) };
        let away = 1 + self.dice.below(reach);
        let rank = ranking.rank[job as usize] as usize;
        let at = if self.dice.below(2) == 0 { rank + away } else { rank + list.len() - away };
        Some(list[at % list.len()])
    }

    /// A job alike in another batch.
    fn partner(&mut self, board: &Board<'_>, job: u32) -> Option<u32> {
        let home = board.batch_of(job);
        (0..3).find_map(|_| self.alike(board, job).filter(|&other| board.batch_of(other) != home))
    }

    fn relocate(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(other) = self.partner(board, job) else { return false };
        let to = board.batch_of(other);
        if !may_join(board, job, to, 0) {
            return false;
        }
        board.pull(job);
        board.put(job, to) && board.finish(limit)
    }

    fn swap(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(other) = self.partner(board, job) else { return false };
        let (from, to) = (board.batch_of(job), board.batch_of(other));
        let (size, other_size) =
            (board.problem.jobs[job as usize].size, board.problem.jobs[other as usize].size);
        if !may_take(board, job, to, other_size) || !may_take(board, other, from, size) {
            return false;
        }
        board.pull(job);
        board.pull(other);
        board.put(job, to) && board.put(other, from) && board.finish(limit)
    }

    /// Three jobs, each into the next one's batch; or two, the last into a third batch.
    fn rotate(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(second) = self.partner(board, job) else { return false };
        let Some(third) = self.partner(board, second) else { return false };
        let (a, b, c) = (board.batch_of(job), board.batch_of(second), board.batch_of(third));
        if c == a || !may_take(board, job, b, board.problem.jobs[second as usize].size) {
            return false;
        }
        let round = self.dice.below(2) == 0;
        let room = if round { board.problem.jobs[third as usize].size } else { 0 };
        if !may_take(board, second, c, room) {
            return false;
        }
        board.pull(job);
        board.pull(second);
        if round {
            board.pull(third);
        }
        board.put(job, b)
            && board.put(second, c)
            && (!round || board.put(third, a))
            && board.finish(limit)
    }

    /// A job alone into a new batch.
    fn extract(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let place = self.somewhere(board, job);
        board.pull(job);
        board.found(&[job], place) && board.finish(limit)
    }

    /// The jobs of a batch on one side of `job`, in a ranking, into a new batch.
    fn split(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let home = board.batch_of(job);
        if board.batch(home).jobs.len() < 3 {
            return false;
        }
        let ranking = &board.problem.rankings[self.dice.below(3)];
        let (above, at) = (self.dice.below(2) == 0, ranking.rank[job as usize]);
        let beyond = |other: u32| {
            if above {
                ranking.rank[other as usize] >= at
            } else {
                ranking.rank[other as usize] <= at
            }
        };
        self.jobs.clear();
        self.jobs.extend(board.batch(home).jobs.iter().copied().filter(|&other| beyond(other)));
        if self.jobs.len() == board.batch(home).jobs.len() {
            return false;
        }
        let place =
            if self.dice.below(2) == 0 { board.place_of(home) } else { self.somewhere(board, job) };
        for &other in &self.jobs {
            board.pull(other);
        }
        board.found(&self.jobs, place) && board.finish(limit)
    }

    /// All of a batch into another.
    fn merge(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(other) = self.partner(board, job) else { return false };
        let (from, to) = (board.batch_of(job), board.batch_of(other));
        let capacity = board.problem.ovens[board.place_of(to).row as usize].capacity;
        if board.batch(from).size + board.batch(to).size > capacity {
            return false;
        }
        self.hold(board, from);
        for &moved in &self.jobs {
            board.pull(moved);
            if !board.put(moved, to) {
                return false;
            }
        }
        board.finish(limit)
    }

    /// The jobs of a batch, each into some other.
    fn dissolve(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let from = board.batch_of(job);
        if board.batch(from).jobs.len() > 6 {
            return false;
        }
        self.hold(board, from);
        let held = std::mem::take(&mut self.jobs);
        let placed = held.iter().all(|&moved| {
            board.pull(moved);
            (0..8).any(|_| {
                self.partner(board, moved)
                    .is_some_and(|other| board.put(moved, board.batch_of(other)))
            })
        });
        self.jobs = held;
        placed && board.finish(limit)
    }

    /// Empties a few batches of one kind and fills them anew in the order of a ranking.
    fn repack(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let many = 2 + self.dice.below(REPACKED - 1);
        self.batches.clear();
        self.batches.push(board.batch_of(job));
        let mut last = job;
        for _ in 0..many * 2 {
            let Some(other) = self.partner(board, last) else { break };
            let batch = board.batch_of(other);
            if !self.batches.contains(&batch) {
                self.batches.push(batch);
                last = other;
            }
            if self.batches.len() == many {
                break;
            }
        }
        if self.batches.len() < 2 {
            return false;
        }
        self.jobs.clear();
        for &batch in &self.batches {
            self.jobs.extend_from_slice(&board.batch(batch).jobs);
        }
        self.arrange(board);
        for &moved in &self.jobs {
            board.pull(moved);
        }
        let (jobs, batches) = (&self.jobs, &self.batches);
        jobs.iter().all(|&moved| batches.iter().any(|&batch| board.put(moved, batch)))
            && board.finish(limit)
    }

    /// Puts the held jobs and batches into an order, a little disturbed.
    fn arrange(&mut self, board: &Board<'_>) {
        let ranking = &board.problem.rankings[[0, 0, 1, 2][self.dice.below(4)]];
        self.jobs.sort_by_key(|&job| ranking.rank[job as usize]);
        if self.dice.below(2) == 0 {
            self.jobs.reverse();
        }
        if self.dice.below(2) == 0 {
            for _ in 0..1 + self.dice.below(3) {
                let at = 1 + self.dice.below(self.jobs.len() - 1);
                self.jobs.swap(at - 1, at);
            }
        }
        for at in (1..self.batches.len()).rev() {
            self.batches.swap(at, self.dice.below(at + 1));
        }
    }

    fn hold(&mut self, board: &Board<'_>, batch: u32) {
        self.jobs.clear();
        self.jobs.extend_from_slice(&board.batch(batch).jobs);
        let jobs = &board.problem.jobs;
        self.jobs.sort_by_key(|&job| (-jobs[job as usize].size, job));
    }

    /// A place for a new batch with this job.
    fn somewhere(&mut self, board: &Board<'_>, job: u32) -> Place {
        if let Some(other) = self.alike(board, job).filter(|_| self.dice.below(4) != 0) {
            let place = board.place_of(board.batch_of(other));
            return Place { at: place.at + self.dice.below(2) as u32, ..place };
        }
        let row = self.dice.below(board.rows.len()) as u32;
        Place { row, at: self.dice.below(board.len(row) as usize + 1) as u32 }
    }
}

/// Whether a job may join a batch in its place, once `freed` of the capacity is free there.
pub(super) fn may_join(board: &Board<'_>, job: u32, batch: u32, freed: i64) -> bool {
    board.batch(batch).suits(&board.problem.jobs[job as usize])
        && may_take(board, job, batch, freed)
}

/// The same without the time windows, which may change when another job leaves.
pub(super) fn may_take(board: &Board<'_>, job: u32, batch: u32, freed: i64) -> bool {
    let piece = &board.problem.jobs[job as usize];
    let row = board.place_of(batch).row;
    piece.machines >> row & 1 == 1
        && board.batch(batch).size - freed + piece.size
            <= board.problem.ovens[row as usize].capacity
}
