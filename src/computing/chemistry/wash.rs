//! Washing: steps, changes of water, temperature.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::units::{Celsius, Millilitres, OutOfRange, Seconds, ratio_up};

use super::{Refusal, Source, Warning, defaults};

/// How the film is washed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Washing {
    /// Rinse, wash aid, wash (fact WASH-5, Army SS0509 web p. Ss050980024).
    WithAid,
    /// Without an aid after a non-hardening fixer (WASH-2, NAVEDTRA 14209 web p. 250).
    WithoutAid,
    /// Without an aid after a hardening fixer (WASH-4, Army SS0509 web p. Ss050980030).
    AfterHardener,
    /// The studio's own choice, for non-hardening rapid fixer in brisk water (common
    /// practice, no source).
    Brisk,
}

/// What happens in a step of the wash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WashStepKind {
    /// In running water before the aid.
    Rinse,
    /// In the wash aid.
    Aid,
    /// In running water, or with its changes.
    Wash,
}

impl fmt::Display for WashStepKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Rinse => "rinse",
            Self::Aid => "wash aid",
            Self::Wash => "wash",
        })
    }
}

/// One step of the wash.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WashStep {
    /// What happens.
    pub kind: WashStepKind,
    /// How long, counted from the last film put in.
    pub time: Seconds,
    /// Complete changes of water in it, the first filling included; none for the aid.
    pub changes: Option<u32>,
    /// Who says so.
    pub source: Source,
}

/// A wash, step by step.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WashPlan {
    /// The steps in order.
    pub steps: Vec<WashStep>,
    /// A complete change of water at least this often.
    pub change_every: Seconds,
    /// What to think about.
    pub warnings: Vec<Warning>,
}

impl WashPlan {
    /// All steps together.
    #[must_use]
    pub fn total(&self) -> Seconds {
        self.steps.iter().map(|step| step.time).sum()
    }

    /// When the wash ends, if the last film went in `last_film_after` its first: time
    /// counts from the last film put in (fact WASH-12, MD0954 para. 3-33).
    #[must_use]
    pub fn ends_after(&self, last_film_after: Seconds) -> Seconds {
        last_film_after + self.total()
    }
}

/// Plans a wash in water of a temperature, after fixer of another: three times as long
/// below 15.6 °C and refused below 10 °C (fact WASH-7, T.O. 33B-1-1 6.7.10.1), warned
/// of above 24 °C (WASH-17, photographytips.com p. 4891) and at a step of 8 °C (WASH-9,
/// T.O. 33B-1-1 6.7.10.1). A change every 3 min (WASH-2, NAVEDTRA 14209 web p. 250).
///
/// # Errors
/// Below 10 °C, and above 30 °C, where the gelatin would suffer.
pub fn wash_plan(washing: Washing, water: Celsius, fixer: Celsius) -> Result<WashPlan, Refusal> {
    let lowest = defaults::WASH_COLDEST.value;
    let highest = Celsius::from_millidegrees(30_000); // common practice, no source
    if water < lowest || water > highest {
        let temperature = water;
        return Err(Refusal::OutsideBand { what: "wash water", temperature, lowest, highest });
    }
    let cold = water < defaults::WASH_COLD_BELOW.value;
    let times = if cold { defaults::WASH_COLD_TIMES.value } else { 1 };
    let change_every = defaults::WASH_CHANGE.value;
    let steps = steps(washing).map(|(kind, setting)| wash_step(kind, setting, times)).collect();
    Ok(WashPlan { steps, change_every, warnings: warnings(washing, water, fixer) })
}

type TimeSetting = super::Setting<Seconds>;

fn steps(washing: Washing) -> impl Iterator<Item = (WashStepKind, TimeSetting)> {
    let before: &[(WashStepKind, TimeSetting)] = match washing {
        Washing::WithAid => {
            &[(WashStepKind::Rinse, defaults::RINSE), (WashStepKind::Aid, defaults::WASH_AID)]
        }
        Washing::WithoutAid | Washing::AfterHardener | Washing::Brisk => &[],
    };
    let wash = match washing {
        Washing::WithAid => defaults::WASH_WITH_AID,
        Washing::WithoutAid => defaults::WASH_WITHOUT_AID,
        Washing::AfterHardener => defaults::WASH_AFTER_HARDENER,
        Washing::Brisk => defaults::WASH_BRISK,
    };
    before.iter().copied().chain([(WashStepKind::Wash, wash)])
}

fn wash_step(kind: WashStepKind, setting: TimeSetting, times: u32) -> WashStep {
    let (time, changes) = match kind {
        WashStepKind::Aid => (setting.value, None),
        WashStepKind::Rinse => (setting.value, Some(1)),
        WashStepKind::Wash => {
            let time = setting.value.times(times);
            (time, Some(changes_in(time, defaults::WASH_CHANGE.value)))
        }
    };
    WashStep { kind, time, changes, source: setting.source }
}

fn warnings(washing: Washing, water: Celsius, fixer: Celsius) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if water < defaults::WASH_COLD_BELOW.value {
        let times = defaults::WASH_COLD_TIMES.value;
        warnings.push(Warning::ColdWash { temperature: water, times });
    }
    if water > defaults::WASH_WARMEST.value {
        warnings.push(Warning::WarmWash(water));
    }
    let degrees = water.apart(fixer);
    if degrees >= defaults::WASH_STEP.value.degrees() {
        warnings.push(Warning::WashStep { degrees });
    }
    if washing == Washing::Brisk {
        warnings.push(Warning::BriskWash);
    }
    warnings
}

/// Complete changes of water in a time, the first filling included.
#[must_use]
pub fn changes_in(time: Seconds, change_every: Seconds) -> u32 {
    match change_every.get() {
        0 => 0,
        every => time.get().div_ceil(every),
    }
}

/// How long running water takes to change once, at a flow measured over a minute.
///
/// # Errors
/// When nothing flows, or a change would take longer than any time allowed.
pub fn time_of_a_change(washer: Millilitres, per_minute: Millilitres) -> Result<Seconds, Refusal> {
    if per_minute == Millilitres::ZERO {
        return Err(OutOfRange::new("flow", "0 ml/min", "above 0 ml/min").into());
    }
    let seconds = ratio_up(washer.microlitres(), 60, per_minute.microlitres());
    let seconds = seconds.and_then(|s| u32::try_from(s).ok()).unwrap_or(u32::MAX);
    Ok(Seconds::new(seconds).map_err(|e| e.named("time of a change of water"))?)
}

/// The flow that changes the water of a washer every 3 min, in ml per minute (fact
/// WASH-2, NAVEDTRA 14209 web p. 250).
#[must_use]
pub fn flow_needed(washer: Millilitres) -> Millilitres {
    let every = u64::from(defaults::WASH_CHANGE.value.get());
    let units = ratio_up(washer.microlitres(), 60, every);
    units.and_then(|u| Millilitres::from_microlitres(u).ok()).unwrap_or(washer)
}

/// A warning when the water of a washer changes more slowly than every 3 min.
///
/// # Errors
/// As [`time_of_a_change`].
pub fn check_flow(
    washer: Millilitres,
    per_minute: Millilitres,
) -> Result<Option<Warning>, Refusal> {
    let change = time_of_a_change(washer, per_minute)?;
    let wanted = defaults::WASH_CHANGE.value;
    Ok((change > wanted).then_some(Warning::SlowWater { change, wanted }))
}
