//! Shares of a hundred.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::measures::THIN_SPACE;
use super::{OutOfRange, real, short, whole};

/// A share or a strength, 0 to 100 %, kept in thousandths of a per cent.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "f64", into = "f64")]
pub struct Percent(u32);

impl Percent {
    /// From per cent.
    ///
    /// # Errors
    /// When negative, not a number, or above 100.
    pub fn new(percent: f64) -> Result<Self, OutOfRange> {
        whole(percent, 1000.0)
            .and_then(|units| u32::try_from(units).ok())
            .filter(|units| *units <= 100_000)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("percentage", format!("{percent} %"), "0 to 100 %"))
    }

    /// From whole per cent, at most 100: for the defaults.
    pub(crate) const fn of(percent: u8) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(if percent > 100 { 100_000 } else { percent as u32 * 1000 })
    }

    /// In per cent.
    #[must_use]
    pub fn get(self) -> f64 {
        real(i64::from(self.0)) / 1000.0
    }

    /// As a fraction of one.
    #[must_use]
    pub fn fraction(self) -> f64 {
        self.get() / 100.0
    }

    /// In thousandths of a per cent.
    #[must_use]
    pub const fn thousandths(self) -> u32 {
        self.0
    }
}

impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{THIN_SPACE}%", short(self.get(), 3))
    }
}

impl TryFrom<f64> for Percent {
    type Error = OutOfRange;

    fn try_from(percent: f64) -> Result<Self, OutOfRange> {
        Self::new(percent)
    }
}

impl From<Percent> for f64 {
    fn from(percent: Percent) -> Self {
        percent.get()
    }
}
