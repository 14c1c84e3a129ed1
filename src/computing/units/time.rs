//! Lengths of time.

use std::fmt;
use std::iter::Sum;
use std::ops::Add;

use serde::{Deserialize, Serialize};

use super::measures::THIN_SPACE;
use super::{OutOfRange, real, whole};

/// A length of time in whole seconds, 0 s to 30 days.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "u32", into = "u32")]
pub struct Seconds(u32);

impl Seconds {
    /// No time at all.
    pub const ZERO: Self = Self(0);
    const MAX: u32 = 30 * 24 * 60 * 60;

    /// From whole seconds.
    ///
    /// # Errors
    /// Above 30 days (2,592,000 s).
    pub fn new(seconds: u32) -> Result<Self, OutOfRange> {
        if seconds > Self::MAX {
            return Err(OutOfRange::new("time", format!("{seconds} s"), "0 to 2,592,000 s"));
        }
        Ok(Self(seconds))
    }

    /// The whole second nearest to a measured or computed time.
    ///
    /// # Errors
    /// When negative, not a number, or above 30 days.
    pub fn nearest(seconds: f64) -> Result<Self, OutOfRange> {
        whole(seconds, 1.0)
            .and_then(|units| u32::try_from(units).ok())
            .filter(|units| *units <= Self::MAX)
            .map(Self)
            .ok_or_else(|| OutOfRange::new("time", format!("{seconds} s"), "0 to 2,592,000 s"))
    }

    /// From seconds that are always in range.
    #[must_use]
    pub const fn of(seconds: u16) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(seconds as u32)
    }

    /// From minutes that are always in range.
    #[must_use]
    pub const fn minutes(minutes: u8) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(minutes as u32 * 60)
    }

    /// In whole seconds.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }

    /// In seconds as a real number, for computing.
    #[must_use]
    pub fn real(self) -> f64 {
        f64::from(self.0)
    }

    /// What is left after taking `other` away; nothing when `other` is longer.
    #[must_use]
    pub fn less(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }

    /// This many times as long (at most 30 days).
    #[must_use]
    pub fn times(self, times: u32) -> Self {
        Self(self.0.saturating_mul(times).min(Self::MAX))
    }

    /// The multiple of `step` nearest to this time, ties to the longer; the time
    /// itself for a step of zero.
    #[must_use]
    pub fn nearest_multiple_of(self, step: Self) -> Self {
        match step.0 {
            0 => self,
            step => Self((self.0.saturating_add(step / 2) / step * step).min(Self::MAX)),
        }
    }
}

impl fmt::Display for Seconds {
    /// `8:15 min`, from an hour on `1:05:00 h`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (hours, minutes, seconds) = (self.0 / 3600, self.0 / 60 % 60, self.0 % 60);
        if hours > 0 {
            write!(f, "{hours}:{minutes:02}:{seconds:02}{THIN_SPACE}h")
        } else {
            write!(f, "{minutes}:{seconds:02}{THIN_SPACE}min")
        }
    }
}

impl Add for Seconds {
    type Output = Self;

    /// Both together, at most 30 days.
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0).min(Self::MAX))
    }
}

impl Sum for Seconds {
    fn sum<I: Iterator<Item = Self>>(times: I) -> Self {
        times.fold(Self::ZERO, Add::add)
    }
}

impl TryFrom<u32> for Seconds {
    type Error = OutOfRange;

    fn try_from(seconds: u32) -> Result<Self, OutOfRange> {
        Self::new(seconds)
    }
}

impl From<Seconds> for u32 {
    fn from(time: Seconds) -> Self {
        time.0
    }
}

/// An age in whole days, 0 to 36,500.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "u32", into = "u32")]
pub struct Days(u32);

impl Days {
    const MAX: u32 = 36_500;

    /// From whole days.
    ///
    /// # Errors
    /// Above 36,500 days.
    pub fn new(days: u32) -> Result<Self, OutOfRange> {
        if days > Self::MAX {
            return Err(OutOfRange::new("age", format!("{days} days"), "0 to 36,500 days"));
        }
        Ok(Self(days))
    }

    /// From days that are always in range.
    #[must_use]
    pub const fn of(days: u8) -> Self {
        #[expect(clippy::as_conversions, reason = "widening in a const fn")]
        Self(days as u32)
    }

    /// In whole days.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }

    /// In days as a real number, for computing.
    #[must_use]
    pub fn real(self) -> f64 {
        real(i64::from(self.0))
    }
}

impl fmt::Display for Days {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = if self.0 == 1 { "day" } else { "days" };
        write!(f, "{}{THIN_SPACE}{unit}", self.0)
    }
}

impl TryFrom<u32> for Days {
    type Error = OutOfRange;

    fn try_from(days: u32) -> Result<Self, OutOfRange> {
        Self::new(days)
    }
}

impl From<Days> for u32 {
    fn from(age: Days) -> Self {
        age.0
    }
}
