//! How long to develop: a recipe's time, corrected for temperature, push or pull,
//! re-use and agitation, with every correction as a line that can be printed.

mod agitation_change;
mod basis;
mod coefficient;
mod curve;
mod push;
mod re_use;
mod shortest;
mod table;
mod working;

use serde::Serialize;

use crate::units::{Celsius, Millilitres, Seconds};

use super::{Refusal, Source, Warning, defaults};

pub use agitation_change::AgitationChange;
pub use basis::{Band, OneTime, RunTemperature, TimeBasis};
pub use coefficient::Coefficient;
pub use push::{Push, PushFactor};
pub use re_use::{Counted, Growth, GrowthOn, ReUse};
pub use shortest::{check_shortest, pouring_time, shortest_time};
pub use table::{TableRow, TimeTable};
pub use working::{Correction, Step};

use curve::whole_seconds;
use working::Working;

/// Everything a developing time depends on.
#[derive(Debug, Clone, Copy)]
pub struct Development<'a> {
    /// What the recipe knows.
    pub basis: &'a TimeBasis,
    /// The temperature of the run.
    pub temperature: RunTemperature,
    /// Push or pull from the recipe's exposure index.
    pub push: Option<Push>,
    /// For developer that is used again.
    pub re_use: Option<ReUse>,
    /// For another agitation than the recipe's.
    pub agitation: Option<AgitationChange>,
    /// Volume that is poured: it decides the shortest time.
    pub volume: Millilitres,
    /// Times are given in multiples of this; of a second, where it is zero.
    pub step: Seconds,
}

/// A developing time with its working.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DevelopingTime {
    /// How long to develop.
    pub time: Seconds,
    /// The recipe's own time, from which the working starts.
    pub recipe_time: Seconds,
    /// The temperature of that time.
    pub recipe_temperature: Celsius,
    /// The corrections in the order in which they were made.
    pub steps: Vec<Step>,
    /// Between which times the truth may lie, where a correction is an estimate.
    pub estimated_between: Option<(Seconds, Seconds)>,
    /// What to think about.
    pub warnings: Vec<Warning>,
}

/// Corrects a recipe's time for temperature, push or pull, re-use and agitation, in
/// this order, and rounds it.
///
/// # Errors
/// Outside the band of the table or the coefficient, where no figure is known, where
/// a bath is used up, or when the time comes out under [`shortest_time`].
pub fn developing_time(development: &Development<'_>) -> Result<DevelopingTime, Refusal> {
    let mut working = basis::at_temperature(development.basis, development.temperature)?;
    if let Some(push) = &development.push {
        push::push(&mut working, push)?;
    }
    if let Some(re_use) = &development.re_use {
        re_use::re_use(&mut working, re_use)?;
    }
    if let Some(change) = &development.agitation {
        agitation_change::agitation(&mut working, change)?;
    }
    finish(working, development)
}

/// True when a measured temperature is so far from the planned one that the time
/// must be corrected: more than 0.5 °C (fact TT-6, international report on aerial
/// film practice, p. 43).
#[must_use]
pub fn needs_correction(planned: Celsius, measured: Celsius) -> bool {
    planned.apart(measured) > defaults::TEMPERATURE_ALERT.value.degrees()
}

fn finish(mut working: Working, development: &Development<'_>) -> Result<DevelopingTime, Refusal> {
    let time = whole_seconds(working.seconds)?.nearest_multiple_of(development.step);
    if (time.real() - working.seconds).abs() >= 0.5 {
        let factor = time.real() / working.seconds;
        let formula = format!("to a multiple of {} s", development.step.get());
        working.apply(Step::new(Correction::Rounding, factor, formula, Source::PRACTICE));
    }
    if let Some(warning) = check_shortest(time, development.volume)? {
        working.warn(warning);
    }
    let estimated = working.steps.iter().any(|step| step.estimated_between.is_some());
    let between = (whole_seconds(working.least)?, whole_seconds(working.most)?);
    Ok(DevelopingTime {
        time,
        recipe_time: working.recipe.0,
        recipe_temperature: working.recipe.1,
        steps: working.steps,
        estimated_between: estimated.then_some(between),
        warnings: working.warnings,
    })
}
