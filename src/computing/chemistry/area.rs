//! How much film a ticket is, counted in roll equivalents.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::units::{Area, OutOfRange, RollEquivalents, ratio_nearest};

use super::defaults;

/// A film format with its usual count (facts AREA-1, brodie-tyrrell.org wiki;
/// AREA-5, arithmetic).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Format {
    /// 135 with this many exposures.
    Film135(u8),
    /// 120.
    Film120,
    /// 220, twice as long as 120.
    Film220,
    /// 127.
    Film127,
    /// One sheet of 4×5 in.
    Sheet4x5,
    /// One sheet of 5×7 in.
    Sheet5x7,
    /// One sheet of 8×10 in.
    Sheet8x10,
}

/// What each name stands for.
const NAMES: [(&str, Format); 9] = [
    ("135-36", Format::Film135(36)),
    ("135-24", Format::Film135(24)),
    ("135-12", Format::Film135(12)),
    ("120", Format::Film120),
    ("220", Format::Film220),
    ("127", Format::Film127),
    ("4x5", Format::Sheet4x5),
    ("5x7", Format::Sheet5x7),
    ("8x10", Format::Sheet8x10),
];

impl Format {
    /// The roll equivalents of one roll or one sheet. A 135 roll counts its
    /// exposures out of 36, but never less than a third of a roll.
    #[must_use]
    pub fn roll_equivalents(self) -> RollEquivalents {
        match self {
            Self::Film135(exposures) => {
                let counted = u64::from(exposures.max(12));
                RollEquivalents::from_millionths((counted * 1_000_000).div_ceil(36))
            }
            Self::Film120 => RollEquivalents::of(1),
            Self::Film220 => RollEquivalents::of(2),
            Self::Film127 => defaults::FILM_127.value,
            Self::Sheet4x5 => from_square_inches(20),
            Self::Sheet5x7 => from_square_inches(35),
            Self::Sheet8x10 => from_square_inches(80),
        }
    }

    /// True when it is counted in sheets.
    #[must_use]
    pub fn is_sheet(self) -> bool {
        matches!(self, Self::Sheet4x5 | Self::Sheet5x7 | Self::Sheet8x10)
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match NAMES.iter().find(|(_, format)| format == self) {
            Some((name, _)) => f.write_str(name),
            None => match self {
                Self::Film135(exposures) => write!(f, "135-{exposures}"),
                _ => Ok(()),
            },
        }
    }
}

impl FromStr for Format {
    type Err = OutOfRange;

    fn from_str(text: &str) -> Result<Self, OutOfRange> {
        let name = text.trim().replace('×', "x");
        if let Some((_, format)) = NAMES.iter().find(|(known, _)| *known == name) {
            return Ok(*format);
        }
        if name == "135" {
            return Ok(Self::Film135(36));
        }
        let exposures = name.strip_prefix("135-").and_then(|count| count.parse().ok());
        match exposures {
            Some(count @ 1..=40) => Ok(Self::Film135(count)),
            _ => {
                let shown: String = text.chars().take(40).collect();
                let allowed = "135-1 to 135-40, 120, 220, 127, 4x5, 5x7 or 8x10";
                Err(OutOfRange::new("format", format!("\"{shown}\""), allowed))
            }
        }
    }
}

impl TryFrom<String> for Format {
    type Error = OutOfRange;

    fn try_from(text: String) -> Result<Self, OutOfRange> {
        text.parse()
    }
}

impl From<Format> for String {
    fn from(format: Format) -> Self {
        format.to_string()
    }
}

fn from_square_inches(square_inches: u64) -> RollEquivalents {
    RollEquivalents::from_millionths(square_inches * 1_000_000 / 80)
}

/// `count` rolls or sheets of a format.
#[must_use]
pub fn rolls_of(format: Format, count: u32) -> RollEquivalents {
    let one = format.roll_equivalents().millionths();
    RollEquivalents::from_millionths(one.saturating_mul(u64::from(count)))
}

/// A measured area in roll equivalents of 80 in² (fact AREA-2, Anchell 2008 p. 108).
#[must_use]
pub fn rolls_of_area(area: Area) -> RollEquivalents {
    let millionths =
        ratio_nearest(area.units(), 1_000_000, defaults::ROLL_EQUIVALENT.value.units());
    RollEquivalents::from_millionths(millionths.unwrap_or(u64::MAX))
}
