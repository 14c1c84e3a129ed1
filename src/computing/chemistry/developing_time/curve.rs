//! Time against temperature, straight between its points in the logarithm of time.

use crate::units::{Celsius, Seconds};

use crate::chemistry::Refusal;

/// Points of (temperature, ln of the time), by rising temperature. Never empty.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Curve {
    points: Vec<(f64, f64)>,
}

impl Curve {
    /// From points that are already in order and have times above zero.
    pub(super) fn new(points: impl Iterator<Item = (Celsius, f64)>) -> Self {
        Self { points: points.map(|(at, time)| (at.degrees(), time.ln())).collect() }
    }

    /// ln of the time at a temperature; the end values outside the points.
    fn ln_time(&self, degrees: f64) -> f64 {
        let mut before: Option<(f64, f64)> = None;
        for &(at, ln_time) in &self.points {
            if degrees <= at {
                return match before {
                    Some((low, ln_low)) if at > low => {
                        ln_low + (ln_time - ln_low) * (degrees - low) / (at - low)
                    }
                    _ => ln_time,
                };
            }
            before = Some((at, ln_time));
        }
        before.map_or(0.0, |(_, ln_time)| ln_time)
    }

    /// The time at a steady temperature, in seconds.
    pub(super) fn time_at(&self, temperature: Celsius) -> f64 {
        self.ln_time(temperature.degrees()).exp()
    }

    /// The time when the temperature moves evenly from one to another: one over the
    /// mean of the developing rate (1/time). Each stretch is an exponential, whose
    /// mean is known exactly: (r2 - r1) / ln(r2 / r1).
    pub(super) fn time_over(&self, start: Celsius, end: Celsius) -> f64 {
        let (low, high) = (start.min(end).degrees(), start.max(end).degrees());
        if high <= low {
            return self.time_at(start);
        }
        let inner = self.points.iter().map(|(at, _)| *at).filter(|at| *at > low && *at < high);
        let mut developed = 0.0;
        let mut from = low;
        for to in inner.chain([high]) {
            developed += (to - from) * mean_rate(self.ln_time(from), self.ln_time(to));
            from = to;
        }
        (high - low) / developed
    }
}

fn mean_rate(ln_first: f64, ln_last: f64) -> f64 {
    let change = ln_first - ln_last;
    if change.abs() < 1e-9 {
        return (-(ln_first + ln_last) / 2.0).exp();
    }
    ((-ln_last).exp() - (-ln_first).exp()) / change
}

/// Refuses a temperature outside a band.
pub(super) fn within(
    temperature: Celsius,
    lowest: Celsius,
    highest: Celsius,
) -> Result<(), Refusal> {
    if temperature < lowest || temperature > highest {
        return Err(Refusal::OutsideBand { what: "developer", temperature, lowest, highest });
    }
    Ok(())
}

/// Rounds to a whole second, naming the developing time where it is out of range.
pub(super) fn whole_seconds(seconds: f64) -> Result<Seconds, Refusal> {
    Ok(Seconds::nearest(seconds).map_err(|e| e.named("developing time"))?)
}
