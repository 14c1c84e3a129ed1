//! Volumes.

use std::fmt;
use std::iter::Sum;
use std::ops::Add;

use serde::{Deserialize, Serialize};

use super::measures::{FLUID_OUNCE_ML, THIN_SPACE};
use super::{Measures, OutOfRange, real, short, whole};

const MICROLITRES: f64 = 1000.0;
const MAX: u64 = 1_000_000_000_000;
const ALLOWED: &str = "0 to 1,000,000,000 ml";

/// A volume of liquid, 0 to 1,000,000,000 ml, kept in whole thousandths of a millilitre.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "f64", into = "f64")]
pub struct Millilitres(u64);

impl Millilitres {
    /// No liquid at all.
    pub const ZERO: Self = Self(0);
    /// Half a millilitre.
    pub const HALF: Self = Self(500);
    /// The greatest volume there is.
    pub const GREATEST: Self = Self(MAX);

    /// From millilitres, to the nearest thousandth.
    ///
    /// # Errors
    /// When `ml` is negative, not a number, or above 1,000,000,000.
    pub fn new(ml: f64) -> Result<Self, OutOfRange> {
        whole(ml, MICROLITRES)
            .and_then(|units| u64::try_from(units).ok())
            .filter(|units| *units <= MAX)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("volume", format!("{ml} ml"), ALLOWED))
    }

    /// From a whole number of millilitres that is always in range.
    #[must_use]
    pub const fn of(ml: u16) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(ml as u64 * 1000)
    }

    /// From whole thousandths of a millilitre, as a database keeps them.
    ///
    /// # Errors
    /// When there are more than 10^12 of them.
    pub fn from_microlitres(microlitres: u64) -> Result<Self, OutOfRange> {
        if microlitres > MAX {
            return Err(OutOfRange::new("volume", format!("{microlitres} µl"), ALLOWED));
        }
        Ok(Self(microlitres))
    }

    /// From litres.
    ///
    /// # Errors
    /// As [`Millilitres::new`].
    pub fn from_litres(litres: f64) -> Result<Self, OutOfRange> {
        Self::new(litres * 1000.0)
    }

    /// From US fluid ounces (29.5735295625 ml each).
    ///
    /// # Errors
    /// As [`Millilitres::new`].
    pub fn from_fluid_ounces(ounces: f64) -> Result<Self, OutOfRange> {
        Self::new(ounces * FLUID_OUNCE_ML)
    }

    /// In millilitres.
    #[must_use]
    pub fn ml(self) -> f64 {
        real(self.0.try_into().unwrap_or(i64::MAX)) / MICROLITRES
    }

    /// In whole thousandths of a millilitre.
    #[must_use]
    pub const fn microlitres(self) -> u64 {
        self.0
    }

    /// In litres.
    #[must_use]
    pub fn litres(self) -> f64 {
        self.ml() / 1000.0
    }

    /// In US fluid ounces.
    #[must_use]
    pub fn fluid_ounces(self) -> f64 {
        self.ml() / FLUID_OUNCE_ML
    }

    /// What is left after taking `other` away; nothing when `other` is more.
    #[must_use]
    pub fn less(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }

    /// `times` such volumes together (at most the greatest volume there is).
    #[must_use]
    pub fn times(self, times: u32) -> Self {
        Self(self.0.saturating_mul(u64::from(times)).min(MAX))
    }

    /// The next whole number of `step` that is at least this volume; the volume
    /// itself for a step of zero.
    #[must_use]
    pub fn rounded_up_to(self, step: Self) -> Self {
        match step.0 {
            0 => self,
            step => Self((self.0.div_ceil(step) * step).min(MAX)),
        }
    }

    /// For people: `9.5 ml`, or `0.32 fl oz`.
    #[must_use]
    pub fn in_words(self, measures: Measures) -> String {
        match measures {
            Measures::Metric => format!("{}{THIN_SPACE}ml", short(self.ml(), 1)),
            Measures::Us => {
                format!("{}{THIN_SPACE}fl{THIN_SPACE}oz", short(self.fluid_ounces(), 2))
            }
        }
    }
}

impl fmt::Display for Millilitres {
    /// To 0.1 ml (`9.5 ml`); with `{:#}` to the last thousandth (`18.75 ml`).
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let places = if f.alternate() { 3 } else { 1 };
        write!(f, "{}{THIN_SPACE}ml", short(self.ml(), places))
    }
}

impl Add for Millilitres {
    type Output = Self;

    /// Both together, at most the greatest volume there is.
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0).min(MAX))
    }
}

impl Sum for Millilitres {
    fn sum<I: Iterator<Item = Self>>(volumes: I) -> Self {
        volumes.fold(Self::ZERO, Add::add)
    }
}

impl TryFrom<f64> for Millilitres {
    type Error = OutOfRange;

    fn try_from(ml: f64) -> Result<Self, OutOfRange> {
        Self::new(ml)
    }
}

impl From<Millilitres> for f64 {
    fn from(volume: Millilitres) -> Self {
        volume.ml()
    }
}
