//! Developer that has been used before.

use serde::{Deserialize, Serialize};

use crate::chemistry::{Refusal, Source};
use crate::units::{OutOfRange, Percent, RollEquivalents};

use super::working::{Correction, Step, Working};

/// How a developer's time grows with use. Typed from the maker's sheet: there is no
/// default.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Growth {
    /// So much more time ...
    pub percent: Percent,
    /// ... for each of this much film already developed.
    pub every: RollEquivalents,
    /// Whether part of an `every` counts.
    pub counted: Counted,
    /// Whether the growth is of the first time or of the last.
    pub on: GrowthOn,
    /// The most film the developer may take, where the sheet says so.
    pub at_most: Option<RollEquivalents>,
}

/// How film already developed is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Counted {
    /// Only whole steps.
    WholeSteps,
    /// In proportion.
    InProportion,
}

/// What the percentage is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GrowthOn {
    /// Of the time in fresh developer.
    FirstTime,
    /// Of the time of the step before.
    LastTime,
}

/// A developer's use so far, and its growth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReUse {
    /// Film developed in it before this run.
    pub used: RollEquivalents,
    /// Film of this run.
    pub this_run: RollEquivalents,
    /// How its time grows.
    pub growth: Growth,
}

pub(super) fn re_use(working: &mut Working, re_use: &ReUse) -> Result<(), Refusal> {
    let Growth { percent, every, counted, on, at_most } = re_use.growth;
    if every == RollEquivalents::ZERO {
        return Err(OutOfRange::new("film for one step of re-use", "0", "above 0 rolls").into());
    }
    check_capacity(re_use, at_most)?;
    let steps = re_use.used.rolls() / every.rolls();
    let steps = match counted {
        Counted::WholeSteps => steps.floor(),
        Counted::InProportion => steps,
    };
    if steps == 0.0 {
        return Ok(());
    }
    let (factor, formula) = match on {
        GrowthOn::FirstTime => {
            (1.0 + percent.fraction() * steps, format!("1 + {percent} × {steps:.2}"))
        }
        GrowthOn::LastTime => {
            ((1.0 + percent.fraction()).powf(steps), format!("(1 + {percent})^{steps:.2}"))
        }
    };
    if !(1.0..=10.0).contains(&factor) {
        let value = format!("{factor:.2}");
        return Err(OutOfRange::new("re-use factor", value, "1 to 10; use fresh developer").into());
    }
    let formula = format!("{formula}, after {} in steps of {every}", re_use.used);
    working.apply(Step::new(Correction::ReUse, factor, formula, Source::STUDIO));
    Ok(())
}

fn check_capacity(re_use: &ReUse, at_most: Option<RollEquivalents>) -> Result<(), Refusal> {
    let Some(capacity) = at_most else { return Ok(()) };
    if re_use.used + re_use.this_run > capacity {
        let left = crate::units::RollBalance::left_of(capacity, re_use.used);
        return Err(Refusal::NotEnoughCapacity { load: re_use.this_run, left });
    }
    Ok(())
}
