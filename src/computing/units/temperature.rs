//! Temperatures.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::measures::THIN_SPACE;
use super::{Measures, OutOfRange, real, whole};

const PER_DEGREE: f64 = 1000.0;

/// A temperature of a liquid or a room, -30 to 110 °C, kept in thousandths of a degree.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "f64", into = "f64")]
pub struct Celsius(i32);

impl Celsius {
    const MIN: i32 = -30_000;
    const MAX: i32 = 110_000;

    /// From degrees Celsius.
    ///
    /// # Errors
    /// When not a number or outside -30 to 110 °C.
    pub fn new(degrees: f64) -> Result<Self, OutOfRange> {
        whole(degrees, PER_DEGREE)
            .and_then(|units| i32::try_from(units).ok())
            .filter(|units| (Self::MIN..=Self::MAX).contains(units))
            .map(Self)
            .ok_or_else(|| OutOfRange::new("temperature", format!("{degrees} °C"), "-30 to 110 °C"))
    }

    /// From degrees Fahrenheit.
    ///
    /// # Errors
    /// When not a number or outside -22 to 230 °F.
    pub fn from_fahrenheit(degrees: f64) -> Result<Self, OutOfRange> {
        Self::new((degrees - 32.0) / 1.8)
            .map_err(|e| OutOfRange::new(e.quantity(), format!("{degrees} °F"), "-22 to 230 °F"))
    }

    /// From thousandths of a degree that are known to be in range: for the defaults.
    pub(crate) const fn from_millidegrees(thousandths: i32) -> Self {
        Self(if thousandths < Self::MIN {
            Self::MIN
        } else if thousandths > Self::MAX {
            Self::MAX
        } else {
            thousandths
        })
    }

    /// In degrees Celsius.
    #[must_use]
    pub fn degrees(self) -> f64 {
        real(i64::from(self.0)) / PER_DEGREE
    }

    /// In whole thousandths of a degree Celsius, as a database keeps them.
    #[must_use]
    pub const fn millidegrees(self) -> i32 {
        self.0
    }

    /// In degrees Fahrenheit.
    #[must_use]
    pub fn fahrenheit(self) -> f64 {
        self.degrees() * 1.8 + 32.0
    }

    /// How many degrees apart two temperatures are, never negative.
    #[must_use]
    pub fn apart(self, other: Self) -> f64 {
        (self.degrees() - other.degrees()).abs()
    }

    /// For people: `20.0 °C` or `68.0 °F`.
    #[must_use]
    pub fn in_words(self, measures: Measures) -> String {
        match measures {
            Measures::Metric => format!("{:.1}{THIN_SPACE}°C", to_tenth(self.degrees())),
            Measures::Us => format!("{:.1}{THIN_SPACE}°F", to_tenth(self.fahrenheit())),
        }
    }
}

/// Rounded so that a little below zero is not written "-0.0".
fn to_tenth(degrees: f64) -> f64 {
    (degrees * 10.0).round() / 10.0 + 0.0
}

impl fmt::Display for Celsius {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.in_words(Measures::Metric))
    }
}

impl TryFrom<f64> for Celsius {
    type Error = OutOfRange;

    fn try_from(degrees: f64) -> Result<Self, OutOfRange> {
        Self::new(degrees)
    }
}

impl From<Celsius> for f64 {
    fn from(temperature: Celsius) -> Self {
        temperature.degrees()
    }
}
