//! What this room asks and changes, by noun.

mod learning;
mod notes;

pub(super) use learning::*;
pub use notes::Note;
pub(super) use notes::*;
