//! Dilutions in the form 1+n.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::{OutOfRange, real, short, whole};

const ALLOWED: &str = "1+n with n from 0 to 10,000, such as 1+31";

/// One part of concentrate (or stock) and n parts of water, 1+0 to 1+10,000;
/// n is kept in thousandths, so 1+2.5 is exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Dilution(u32);

impl Dilution {
    /// Used as it is, without water.
    pub const UNDILUTED: Self = Self(0);
    const MAX: u32 = 10_000_000;

    /// From the parts of water to one part of concentrate.
    ///
    /// # Errors
    /// When negative, not a number, or above 10,000.
    pub fn new(water_parts: f64) -> Result<Self, OutOfRange> {
        whole(water_parts, 1000.0)
            .and_then(|units| u32::try_from(units).ok())
            .filter(|units| *units <= Self::MAX)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("dilution", format!("1+{water_parts}"), ALLOWED))
    }

    /// From a whole number of parts of water that is always in range (at most 10,000).
    #[must_use]
    pub const fn one_plus(water_parts: u16) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        let units = water_parts as u32 * 1000;
        Self(if units > Self::MAX { Self::MAX } else { units })
    }

    /// The n of 1+n.
    #[must_use]
    pub fn water_parts(self) -> f64 {
        real(i64::from(self.0)) / 1000.0
    }

    /// The n of 1+n in thousandths, as a database keeps it.
    #[must_use]
    pub const fn water_thousandths(self) -> u32 {
        self.0
    }

    /// 1+n as one number of thousandths: what one part becomes.
    pub(crate) fn total_thousandths(self) -> u64 {
        u64::from(self.0) + 1000
    }

    /// True for 1+0.
    #[must_use]
    pub const fn is_undiluted(self) -> bool {
        self.0 == 0
    }
}

impl fmt::Display for Dilution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "1+{}", short(self.water_parts(), 3))
    }
}

impl FromStr for Dilution {
    type Err = OutOfRange;

    /// Reads `1+31`. A colon is refused: `1:31` is read in two ways.
    fn from_str(text: &str) -> Result<Self, OutOfRange> {
        let wrong = || {
            let shown: String = text.chars().take(40).collect();
            OutOfRange::new("dilution", format!("\"{shown}\""), ALLOWED)
        };
        let (one, water) = text.trim().split_once('+').ok_or_else(wrong)?;
        if one.trim() != "1" {
            return Err(wrong());
        }
        let water: f64 = water.trim().parse().ok().ok_or_else(wrong)?;
        Self::new(water)
    }
}

impl TryFrom<String> for Dilution {
    type Error = OutOfRange;

    fn try_from(text: String) -> Result<Self, OutOfRange> {
        text.parse()
    }
}

impl From<Dilution> for String {
    fn from(dilution: Dilution) -> Self {
        dilution.to_string()
    }
}
