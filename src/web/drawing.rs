//! What all drawings share: marks, and lengths in proportion.

use serde::Serialize;

/// Words at a place along an axis of a drawing.
#[derive(Debug, Serialize)]
pub struct Mark {
    /// Where, in the drawing's units.
    pub at: i64,
    /// The words.
    pub text: String,
}

/// The part of a length that an amount is of the whole, which it never exceeds; for any numbers.
#[must_use]
pub fn in_proportion(amount: i64, whole: i64, length: i64) -> i64 {
    let whole = i128::from(whole.max(1));
    let part = i128::from(amount.max(0)).min(whole) * i128::from(length.max(0)) / whole;
    i64::try_from(part).unwrap_or(0)
}
