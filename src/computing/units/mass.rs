//! Masses.

use std::fmt;
use std::iter::Sum;
use std::ops::Add;

use serde::{Deserialize, Serialize};

use super::measures::{OUNCE_G, THIN_SPACE};
use super::{Measures, OutOfRange, real, short, whole};

const MILLIGRAMS: f64 = 1000.0;
const MAX: u64 = 1_000_000_000_000;

/// A mass, 0 to 1,000,000,000 g, kept in whole milligrams.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "f64", into = "f64")]
pub struct Grams(u64);

impl Grams {
    /// Nothing.
    pub const ZERO: Self = Self(0);

    /// From grams, to the nearest milligram.
    ///
    /// # Errors
    /// When negative, not a number, or above 1,000,000,000 g.
    pub fn new(grams: f64) -> Result<Self, OutOfRange> {
        whole(grams, MILLIGRAMS)
            .and_then(|units| u64::try_from(units).ok())
            .filter(|units| *units <= MAX)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("mass", format!("{grams} g"), "0 to 1,000,000,000 g"))
    }

    /// From whole milligrams.
    ///
    /// # Errors
    /// Above 10^12 mg.
    pub fn from_milligrams(milligrams: u64) -> Result<Self, OutOfRange> {
        if milligrams > MAX {
            let value = format!("{milligrams} mg");
            return Err(OutOfRange::new("mass", value, "0 to 1,000,000,000 g"));
        }
        Ok(Self(milligrams))
    }

    /// In grams.
    #[must_use]
    pub fn grams(self) -> f64 {
        real(self.0.try_into().unwrap_or(i64::MAX)) / MILLIGRAMS
    }

    /// In whole milligrams.
    #[must_use]
    pub const fn milligrams(self) -> u64 {
        self.0
    }

    /// For people: `100 g`, `0.09 g`, or ounces.
    #[must_use]
    pub fn in_words(self, measures: Measures) -> String {
        match measures {
            Measures::Metric => format!("{}{THIN_SPACE}g", short(self.grams(), 2)),
            Measures::Us => format!("{}{THIN_SPACE}oz", short(self.grams() / OUNCE_G, 3)),
        }
    }
}

impl fmt::Display for Grams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_words(Measures::Metric))
    }
}

impl Add for Grams {
    type Output = Self;

    /// Both together, at most the greatest mass there is.
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0).min(MAX))
    }
}

impl Sum for Grams {
    fn sum<I: Iterator<Item = Self>>(masses: I) -> Self {
        masses.fold(Self::ZERO, Add::add)
    }
}

impl TryFrom<f64> for Grams {
    type Error = OutOfRange;

    fn try_from(grams: f64) -> Result<Self, OutOfRange> {
        Self::new(grams)
    }
}

impl From<Grams> for f64 {
    fn from(mass: Grams) -> Self {
        mass.grams()
    }
}
