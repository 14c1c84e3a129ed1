//! What a recipe knows of its time, and the temperature step of the working.

use crate::chemistry::{Refusal, Warning, defaults};
use crate::units::{Celsius, OutOfRange, Seconds};

use super::coefficient::Coefficient;
use super::curve::{Curve, within};
use super::table::TimeTable;
use super::working::{Correction, Step, Working};
use crate::chemistry::Source;

/// The temperatures between which a coefficient is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Band {
    lowest: Celsius,
    highest: Celsius,
}

impl Band {
    /// From its ends.
    ///
    /// # Errors
    /// When the highest is not above the lowest.
    pub fn new(lowest: Celsius, highest: Celsius) -> Result<Self, OutOfRange> {
        if highest <= lowest {
            let allowed = format!("above {lowest}");
            return Err(OutOfRange::new("upper end of the band", highest, allowed));
        }
        Ok(Self { lowest, highest })
    }

    /// 18 to 24 °C (fact TT-4, Army SS0509 web p. Ss050980019).
    #[must_use]
    pub fn usual() -> Self {
        Self { lowest: defaults::BAND_LOWEST.value, highest: defaults::BAND_HIGHEST.value }
    }
}

/// What a recipe knows: its own table where there is one, else one time and a coefficient.
#[derive(Debug, Clone, PartialEq)]
pub enum TimeBasis {
    /// The recipe's own time-temperature table.
    Table(TimeTable),
    /// One time at one temperature.
    OneTime(OneTime),
}

/// A time at a temperature, and how it changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneTime {
    /// The recipe's time.
    pub time: Seconds,
    /// The recipe's temperature.
    pub at: Celsius,
    /// The developer's factor per 10 °C.
    pub coefficient: Coefficient,
    /// Where the factor is good.
    pub band: Band,
}

/// The temperature of the developer in the tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RunTemperature {
    /// The same all the time.
    Steady(Celsius),
    /// Measured at the start and at the end of the run, changing evenly.
    FromTo(Celsius, Celsius),
}

impl RunTemperature {
    fn ends(self) -> (Celsius, Celsius) {
        match self {
            Self::Steady(at) => (at, at),
            Self::FromTo(start, end) => (start, end),
        }
    }
}

/// Begins the working: the recipe's time, brought to the temperature of the run.
pub(super) fn at_temperature(
    basis: &TimeBasis,
    temperature: RunTemperature,
) -> Result<Working, Refusal> {
    let (start, end) = temperature.ends();
    let mut working = match basis {
        TimeBasis::Table(table) => from_table(table, start, end)?,
        TimeBasis::OneTime(one) => from_one_time(one, start, end)?,
    };
    let drift = start.apart(end);
    if drift > defaults::TEMPERATURE_ALERT.value.degrees() {
        working.warn(Warning::Drift { degrees: drift });
    }
    let (lowest, highest) = (defaults::BAND_LOWEST.value, defaults::BAND_HIGHEST.value);
    if let Some(&temperature) = [start, end].iter().find(|at| **at < lowest || **at > highest) {
        working.warn(Warning::UnusualTemperature { temperature, lowest, highest });
    }
    Ok(working)
}

fn from_table(table: &TimeTable, start: Celsius, end: Celsius) -> Result<Working, Refusal> {
    let time = table.time_over(start, end)?;
    let reference = table.reference(defaults::NORMAL_TEMPERATURE.value);
    let mut working = Working::from(reference.time, reference.at)?;
    let formula = format!("read in the recipe's own table, in the logarithm of time, {}", {
        run_in_words(start, end)
    });
    working.apply(Step::new(
        Correction::Temperature,
        time / reference.time.real(),
        formula,
        Source::STUDIO,
    ));
    Ok(working)
}

fn from_one_time(one: &OneTime, start: Celsius, end: Celsius) -> Result<Working, Refusal> {
    let mut working = Working::from(one.time, one.at)?;
    if start == one.at && end == one.at {
        return Ok(working);
    }
    for temperature in [one.at, start, end] {
        within(temperature, one.band.lowest, one.band.highest)?;
    }
    let k = one.coefficient.per_ten_degrees();
    let formula = if start == end {
        format!(
            "{k:.2}^(({:.1} - {:.1}) / 10), the factor per 10 °C of this developer",
            one.at.degrees(),
            start.degrees()
        )
    } else {
        let run = run_in_words(start, end);
        format!("1 / mean of {k:.2}^((T - {:.1}) / 10) {run}", one.at.degrees())
    };
    let source = one.coefficient.source();
    let mut step = Step::new(Correction::Temperature, factor(one, k, start, end), formula, source);
    if one.coefficient.is_estimate() {
        let (least, most) = defaults::COEFFICIENT_SPREAD.value;
        let one_end = factor(one, least.get(), start, end);
        step.estimate(one_end, factor(one, most.get(), start, end));
        working.warn(Warning::Estimate { what: "temperature correction", source });
    }
    working.apply(step);
    Ok(working)
}

fn factor(one: &OneTime, k: f64, start: Celsius, end: Celsius) -> f64 {
    let relative = |at: Celsius| (at, k.powf((one.at.degrees() - at.degrees()) / 10.0));
    Curve::new([one.band.lowest, one.band.highest].map(relative).into_iter()).time_over(start, end)
}

fn run_in_words(start: Celsius, end: Celsius) -> String {
    if start == end { format!("at {start}") } else { format!("from {start} to {end}") }
}
