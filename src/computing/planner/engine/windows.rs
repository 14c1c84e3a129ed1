//! Changes that aim at where a job would be in time.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: jobs, rows and places are indices of the problem and the board"
)]

use super::{
    batch::Batch,
    board::Board,
    draft::{Act, Place},
    moves::{Mover, may_join, may_take},
};

/// How many jobs before and behind in the order of due times are asked to come along.
const ASKED: usize = 12;

impl Mover {
    /// A place on one of the job's machines where a batch ends within its time.
    fn window(&mut self, board: &Board<'_>, job: u32) -> Option<Place> {
        let piece = &board.problem.jobs[job as usize];
        let mut row = self.dice.below(64) as u32;
        let may = piece.machines.rotate_right(row);
        row = (row + may.trailing_zeros()) % 64;
        let slots = &board.rows.get(row as usize)?.slots;
        let first = slots.partition_point(|slot| slot.stand.end < piece.release + piece.min_time);
        let last = slots.partition_point(|slot| slot.stand.end <= piece.due);
        let at = first + self.dice.below(last.saturating_sub(first) + 1);
        Some(Place { row, at: at as u32 })
    }

    /// A job into a batch of its kind within its time, alone or for another.
    pub(super) fn join_in_time(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(place) = self.window(board, job) else { return false };
        let Some(&to) = board.rows[place.row as usize].order.get(place.at as usize) else {
            return false;
        };
        let from = board.batch_of(job);
        if from == to || board.batch(to).kind != board.batch(from).kind {
            return false;
        }
        if may_join(board, job, to, 0) && self.dice.below(4) != 0 {
            board.pull(job);
            return board.put(job, to) && board.finish(limit);
        }
        let held = &board.batch(to).jobs;
        let other = held[self.dice.below(held.len())];
        let (size, other_size) =
            (board.problem.jobs[job as usize].size, board.problem.jobs[other as usize].size);
        if !may_take(board, job, to, other_size) || !may_take(board, other, from, size) {
            return false;
        }
        board.pull(job);
        board.pull(other);
        board.put(job, to) && board.put(other, from) && board.finish(limit)
    }

    /// A job into a new batch within its time, with others that are late and could come along.
    pub(super) fn gather_in_time(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(place) = self.window(board, job) else { return false };
        let problem = board.problem;
        let free = match place.at.checked_sub(1) {
            Some(last) => board.rows[place.row as usize].slots[last as usize].stand.end,
            None => 0,
        };
        let mut batch = Batch::empty();
        batch.add(problem, job);
        let start = free.max(batch.release);
        let ranking = &problem.rankings[1];
        let list = &ranking.lists[batch.kind as usize];
        let rank = ranking.rank[job as usize] as usize;
        let near = rank.saturating_sub(ASKED)..(rank + ASKED + 1).min(list.len());
        let from = self.dice.below(near.len());
        for step in 0..near.len() {
            let other = list[near.start + (from + step) % near.len()];
            let piece = &problem.jobs[other as usize];
            let comes = other != job
                && piece.machines >> place.row & 1 == 1
                && batch.size + piece.size <= problem.ovens[place.row as usize].capacity
                && batch.suits(piece)
                && piece.release <= start
                && start + batch.duration.max(piece.min_time) <= piece.due
                && (board.is_late(other) || board.batch_of(other) == board.batch_of(job))
                && self.dice.below(4) != 0;
            if comes {
                batch.add(problem, other);
            }
        }
        for &moved in &batch.jobs {
            board.pull(moved);
        }
        board.found(&batch.jobs, place) && board.finish(limit)
    }

    /// The whole batch of a job to where the job is in time.
    pub(super) fn shift_in_time(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(to) = self.window(board, job) else { return false };
        let batch = board.batch_of(job);
        let from = board.place_of(batch);
        if (to.row == from.row && (to.at == from.at || to.at == from.at + 1))
            || !board.allows(to.row, board.batch(batch))
        {
            return false;
        }
        board.act(from, Act::Remove);
        board.act(to, Act::Insert(batch));
        board.finish(limit)
    }

    /// A job where it is in time, and the batch that is there now to another machine where one
    /// of its own jobs is in time.
    pub(super) fn displace_in_time(&mut self, board: &mut Board<'_>, job: u32, limit: i64) -> bool {
        let Some(place) = self.window(board, job) else { return false };
        let row = &board.rows[place.row as usize];
        let Some(&there) = row.order.get(place.at as usize) else { return false };
        let held = &board.batch(there).jobs;
        let home = board.batch_of(job);
        let chosen = held[self.dice.below(held.len())];
        let Some(to) = self.window(board, chosen) else { return false };
        if home == there || to.row == place.row || !board.allows(to.row, board.batch(there)) {
            return false;
        }
        if board.batch(home).jobs.len() == 1 {
            board.act(board.place_of(home), Act::Remove);
            board.act(place, Act::Insert(home));
        } else {
            board.pull(job);
            if !board.found(&[job], place) {
                return false;
            }
        }
        board.act(place, Act::Remove);
        board.act(to, Act::Insert(there));
        board.finish(limit)
    }
}
