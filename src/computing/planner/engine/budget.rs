//! How long a search may go on.

use std::fmt;

/// When a search ends.
#[derive(Clone, Copy)]
pub enum Budget<'b> {
    /// After so many tried changes per thread: the same result on every machine.
    Work(u64),
    /// When this says 1: the share of the time that has gone, from 0 to 1. It is asked every
    /// few hundred changes by every thread; what is found depends on the machine's speed.
    Share(&'b (dyn Fn() -> f64 + Sync)),
}

impl fmt::Debug for Budget<'_> {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Work(steps) => write!(to, "Work({steps})"),
            Self::Share(_) => to.write_str("Share"),
        }
    }
}
