//! What this room asks and changes, by noun.

mod learning;
mod notes;

pub(super) use learning::*;
pub(super) use notes::*;
