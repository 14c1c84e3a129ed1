//! The clearing test, and how long to fix.

use serde::{Deserialize, Serialize};

use crate::chemistry::standing::standing;
use crate::chemistry::{Refusal, Standing, defaults};
use crate::units::{Celsius, OutOfRange, Percent, Seconds};

/// A scrap of film cleared in the bath, and the same film's time when it was fresh.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "ClearingTimes", into = "ClearingTimes")]
pub struct ClipTest {
    fresh: Seconds,
    measured: Seconds,
}

/// The two times of a [`ClipTest`] as they are typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ClearingTimes {
    /// Clearing time of this film in the fresh bath.
    pub fresh_s: Seconds,
    /// Clearing time now.
    pub measured_s: Seconds,
}

impl ClipTest {
    /// From the clearing time in the fresh bath and now, of the same film.
    ///
    /// # Errors
    /// When either is zero or above an hour.
    pub fn new(fresh: Seconds, measured: Seconds) -> Result<Self, OutOfRange> {
        for (name, time) in [("fresh clearing time", fresh), ("clearing time", measured)] {
            if !(1..=3600).contains(&time.get()) {
                return Err(OutOfRange::new(name, format!("{} s", time.get()), "1 to 3,600 s"));
            }
        }
        Ok(Self { fresh, measured })
    }

    /// The clearing time that was measured.
    #[must_use]
    pub fn measured(&self) -> Seconds {
        self.measured
    }

    /// Measured over fresh.
    #[must_use]
    pub fn times_fresh(&self) -> f64 {
        self.measured.real() / self.fresh.real()
    }

    /// Spent when the clearing time is double the fresh one (fact FIX-2, NAVEDTRA
    /// 14209 web p. 249); near its limit from 1.6 times (common practice, no source).
    #[must_use]
    pub fn standing(&self) -> Standing {
        let limit = f64::from(defaults::SPENT_AT_CLEARINGS.value);
        let near = defaults::NEAR_CLEARINGS.value.get() / limit * 100.0;
        standing(self.times_fresh(), limit, Percent::new(near).unwrap_or_default())
    }

    /// How long to fix in this bath: see [`fixing_time`].
    #[must_use]
    pub fn fixing_time(&self) -> Seconds {
        fixing_time(self.measured)
    }
}

impl TryFrom<ClearingTimes> for ClipTest {
    type Error = OutOfRange;

    fn try_from(times: ClearingTimes) -> Result<Self, OutOfRange> {
        Self::new(times.fresh_s, times.measured_s)
    }
}

impl From<ClipTest> for ClearingTimes {
    fn from(test: ClipTest) -> Self {
        Self { fresh_s: test.fresh, measured_s: test.measured }
    }
}

/// Fix for twice the clearing time of that bath (fact FIX-1, NAVEDTRA 14209 web p. 249).
#[must_use]
pub fn fixing_time(clearing: Seconds) -> Seconds {
    clearing.times(defaults::FIX_FOR_CLEARINGS.value)
}

/// The time in each of two baths: equal times (fact FIX-4, NAVEDTRA 14209 web p. 249)
/// that add up to at least [`fixing_time`] of the first.
#[must_use]
pub fn time_in_each_of_two(first_bath_clearing: Seconds) -> Seconds {
    let total = fixing_time(first_bath_clearing).get();
    Seconds::new(total.div_ceil(2)).unwrap_or(first_bath_clearing)
}

/// A fixing time that holds at 20 °C, in a colder bath: doubled for each 10 °C below
/// (fact FIX-11, TM 11-2323 para. 33c), never shortened above. Not for a time that
/// comes from a clearing test in the cold bath itself.
///
/// # Errors
/// Below 0 °C, or when the time grows beyond any allowed.
pub fn cold_fixing_time(at_normal: Seconds, temperature: Celsius) -> Result<Seconds, Refusal> {
    let normal = defaults::NORMAL_TEMPERATURE.value;
    let lowest = Celsius::from_millidegrees(0);
    if temperature < lowest {
        let highest = Celsius::from_millidegrees(30_000);
        return Err(Refusal::OutsideBand { what: "fixer", temperature, lowest, highest });
    }
    let below = (normal.degrees() - temperature.degrees()).max(0.0);
    let doublings = below / f64::from(defaults::COLD_FIX_DOUBLING.value);
    let seconds = (at_normal.real() * doublings.exp2() - 1e-9).ceil();
    Ok(Seconds::nearest(seconds).map_err(|e| e.named("fixing time"))?)
}
