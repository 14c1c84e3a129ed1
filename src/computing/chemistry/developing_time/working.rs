//! The working of a developing time: every correction as data a page can print.

use std::fmt;

use serde::Serialize;

use crate::chemistry::{Refusal, Source, Warning};
use crate::units::{Celsius, OutOfRange, Seconds};

/// What a step corrects for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Correction {
    /// The temperature of the run.
    Temperature,
    /// Film exposed at another index than its speed.
    PushOrPull,
    /// Developer that has been used before.
    ReUse,
    /// Another way of moving the tank.
    Agitation,
    /// To the step in which times are given.
    Rounding,
}

impl fmt::Display for Correction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Temperature => "temperature",
            Self::PushOrPull => "push or pull",
            Self::ReUse => "re-use",
            Self::Agitation => "agitation",
            Self::Rounding => "rounding",
        })
    }
}

/// One line of the working.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// What is corrected.
    pub correction: Correction,
    /// Seconds before.
    pub before_s: f64,
    /// Multiplied by this.
    pub factor: f64,
    /// Seconds after.
    pub after_s: f64,
    /// How the factor was found, as a formula with its numbers.
    pub formula: String,
    /// Who says so.
    pub source: Source,
    /// Least and greatest factor, where the factor is only an estimate.
    pub estimated_between: Option<(f64, f64)>,
}

impl Step {
    pub(super) fn new(
        correction: Correction,
        factor: f64,
        formula: String,
        source: Source,
    ) -> Self {
        let (before_s, after_s) = (0.0, 0.0);
        Self { correction, before_s, factor, after_s, formula, source, estimated_between: None }
    }

    pub(super) fn estimate(&mut self, one: f64, other: f64) {
        self.estimated_between = Some((one.min(other), one.max(other)));
    }
}

impl fmt::Display for Step {
    /// `temperature: 480 s × 0.842 = 404 s, because 2.36^((20.0 - 22.0) / 10)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { correction, before_s, factor, after_s, formula, source, .. } = self;
        write!(f, "{correction}: {before_s:.0} s × {factor:.3} = {after_s:.0} s, ")?;
        write!(f, "because {formula} ({source})")?;
        match self.estimated_between {
            Some((least, most)) => write!(f, "; estimate, × {least:.2} to {most:.2}"),
            None => Ok(()),
        }
    }
}

/// A time on its way through the corrections.
#[derive(Debug, Clone)]
pub(super) struct Working {
    pub(super) recipe: (Seconds, Celsius),
    pub(super) seconds: f64,
    pub(super) least: f64,
    pub(super) most: f64,
    pub(super) steps: Vec<Step>,
    pub(super) warnings: Vec<Warning>,
}

impl Working {
    pub(super) fn from(time: Seconds, at: Celsius) -> Result<Self, Refusal> {
        if time == Seconds::ZERO {
            return Err(
                OutOfRange::new("developing time of the recipe", "0 s", "1 s or more").into()
            );
        }
        let seconds = time.real();
        Ok(Self {
            recipe: (time, at),
            seconds,
            least: seconds,
            most: seconds,
            steps: Vec::new(),
            warnings: Vec::new(),
        })
    }

    /// Multiplies by a step's factor and keeps the line. An estimate widens the range.
    pub(super) fn apply(&mut self, mut step: Step) {
        step.before_s = self.seconds;
        step.after_s = self.seconds * step.factor;
        let (least, most) = step.estimated_between.unwrap_or((step.factor, step.factor));
        self.seconds = step.after_s;
        self.least *= least.min(step.factor);
        self.most *= most.max(step.factor);
        self.steps.push(step);
    }

    pub(super) fn warn(&mut self, warning: Warning) {
        self.warnings.push(warning);
    }
}
