//! Amounts as JSON writes them.

/// Whole thousandths as a number: 9500 is 9.5. Exact to a thousandth far beyond any amount here.
#[must_use]
#[expect(clippy::as_conversions, reason = "thousandths far below 2^53 are exact in a double")]
pub fn thousandths(n: i64) -> f64 {
    n as f64 / 1000.0
}
