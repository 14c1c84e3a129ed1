//! Multipliers.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::{OutOfRange, short};

/// A number to multiply by, 0.01 to 100: a film's load on the fixer, a
/// developer's factor per 10 °C, a correction of a time.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Factor(f64);

impl Factor {
    /// Changes nothing.
    pub const ONE: Self = Self(1.0);
    /// Four times.
    pub(crate) const FOUR: Self = Self(4.0);

    /// From a number.
    ///
    /// # Errors
    /// When not a number or outside 0.01 to 100.
    pub fn new(factor: f64) -> Result<Self, OutOfRange> {
        if !(0.01..=100.0).contains(&factor) {
            return Err(OutOfRange::new("factor", factor, "0.01 to 100"));
        }
        Ok(Self(factor))
    }

    /// From hundredths that are known to be in range: for the defaults.
    pub(crate) const fn hundredths(hundredths: u8) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(if hundredths == 0 { 1.0 } else { hundredths as f64 / 100.0 })
    }

    /// As a number.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Factor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&short(self.0, 3))
    }
}

impl TryFrom<f64> for Factor {
    type Error = OutOfRange;

    fn try_from(factor: f64) -> Result<Self, OutOfRange> {
        Self::new(factor)
    }
}

impl From<Factor> for f64 {
    fn from(factor: Factor) -> Self {
        factor.0
    }
}
