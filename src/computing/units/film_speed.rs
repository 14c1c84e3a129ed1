//! Film speeds and the stops between them.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::{OutOfRange, short};

/// An ISO speed or an exposure index, 1 to 102,400.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "u32", into = "u32")]
pub struct FilmSpeed(u32);

impl FilmSpeed {
    /// From the arithmetic speed (400, not 27°).
    ///
    /// # Errors
    /// When outside 1 to 102,400.
    pub fn new(speed: u32) -> Result<Self, OutOfRange> {
        if !(1..=102_400).contains(&speed) {
            return Err(OutOfRange::new("film speed", speed, "1 to 102,400"));
        }
        Ok(Self(speed))
    }

    /// The arithmetic speed.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }

    /// Stops from this speed to the exposure index used: log2(EI / ISO), positive
    /// for a push (fact SPD-6, arithmetic on SPD-1, Army SS0507 p. SS05070039).
    #[must_use]
    pub fn stops_to(self, exposure_index: Self) -> Stops {
        Stops((f64::from(exposure_index.0) / f64::from(self.0)).log2())
    }

    /// The speed in degrees, 3° per doubling, 100/21° (fact SPD-2, Britannica, "DIN system").
    #[must_use]
    pub fn degrees(self) -> f64 {
        10.0 * f64::from(self.0).log10() + 1.0
    }
}

impl fmt::Display for FilmSpeed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl TryFrom<u32> for FilmSpeed {
    type Error = OutOfRange;

    fn try_from(speed: u32) -> Result<Self, OutOfRange> {
        Self::new(speed)
    }
}

impl From<FilmSpeed> for u32 {
    fn from(speed: FilmSpeed) -> Self {
        speed.0
    }
}

/// Stops of push (positive) or pull (negative), -20 to 20.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct Stops(f64);

impl Stops {
    /// From a number of stops.
    ///
    /// # Errors
    /// When not a number or outside -20 to 20.
    pub fn new(stops: f64) -> Result<Self, OutOfRange> {
        if !(-20.0..=20.0).contains(&stops) {
            return Err(OutOfRange::new("stops", stops, "-20 to 20"));
        }
        Ok(Self(stops))
    }

    /// As a number, negative for a pull.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl fmt::Display for Stops {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 > 0.0 { "+" } else { "" };
        write!(f, "{sign}{}", short(self.0, 2))
    }
}

impl TryFrom<f64> for Stops {
    type Error = OutOfRange;

    fn try_from(stops: f64) -> Result<Self, OutOfRange> {
        Self::new(stops)
    }
}

impl From<Stops> for f64 {
    fn from(stops: Stops) -> Self {
        stops.0
    }
}
