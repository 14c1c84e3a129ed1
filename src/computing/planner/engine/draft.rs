//! A change being put together, and the new orders of rows it comes to.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: rows and places are indices of the board the change is for"
)]

use super::row::{Part, Row};

/// A place in a row: before the batch that is there now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Place {
    pub(super) row: u32,
    pub(super) at: u32,
}

/// What happens at a place. In this order where several happen at one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Act {
    Insert(u32),
    Replace(u32),
    Remove,
}

/// The new order of one row.
#[derive(Debug, Default)]
pub(super) struct Edit {
    pub(super) row: usize,
    pub(super) parts: Vec<Part>,
}

/// A new order: the first batches and the last ones of the old, and others between them.
#[derive(Debug, Default)]
pub(super) struct Layout {
    pub(super) from: usize,
    pub(super) tail: usize,
    pub(super) middle: Vec<u32>,
}

/// A change being put together.
#[derive(Debug, Default)]
pub(super) struct Draft {
    /// Batches changed by it: the one that is, and its copy.
    pub(super) copies: Vec<(u32, u32)>,
    /// New batches.
    pub(super) fresh: Vec<u32>,
    pub(super) acts: Vec<(Place, Act)>,
    pub(super) edits: Vec<Edit>,
    pub(super) used: usize,
}

impl Draft {
    /// The new order of one more row, still empty.
    pub(super) fn edit(&mut self, row: usize) -> &mut Edit {
        if self.used == self.edits.len() {
            self.edits.push(Edit::default());
        }
        self.used += 1;
        let edit = &mut self.edits[self.used - 1];
        edit.row = row;
        edit.parts.clear();
        edit
    }

    /// Turns the acts into the rows' new orders.
    pub(super) fn sort_out(&mut self, rows: &[Row]) {
        let mut acts = std::mem::take(&mut self.acts);
        acts.sort_unstable();
        let mut from = 0;
        while let Some((place, _)) = acts.get(from) {
            let row = place.row;
            let to = acts[from..]
                .iter()
                .position(|(place, _)| place.row != row)
                .map_or(acts.len(), |many| from + many);
            let len = rows[row as usize].order.len() as u32;
            let edit = self.edit(row as usize);
            let mut done = 0;
            for &(Place { at, .. }, act) in &acts[from..to] {
                if at > done {
                    edit.parts.push(Part::Kept { row, from: done, to: at });
                    done = at;
                }
                match act {
                    Act::Insert(id) => edit.parts.push(Part::Batch(id)),
                    Act::Replace(id) => {
                        edit.parts.push(Part::Batch(id));
                        done = at + 1;
                    }
                    Act::Remove => done = at + 1,
                }
            }
            if done < len {
                edit.parts.push(Part::Kept { row, from: done, to: len });
            }
            from = to;
        }
        acts.clear();
        self.acts = acts;
    }
}

impl Layout {
    /// What an edit makes of the rows as they are.
    pub(super) fn read(&mut self, edit: &Edit, rows: &[Row]) {
        self.middle.clear();
        (self.from, self.tail) = (0, 0);
        let len = rows[edit.row].order.len() as u32;
        for (index, part) in edit.parts.iter().enumerate() {
            match *part {
                Part::Kept { row, from: 0, to } if index == 0 && row as usize == edit.row => {
                    self.from = to as usize
                }
                Part::Kept { row, from, to }
                    if index + 1 == edit.parts.len() && row as usize == edit.row && to == len =>
                {
                    self.tail = (to - from) as usize;
                }
                Part::Kept { row, from, to } => {
                    self.middle
                        .extend_from_slice(&rows[row as usize].order[from as usize..to as usize]);
                }
                Part::Batch(id) => self.middle.push(id),
            }
        }
    }
}
