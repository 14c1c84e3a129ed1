//! How good a bath still is.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::units::{Percent, RollBalance, RollEquivalents};

/// From good to spent; the worst of several standings is the greatest.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// To be used.
    #[default]
    Good,
    /// To be used, and to be replaced soon.
    NearLimit,
    /// Not to be used.
    Spent,
}

impl fmt::Display for Standing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Good => "good",
            Self::NearLimit => "near its limit",
            Self::Spent => "spent",
        })
    }
}

/// The standing of something of which `used` out of `most` is gone: spent from the
/// limit on (the limit itself included), near it from the given share on, which is
/// met although 12 × 0.8 is a trace above 9.6 in a float.
pub(super) fn standing(used: f64, most: f64, near: Percent) -> Standing {
    if used >= most {
        Standing::Spent
    } else if used >= most * (near.fraction() - 1e-9) {
        Standing::NearLimit
    } else {
        Standing::Good
    }
}

/// How much of a capacity was used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct CapacityUse {
    /// What the bath can take in all.
    pub capacity: RollEquivalents,
    /// The load so far.
    pub load: RollEquivalents,
    /// What is left; below zero when used beyond it.
    pub remaining: RollBalance,
    /// What that means.
    pub standing: Standing,
}

impl CapacityUse {
    /// Compares a load with a capacity; `near` is the share from which to warn.
    #[must_use]
    pub fn new(capacity: RollEquivalents, load: RollEquivalents, near: Percent) -> Self {
        let remaining = RollBalance::left_of(capacity, load);
        let standing = if remaining.is_used_up() {
            Standing::Spent
        } else {
            standing(load.rolls(), capacity.rolls(), near)
        };
        Self { capacity, load, remaining, standing }
    }
}
