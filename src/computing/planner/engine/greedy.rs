//! A first schedule: one job after another to where it costs least at the moment.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: jobs and batches are indices of the board"
)]

use super::{board::Board, draft::Place};

/// Fills an empty board.
pub(super) fn fill(board: &mut Board<'_>) {
    let mut order = board.problem.able.clone();
    let jobs = &board.problem.jobs;
    order.sort_by_key(|&job| (jobs[job as usize].due, jobs[job as usize].release, job));
    for job in order {
        let kind = board.problem.jobs[job as usize].kind;
        let mut best = (i64::MAX, Choice::Nowhere);
        for row in 0..board.rows.len() as u32 {
            let order = board.rows[row as usize].order.clone();
            for id in order.into_iter().rev().take(40) {
                let batch = board.batch(id);
                let piece = &board.problem.jobs[job as usize];
                let room = board.problem.ovens[row as usize].capacity - batch.size;
                if batch.kind == kind
                    && batch.suits(piece)
                    && piece.size <= room
                    && piece.machines >> row & 1 == 1
                {
                    board.begin();
                    board.put(job, id);
                    consider(board, &mut best, Choice::Batch(id));
                }
            }
            if board.problem.jobs[job as usize].machines >> row & 1 == 1 {
                let place = Place { row, at: board.len(row) };
                board.begin();
                board.found(&[job], place);
                consider(board, &mut best, Choice::New(place));
            }
        }
        board.begin();
        let there = match best.1 {
            Choice::Batch(id) => board.put(job, id),
            Choice::New(place) => board.found(&[job], place),
            Choice::Nowhere => false,
        };
        if there {
            board.finish(i64::MAX / 2);
        }
    }
    board.begin();
}

#[derive(Clone, Copy)]
enum Choice {
    Batch(u32),
    New(Place),
    Nowhere,
}

fn consider(board: &mut Board<'_>, best: &mut (i64, Choice), choice: Choice) {
    let cost = board.weigh(best.0.min(i64::MAX / 2));
    if let Some(cost) = cost.filter(|&cost| cost < best.0) {
        *best = (cost, choice);
    }
}
