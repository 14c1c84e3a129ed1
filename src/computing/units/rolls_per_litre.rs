//! How much film a litre of a bath can take.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::measures::THIN_SPACE;
use super::{Millilitres, OutOfRange, RollEquivalents, ratio_down, real, short, whole};

/// Roll equivalents per litre, above 0 and up to 1,000, kept in thousandths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "f64", into = "f64")]
pub struct RollsPerLitre(u32);

impl RollsPerLitre {
    /// From roll equivalents per litre.
    ///
    /// # Errors
    /// When not a number, not above 0, or above 1,000.
    pub fn new(rolls: f64) -> Result<Self, OutOfRange> {
        whole(rolls, 1000.0)
            .and_then(|units| u32::try_from(units).ok())
            .filter(|units| (1..=1_000_000).contains(units))
            .map(Self)
            .ok_or_else(|| OutOfRange::new("rolls per litre", rolls, "0.001 to 1,000"))
    }

    /// From a whole number from 1 on (0 counts as 1): for the defaults.
    pub(crate) const fn of(rolls: u8) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(if rolls == 0 { 1000 } else { rolls as u32 * 1000 })
    }

    /// As a number.
    #[must_use]
    pub fn get(self) -> f64 {
        real(i64::from(self.0)) / 1000.0
    }

    /// What a volume can take, rounded down to a millionth of a roll.
    #[must_use]
    pub fn of_volume(self, volume: Millilitres) -> RollEquivalents {
        // thousandths of a roll a litre = millionths of a roll a ml = billionths a µl
        let millionths = ratio_down(volume.microlitres(), u64::from(self.0), 1000);
        RollEquivalents::from_millionths(millionths.unwrap_or(u64::MAX))
    }
}

impl fmt::Display for RollsPerLitre {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{THIN_SPACE}rolls' worth per litre", short(self.get(), 2))
    }
}

impl TryFrom<f64> for RollsPerLitre {
    type Error = OutOfRange;

    fn try_from(rolls: f64) -> Result<Self, OutOfRange> {
        Self::new(rolls)
    }
}

impl From<RollsPerLitre> for f64 {
    fn from(rate: RollsPerLitre) -> Self {
        rate.get()
    }
}
