//! What a page must say beside a result that is still allowed.

use std::fmt;

use serde::Serialize;

use crate::units::{Celsius, Millilitres, RollBalance, Seconds};

use super::source::Source;

/// A result that stands, with something to think about.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Warning {
    /// The developing time is short enough for unevenness.
    ShortTime {
        /// The time.
        time: Seconds,
        /// Warned of below this.
        under: Seconds,
    },
    /// The temperature changes during the run.
    Drift {
        /// By how many degrees.
        degrees: f64,
    },
    /// The developer is outside the band that is preferred.
    UnusualTemperature {
        /// Its temperature.
        temperature: Celsius,
        /// Lowest preferred.
        lowest: Celsius,
        /// Highest preferred.
        highest: Celsius,
    },
    /// A figure is an estimate; test it before anything that matters.
    Estimate {
        /// What was estimated.
        what: &'static str,
        /// Its origin.
        source: Source,
    },
    /// Nobody knows a correction between two ways of moving the tank, so none was made.
    AgitationNotCorrected,
    /// The water for mixing is outside the range for the chemical.
    MixingWater {
        /// Its temperature.
        temperature: Celsius,
        /// Lowest, where there is one.
        lowest: Option<Celsius>,
        /// Highest.
        highest: Celsius,
    },
    /// Water that scalds.
    ScaldingWater(Celsius),
    /// The wash differs from the fixer so much that the gelatin may wrinkle.
    WashStep {
        /// By how many degrees.
        degrees: f64,
    },
    /// The wash is warm enough to soften the gelatin.
    WarmWash(Celsius),
    /// The wash is cold and takes longer.
    ColdWash {
        /// Its temperature.
        temperature: Celsius,
        /// How many times as long it became.
        times: u32,
    },
    /// A short wash, which the studio chose itself.
    BriskWash,
    /// The water changes too slowly.
    SlowWater {
        /// One change takes this long.
        change: Seconds,
        /// It should take no longer than this.
        wanted: Seconds,
    },
    /// The bottle no longer fills the tank it is meant for.
    BottleLow {
        /// What it holds.
        holds: Millilitres,
        /// What the tank needs.
        needs: Millilitres,
    },
    /// The bath will be used beyond its capacity.
    BeyondCapacity(RollBalance),
    /// Replenisher did not make good what the film carried out.
    TankFalls(Millilitres),
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ShortTime { time, under } => {
                write!(f, "{time} is short: below {under} the negative may be uneven")
            }
            Self::Drift { degrees } => write!(
                f,
                "the developer changes by {degrees:.1} °C during the run; \
                 stand the tank in a water bath"
            ),
            Self::UnusualTemperature { temperature, lowest, highest } => write!(
                f,
                "{temperature} is outside the {lowest} to {highest} in which developers \
                 work best; take more care"
            ),
            Self::Estimate { what, source } => {
                write!(f, "the {what} is an estimate ({source}); test it first")
            }
            Self::AgitationNotCorrected => f.write_str(
                "no correction between these two ways of agitation is known; none was made",
            ),
            Self::MixingWater { temperature, lowest: Some(lowest), highest } => {
                write!(f, "mix with water of {lowest} to {highest}, not {temperature}")
            }
            Self::MixingWater { temperature, lowest: None, highest } => {
                write!(f, "mix with water not above {highest}; {temperature} is too warm")
            }
            Self::ScaldingWater(at) => write!(f, "water of {at} scalds; pour slowly, with gloves"),
            _ => self.fmt_bath(f),
        }
    }
}

impl Warning {
    fn fmt_bath(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::WashStep { degrees } => write!(
                f,
                "the wash differs from the fixer by {degrees:.1} °C; the gelatin may wrinkle: \
                 go there in steps"
            ),
            Self::WarmWash(at) => write!(f, "a wash of {at} softens the gelatin; do not touch it"),
            Self::ColdWash { temperature, times } => {
                write!(f, "at {temperature} the wash takes {times} times as long")
            }
            Self::BriskWash => f.write_str(
                "the studio's own short wash: only after a non-hardening rapid fixer \
                 and in brisk running water",
            ),
            Self::SlowWater { change, wanted } => write!(
                f,
                "the water takes {change} to change; let it change every {wanted} or dump it"
            ),
            Self::BottleLow { holds, needs } => {
                write!(f, "the bottle holds {holds}, the tank needs {needs}")
            }
            Self::BeyondCapacity(left) => {
                write!(f, "the bath is used beyond its capacity ({left} left)")
            }
            Self::TankFalls(by) => {
                write!(
                    f,
                    "the tank falls by {by}: the replenisher is less than what was carried out"
                )
            }
            other => write!(f, "{other:?}"),
        }
    }
}
