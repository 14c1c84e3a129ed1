//! Mixing to a temperature.

use serde::{Deserialize, Serialize};

use crate::units::{Celsius, Millilitres};

use super::{Refusal, Split, Warning, defaults};

/// Hot and cold water that add up to their total exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct HotAndCold {
    /// Of the hotter water.
    pub hot: Millilitres,
    /// Of the colder water.
    pub cold: Millilitres,
}

/// The temperature of liquids poured together: T = (T1·V1 + T2·V2) / (V1 + V2)
/// (fact DIL-14, mirrorinfo.online "How to find water mix temperature").
///
/// # Errors
/// When there is no liquid at all.
pub fn mixed_temperature(liquids: &[(Millilitres, Celsius)]) -> Result<Celsius, Refusal> {
    let volume: f64 = liquids.iter().map(|(volume, _)| volume.ml()).sum();
    if volume <= 0.0 {
        return Err(Refusal::Missing("a volume above 0 ml"));
    }
    let heat: f64 = liquids.iter().map(|(volume, at)| volume.ml() * at.degrees()).sum();
    Ok(Celsius::new(heat / volume)?)
}

/// How much of two waters makes `total` at `wanted`: cold = total × (hot - wanted) /
/// (hot - cold), the formula of [`mixed_temperature`] turned round. The two may be
/// given in either order.
///
/// # Errors
/// When the temperature wanted does not lie between the two.
pub fn hot_and_cold(
    total: Millilitres,
    one: Celsius,
    other: Celsius,
    wanted: Celsius,
) -> Result<HotAndCold, Refusal> {
    let (colder, hotter) = (one.min(other), one.max(other));
    if wanted < colder || wanted > hotter {
        return Err(Refusal::TemperatureNotBetween { wanted, colder, hotter });
    }
    if colder == hotter {
        return Ok(HotAndCold { hot: Millilitres::ZERO, cold: total });
    }
    let share = hotter.apart(wanted) / hotter.apart(colder);
    let cold = Millilitres::new(total.ml() * share)?.min(total);
    Ok(HotAndCold { hot: total.less(cold), cold })
}

/// The water that brings a mixture to its working temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MixingWater {
    /// Temperature of the water.
    pub temperature: Celsius,
    /// Set when that water scalds.
    pub warning: Option<Warning>,
}

/// The temperature of the water that brings concentrate or stock at its own
/// temperature to the working one: Tw = (T·V - Tc·Vc) / Vw, from [`mixed_temperature`].
///
/// # Errors
/// When there is no water in the mixture, or water of 0 to 60 °C cannot do it.
pub fn water_temperature(
    mixture: Split,
    concentrate_at: Celsius,
    wanted: Celsius,
) -> Result<MixingWater, Refusal> {
    let (concentrate, water) = (mixture.concentrate.ml(), mixture.water.ml());
    if water <= 0.0 {
        return Err(Refusal::NoWaterBringsIt { needed: None });
    }
    let degrees =
        wanted.degrees() + (wanted.degrees() - concentrate_at.degrees()) * concentrate / water;
    if !(0.0..=60.0).contains(&degrees) {
        return Err(Refusal::NoWaterBringsIt { needed: Some(degrees) });
    }
    let temperature = Celsius::new(degrees)?;
    let scalds = degrees > 50.0; // common practice, no source
    Ok(MixingWater { temperature, warning: scalds.then_some(Warning::ScaldingWater(temperature)) })
}

/// What is mixed, for the temperature of its water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mixing {
    /// A developer.
    Developer,
    /// A fixer.
    Fixer,
}

/// A warning when the water is wrong for mixing: developers 32-52 °C, fixers not
/// above 27 °C (fact DIL-17, NAVEDTRA 14209 ph209175).
#[must_use]
pub fn check_mixing_water(mixing: Mixing, temperature: Celsius) -> Option<Warning> {
    let (lowest, highest) = match mixing {
        Mixing::Developer => {
            let (lowest, highest) = defaults::DEVELOPER_MIXING.value;
            (Some(lowest), highest)
        }
        Mixing::Fixer => (None, defaults::FIXER_MIXING.value),
    };
    let wrong = temperature > highest || lowest.is_some_and(|lowest| temperature < lowest);
    wrong.then_some(Warning::MixingWater { temperature, lowest, highest })
}
