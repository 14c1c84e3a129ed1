//! A recipe's agitation changed for another.

use crate::chemistry::{AgitationScheme, Refusal, Source, Warning, defaults};
use crate::units::Factor;

use super::working::{Correction, Step, Working};

/// The recipe's way of moving the tank and the studio's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AgitationChange {
    /// In the recipe.
    pub recipe: AgitationScheme,
    /// In this run.
    pub run: AgitationScheme,
    /// The studio's own factor for this change, where it has one.
    pub factor: Option<Factor>,
}

pub(super) fn agitation(working: &mut Working, change: &AgitationChange) -> Result<(), Refusal> {
    let AgitationChange { recipe, run, factor } = change;
    if recipe == run {
        return Ok(());
    }
    let formula = format!("the tank is moved {run} instead of {recipe}");
    if let Some(own) = factor {
        working.apply(Step::new(Correction::Agitation, own.get(), formula, Source::STUDIO));
        return Ok(());
    }
    let (least, most) = defaults::CONTINUOUS.value;
    let (least, most) = match (recipe, run) {
        (from, AgitationScheme::Continuous) if from.is_intermittent() => (least.get(), most.get()),
        (AgitationScheme::Continuous, to) if to.is_intermittent() => {
            (1.0 / most.get(), 1.0 / least.get())
        }
        (from, to) if from.is_intermittent() && to.is_intermittent() => {
            working.warn(Warning::AgitationNotCorrected);
            return Ok(());
        }
        _ => return Err(Refusal::NoFigure("agitation factor to or from stand development")),
    };
    let source = defaults::CONTINUOUS.source;
    let mut step = Step::new(Correction::Agitation, (least + most) / 2.0, formula, source);
    step.estimate(least, most);
    working.warn(Warning::Estimate { what: "agitation factor", source });
    working.apply(step);
    Ok(())
}
