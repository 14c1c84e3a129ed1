//! Why a calculation says no, in a sentence that says what to do instead.

use std::fmt;

use crate::units::{
    Celsius, Millilitres, OutOfRange, Percent, RollBalance, RollEquivalents, Seconds,
};

use super::tank_volume::{Decider, Method};

/// What a calculation refuses.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// A number outside what its quantity allows.
    OutOfRange(OutOfRange),
    /// Something needed was left out; names it.
    Missing(&'static str),
    /// The solution on hand is weaker than the one wanted.
    TooWeak {
        /// Strength on hand.
        on_hand: Percent,
        /// Strength wanted.
        wanted: Percent,
    },
    /// A mixture cannot reach a strength that is not between its two parts.
    StrengthNotBetween {
        /// Strength wanted.
        wanted: Percent,
        /// The weaker part.
        weaker: Percent,
        /// The stronger part.
        stronger: Percent,
    },
    /// Two waters cannot reach a temperature that is not between theirs.
    TemperatureNotBetween {
        /// Temperature wanted.
        wanted: Celsius,
        /// The colder water.
        colder: Celsius,
        /// The hotter water.
        hotter: Celsius,
    },
    /// No water is warm or cold enough for the mixture, or there is none in it.
    NoWaterBringsIt {
        /// Temperature the water would need, °C; none where there is no water.
        needed: Option<f64>,
    },
    /// The tank has no figures for this way of moving it.
    NotForThisMethod(Method),
    /// The tank cannot take what is needed.
    TooMuchForTank {
        /// What is needed.
        need: Millilitres,
        /// What decided the need.
        decided_by: Decider,
        /// What the tank can take and still hold air.
        maximum: Millilitres,
    },
    /// The bottle holds less than the tank needs.
    TooLittleInBottle {
        /// What is needed.
        need: Millilitres,
        /// What the bottle holds.
        holds: Millilitres,
    },
    /// The bath has less capacity left than the film needs.
    NotEnoughCapacity {
        /// What the film takes.
        load: RollEquivalents,
        /// What is left.
        left: RollBalance,
    },
    /// Outside the band in which the figures are good.
    OutsideBand {
        /// What is outside ("developer", "wash water").
        what: &'static str,
        /// Its temperature.
        temperature: Celsius,
        /// Lowest allowed.
        lowest: Celsius,
        /// Highest allowed.
        highest: Celsius,
    },
    /// Nobody knows the figure: the studio must type its own.
    NoFigure(&'static str),
    /// A developing time so short that pouring decides the negative.
    TooShort {
        /// The time that came out.
        time: Seconds,
        /// The shortest allowed.
        shortest: Seconds,
    },
    /// Two baths were promoted as often as is safe.
    TooManyPromotions(u8),
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange(error) => error.fmt(f),
            Self::Missing(what) => write!(f, "{what} is missing; give at least one"),
            Self::TooWeak { on_hand, wanted } => write!(
                f,
                "strength wanted: {wanted} cannot be made from {on_hand}; give 0 % to {on_hand}"
            ),
            Self::StrengthNotBetween { wanted, weaker, stronger } => write!(
                f,
                "strength wanted: {wanted} does not lie between the two on hand; \
                 give {weaker} to {stronger}"
            ),
            Self::TemperatureNotBetween { wanted, colder, hotter } => write!(
                f,
                "temperature wanted: {wanted} does not lie between the two waters; \
                 give {colder} to {hotter}"
            ),
            Self::NoWaterBringsIt { needed } => water(f, *needed),
            Self::NotForThisMethod(method) => {
                write!(f, "tank: no volumes are known for {method}; choose another way or tank")
            }
            _ => self.fmt_limits(f),
        }
    }
}

impl Refusal {
    fn fmt_limits(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooMuchForTank { need, decided_by, maximum } => write!(
                f,
                "developer volume: {need:#} is needed ({decided_by}), but the tank takes at most \
                 {maximum:#}; load fewer rolls or choose a larger tank"
            ),
            Self::TooLittleInBottle { need, holds } => write!(
                f,
                "volume: {need:#} is needed, but the bottle holds {holds:#}; \
                 choose a smaller tank or mix anew"
            ),
            Self::NotEnoughCapacity { load, left } => write!(
                f,
                "load: {load} is more than the {left} left in the bath; \
                 take fewer rolls or a fresh bath"
            ),
            Self::OutsideBand { what, temperature, lowest, highest } => write!(
                f,
                "{what} temperature: {temperature} is outside what can be used; \
                 bring it to {lowest} to {highest}"
            ),
            Self::NoFigure(what) => {
                write!(f, "{what}: no figure is known; type your own, from the maker or a test")
            }
            Self::TooShort { time, shortest } => write!(
                f,
                "developing time: {time} is too short for an even negative; \
                 make it at least {shortest}, with a weaker dilution or a lower temperature"
            ),
            Self::TooManyPromotions(most) => write!(
                f,
                "two-bath fixing: bath 2 was moved to place 1 {most} times, the most allowed; \
                 mix both baths fresh"
            ),
            other => write!(f, "{other:?}"),
        }
    }
}

fn water(f: &mut fmt::Formatter<'_>, needed: Option<f64>) -> fmt::Result {
    match needed {
        None => f.write_str(
            "water temperature: there is no water in this mixture; \
             stand the bottle in a water bath instead",
        ),
        Some(degrees) => write!(
            f,
            "water temperature: {degrees:.1} °C would be needed; give water of 0 to 60 °C by \
             bringing the concentrate or stock nearer to the working temperature first"
        ),
    }
}

impl std::error::Error for Refusal {}

impl From<OutOfRange> for Refusal {
    fn from(error: OutOfRange) -> Self {
        Self::OutOfRange(error)
    }
}
