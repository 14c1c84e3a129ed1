//! Push and pull.

use crate::chemistry::{Refusal, Setting, Source, Warning, defaults};
use crate::units::{Factor, Stops};

use super::working::{Correction, Step, Working};

/// Film exposed at another index than the recipe is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Push {
    /// Stops from the recipe's index to the one used, negative for a pull.
    pub stops: Stops,
    /// By how much the time changes.
    pub by: PushFactor,
}

/// Where the change of time comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PushFactor {
    /// Typed for just this push.
    Own(Factor),
    /// Typed for one stop of push; applied once for each stop.
    PerStop(Factor),
    /// The textbooks' range, from one stop of pull to two of push: a marked estimate.
    Estimate,
}

pub(super) fn push(working: &mut Working, push: &Push) -> Result<(), Refusal> {
    let stops = push.stops.get();
    if stops == 0.0 {
        return Ok(());
    }
    let shown = push.stops;
    let step = match push.by {
        PushFactor::Own(own) => Step::new(
            Correction::PushOrPull,
            own.get(),
            format!("the factor typed for {shown} stops"),
            Source::STUDIO,
        ),
        PushFactor::PerStop(one) => Step::new(
            Correction::PushOrPull,
            Factor::new(one.get().powf(stops)).map_err(|e| e.named("push or pull factor"))?.get(),
            format!("{one}^{shown}, the factor typed for one stop"),
            Source::STUDIO,
        ),
        PushFactor::Estimate => {
            let step = estimate(push.stops)?;
            let source = step.source;
            working.warn(Warning::Estimate { what: "push or pull", source });
            step
        }
    };
    working.apply(step);
    Ok(())
}

/// Between the points -1, 0, +1 and +2 (SPD-8 and SPD-7) straight in the logarithm.
fn estimate(stops: Stops) -> Result<Step, Refusal> {
    let unchanged = Setting::new((Factor::ONE, Factor::ONE), Source::PRACTICE);
    let (near, far, share) = match stops.get() {
        s if (-1.0..0.0).contains(&s) => (unchanged, defaults::PULL_ONE, -s),
        s if (0.0..=1.0).contains(&s) => (unchanged, defaults::PUSH_ONE, s),
        s if (1.0..=2.0).contains(&s) => (defaults::PUSH_ONE, defaults::PUSH_TWO, s - 1.0),
        _ => return Err(Refusal::NoFigure("push or pull beyond -1 to +2 stops")),
    };
    let between = |near: Factor, far: Factor| near.get() * (far.get() / near.get()).powf(share);
    let least = between(near.value.0, far.value.0);
    let most = between(near.value.1, far.value.1);
    let formula = format!("middle of × {least:.2} to {most:.2} for {stops} stops");
    let mut step = Step::new(Correction::PushOrPull, (least + most) / 2.0, formula, far.source);
    step.estimate(least, most);
    Ok(step)
}
