//! Changes that move whole batches.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: batches, rows and places are indices of the board"
)]

use super::{
    board::Board,
    dice::Dice,
    draft::{Act, Place},
    row::Part,
};

/// The longest stretch of batches moved at once.
const LONGEST: usize = 8;

/// A place beside the batch of some job, or anywhere.
fn anywhere(board: &Board<'_>, dice: &mut Dice) -> Place {
    let able = &board.problem.able;
    let row = if dice.below(4) == 0 {
        dice.below(board.rows.len()) as u32
    } else {
        board.place_of(board.batch_of(able[dice.below(able.len())])).row
    };
    Place { row, at: dice.below(board.len(row) as usize + 1) as u32 }
}

/// A place not far from another on its row, or anywhere.
fn near(board: &Board<'_>, dice: &mut Dice, place: Place) -> Place {
    if dice.below(2) == 0 {
        return anywhere(board, dice);
    }
    let low = place.at.saturating_sub(LONGEST as u32);
    let high = (place.at + LONGEST as u32 + 1).min(board.len(place.row));
    Place { at: low + dice.below((high - low) as usize + 1) as u32, ..place }
}

/// The batch of a job to another place.
pub(super) fn move_batch(board: &mut Board<'_>, dice: &mut Dice, job: u32, limit: i64) -> bool {
    let batch = board.batch_of(job);
    let from = board.place_of(batch);
    let to = near(board, dice, from);
    if (to.row == from.row && (to.at == from.at || to.at == from.at + 1))
        || !board.allows(to.row, board.batch(batch))
    {
        return false;
    }
    board.act(from, Act::Remove);
    board.act(to, Act::Insert(batch));
    board.finish(limit)
}

/// The batch of a job and another change places.
pub(super) fn swap_batches(board: &mut Board<'_>, dice: &mut Dice, job: u32, limit: i64) -> bool {
    let batch = board.batch_of(job);
    let from = board.place_of(batch);
    let to = near(board, dice, from);
    if to == from || to.at >= board.len(to.row) {
        return false;
    }
    let other = board.rows[to.row as usize].order[to.at as usize];
    if !board.allows(to.row, board.batch(batch)) || !board.allows(from.row, board.batch(other)) {
        return false;
    }
    board.act(from, Act::Replace(other));
    board.act(to, Act::Replace(batch));
    board.finish(limit)
}

fn kept(row: u32, from: u32, to: u32) -> Part {
    Part::Kept { row, from, to }
}

/// A row's new order without the parts that are empty.
fn lay(board: &mut Board<'_>, row: u32, parts: &[Part]) {
    let mut full = [Part::Batch(0); 5];
    let mut many = 0;
    for &part in parts {
        if !matches!(part, Part::Kept { from, to, .. } if from >= to) {
            full[many] = part;
            many += 1;
        }
    }
    board.reorder(row, &full[..many]);
}

/// A few batches in a row to another place.
pub(super) fn move_stretch(board: &mut Board<'_>, dice: &mut Dice, job: u32, limit: i64) -> bool {
    let Place { row, at: from } = board.place_of(board.batch_of(job));
    let len = board.len(row);
    let to = (from + 2 + dice.below(LONGEST - 1) as u32).min(len);
    let place = anywhere(board, dice);
    if place.row == row {
        if (from..=to).contains(&place.at) {
            return false;
        }
        let (a, b, c) = if place.at < from { (place.at, from, to) } else { (from, to, place.at) };
        lay(board, row, &[kept(row, 0, a), kept(row, b, c), kept(row, a, b), kept(row, c, len)]);
    } else {
        let moved = &board.rows[row as usize].order[from as usize..to as usize];
        if !moved.iter().all(|&batch| board.allows(place.row, board.batch(batch))) {
            return false;
        }
        let other = board.len(place.row);
        lay(board, row, &[kept(row, 0, from), kept(row, to, len)]);
        lay(
            board,
            place.row,
            &[kept(place.row, 0, place.at), kept(row, from, to), kept(place.row, place.at, other)],
        );
    }
    board.finish(limit)
}

/// The ends of two rows change places.
pub(super) fn swap_tails(board: &mut Board<'_>, dice: &mut Dice, job: u32, limit: i64) -> bool {
    let one = board.place_of(board.batch_of(job));
    let two = anywhere(board, dice);
    let fits = |from: Place, row: u32| {
        let tail = &board.rows[from.row as usize].order[from.at as usize..];
        tail.iter().all(|&batch| board.allows(row, board.batch(batch)))
    };
    if one.row == two.row || !fits(one, two.row) || !fits(two, one.row) {
        return false;
    }
    let (first, second) = (board.len(one.row), board.len(two.row));
    lay(board, one.row, &[kept(one.row, 0, one.at), kept(two.row, two.at, second)]);
    lay(board, two.row, &[kept(two.row, 0, two.at), kept(one.row, one.at, first)]);
    board.finish(limit)
}
