//! Roll equivalents, the unit in which chemistry is counted.

use std::fmt;
use std::iter::Sum;
use std::ops::Add;

use serde::{Deserialize, Serialize};

use super::measures::THIN_SPACE;
use super::{Area, Factor, OutOfRange, real, short, whole};

/// One roll equivalent: 80 in² = 51,612.80 mm² of film, a counting convention
/// (facts AREA-1, brodie-tyrrell.org wiki; AREA-2, Anchell 2008 p. 108).
pub(crate) const ONE_ROLL: Area = Area::from_units(80 * 64_516);

const MILLIONTHS: f64 = 1_000_000.0;
const MAX: u64 = 1_000_000_000_000;

/// An amount of film in units of 80 in² (516 cm²), 0 to 1,000,000, kept in
/// millionths. On screen: "rolls' worth".
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "f64", into = "f64")]
pub struct RollEquivalents(u64);

impl RollEquivalents {
    /// No film.
    pub const ZERO: Self = Self(0);

    /// From a number of roll equivalents, to the nearest millionth.
    ///
    /// # Errors
    /// When negative, not a number, or above 1,000,000.
    pub fn new(rolls: f64) -> Result<Self, OutOfRange> {
        whole(rolls, MILLIONTHS)
            .and_then(|units| u64::try_from(units).ok())
            .filter(|units| *units <= MAX)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("roll equivalents", rolls, "0 to 1,000,000"))
    }

    /// From a whole number of rolls that is always in range.
    #[must_use]
    pub const fn of(rolls: u16) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(rolls as u64 * 1_000_000)
    }

    /// From millionths, at most the greatest amount there is.
    #[must_use]
    pub const fn from_millionths(millionths: u64) -> Self {
        Self(if millionths > MAX { MAX } else { millionths })
    }

    /// As a number of rolls.
    #[must_use]
    pub fn rolls(self) -> f64 {
        real(self.0.try_into().unwrap_or(i64::MAX)) / MILLIONTHS
    }

    /// In millionths of a roll, as a database keeps them.
    #[must_use]
    pub const fn millionths(self) -> u64 {
        self.0
    }

    /// The load that film of this amount puts on a bath when each roll counts
    /// `factor` times (at most the greatest amount there is).
    #[must_use]
    pub fn weighed(self, factor: Factor) -> Self {
        let load = whole(self.rolls() * factor.get(), MILLIONTHS).unwrap_or(i64::MAX);
        Self(u64::try_from(load).unwrap_or(MAX).min(MAX))
    }

    /// The area of film this stands for.
    #[must_use]
    pub fn area(self) -> Area {
        let units = super::ratio_nearest(self.0, ONE_ROLL.units(), 1_000_000);
        Area::from_units(units.unwrap_or(u64::MAX))
    }
}

impl fmt::Display for RollEquivalents {
    /// `2.5 rolls' worth`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = if *self == Self::of(1) { "roll's worth" } else { "rolls' worth" };
        write!(f, "{}{THIN_SPACE}{unit}", short(self.rolls(), 2))
    }
}

impl Add for RollEquivalents {
    type Output = Self;

    /// Both together, at most the greatest amount there is.
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0).min(MAX))
    }
}

impl Sum for RollEquivalents {
    fn sum<I: Iterator<Item = Self>>(amounts: I) -> Self {
        amounts.fold(Self::ZERO, Add::add)
    }
}

impl TryFrom<f64> for RollEquivalents {
    type Error = OutOfRange;

    fn try_from(rolls: f64) -> Result<Self, OutOfRange> {
        Self::new(rolls)
    }
}

impl From<RollEquivalents> for f64 {
    fn from(amount: RollEquivalents) -> Self {
        amount.rolls()
    }
}

/// What is left of a capacity, in roll equivalents; below zero when a bath was
/// used beyond it.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "f64", into = "f64")]
pub struct RollBalance(i64);

impl RollBalance {
    /// `capacity` less `used`.
    #[must_use]
    pub fn left_of(capacity: RollEquivalents, used: RollEquivalents) -> Self {
        let signed = |amount: RollEquivalents| i64::try_from(amount.0).unwrap_or(i64::MAX);
        Self(signed(capacity) - signed(used))
    }

    /// As a number of rolls, negative when overdrawn.
    #[must_use]
    pub fn rolls(self) -> f64 {
        real(self.0) / MILLIONTHS
    }

    /// In millionths of a roll.
    #[must_use]
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// True when nothing is left.
    #[must_use]
    pub const fn is_used_up(self) -> bool {
        self.0 <= 0
    }

    /// What can still be spent: zero when overdrawn.
    #[must_use]
    pub fn available(self) -> RollEquivalents {
        RollEquivalents::from_millionths(u64::try_from(self.0).unwrap_or(0))
    }
}

impl fmt::Display for RollBalance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = if self.0 == 1_000_000 { "roll's worth" } else { "rolls' worth" };
        write!(f, "{}{THIN_SPACE}{unit}", short(self.rolls(), 2))
    }
}

impl TryFrom<f64> for RollBalance {
    type Error = OutOfRange;

    fn try_from(rolls: f64) -> Result<Self, OutOfRange> {
        whole(rolls, MILLIONTHS)
            .filter(|units| units.unsigned_abs() <= MAX)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("rolls left", rolls, "-1,000,000 to 1,000,000"))
    }
}

impl From<RollBalance> for f64 {
    fn from(balance: RollBalance) -> Self {
        balance.rolls()
    }
}
