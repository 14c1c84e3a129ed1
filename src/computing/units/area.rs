//! Areas of film.

use std::fmt;
use std::iter::Sum;
use std::ops::Add;

use serde::{Deserialize, Serialize};

use super::measures::THIN_SPACE;
use super::{Measures, OutOfRange, real, short, whole};

/// 1 in² = 645.16 mm² = 6.4516 cm².
const CM2_PER_SQUARE_INCH: f64 = 6.4516;
const UNITS_PER_CM2: f64 = 10_000.0;
const MAX: u64 = 1_000_000_000_000;
const ALLOWED: &str = "0 to 100,000,000 cm²";

/// An area of film, 0 to 100,000,000 cm², kept in hundredths of a square
/// millimetre, in which a square inch (64,516 of them) is exact.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "f64", into = "f64")]
pub struct Area(u64);

impl Area {
    /// From square centimetres.
    ///
    /// # Errors
    /// When negative, not a number, or above 100,000,000 cm².
    pub fn new(square_centimetres: f64) -> Result<Self, OutOfRange> {
        whole(square_centimetres, UNITS_PER_CM2)
            .and_then(|units| u64::try_from(units).ok())
            .filter(|units| *units <= MAX)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("area", format!("{square_centimetres} cm²"), ALLOWED))
    }

    /// From square inches (645.16 mm² each).
    ///
    /// # Errors
    /// As [`Area::new`].
    pub fn from_square_inches(square_inches: f64) -> Result<Self, OutOfRange> {
        Self::new(square_inches * CM2_PER_SQUARE_INCH)
    }

    /// Of a rectangle measured in millimetres.
    ///
    /// # Errors
    /// When a side is negative or not a number, or the area is out of range.
    pub fn rectangle_mm(width: f64, length: f64) -> Result<Self, OutOfRange> {
        for (name, side) in [("width", width), ("length", length)] {
            if !(0.0..=10_000_000.0).contains(&side) {
                return Err(OutOfRange::new(name, format!("{side} mm"), "0 to 10,000,000 mm"));
            }
        }
        Self::new(width * length / 100.0)
    }

    /// `count` such pieces together (at most the greatest area there is).
    #[must_use]
    pub fn times(self, count: u32) -> Self {
        Self(self.0.saturating_mul(u64::from(count)).min(MAX))
    }

    /// In hundredths of a square millimetre.
    pub(crate) const fn units(self) -> u64 {
        self.0
    }

    /// From hundredths of a square millimetre that are known to be in range.
    pub(crate) const fn from_units(units: u64) -> Self {
        Self(if units > MAX { MAX } else { units })
    }

    /// In square centimetres.
    #[must_use]
    pub fn square_centimetres(self) -> f64 {
        real(self.0.try_into().unwrap_or(i64::MAX)) / UNITS_PER_CM2
    }

    /// In square inches.
    #[must_use]
    pub fn square_inches(self) -> f64 {
        self.square_centimetres() / CM2_PER_SQUARE_INCH
    }

    /// In square metres.
    #[must_use]
    pub fn square_metres(self) -> f64 {
        self.square_centimetres() / 10_000.0
    }

    /// For people: `516.1 cm²` or `80 in²`.
    #[must_use]
    pub fn in_words(self, measures: Measures) -> String {
        match measures {
            Measures::Metric => format!("{}{THIN_SPACE}cm²", short(self.square_centimetres(), 1)),
            Measures::Us => format!("{}{THIN_SPACE}in²", short(self.square_inches(), 1)),
        }
    }
}

impl fmt::Display for Area {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_words(Measures::Metric))
    }
}

impl Add for Area {
    type Output = Self;

    /// Both together, at most the greatest area there is.
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0).min(MAX))
    }
}

impl Sum for Area {
    fn sum<I: Iterator<Item = Self>>(areas: I) -> Self {
        areas.fold(Self::default(), Add::add)
    }
}

impl TryFrom<f64> for Area {
    type Error = OutOfRange;

    fn try_from(square_centimetres: f64) -> Result<Self, OutOfRange> {
        Self::new(square_centimetres)
    }
}

impl From<Area> for f64 {
    fn from(area: Area) -> Self {
        area.square_centimetres()
    }
}
