//! A developer's factor per 10 °C.

use serde::Serialize;

use crate::chemistry::{Refusal, Setting, Source, defaults};
use crate::units::{Celsius, Factor, OutOfRange, Seconds};

/// By how much a developer is faster when it is 10 °C warmer, and who says so.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Coefficient(Setting<Factor>);

impl Coefficient {
    /// A developer's own factor, typed from the maker's sheet or a test.
    ///
    /// # Errors
    /// When outside 1 to 10 (1.3 to 4 were observed).
    pub fn own(factor: f64) -> Result<Self, OutOfRange> {
        Self::checked(factor).map(|value| Self(Setting { value, source: Source::STUDIO }))
    }

    /// Where a developer has none of its own: 2.36, a marked estimate (fact TT-8,
    /// Wall 1910, p. 44).
    #[must_use]
    pub fn estimate() -> Self {
        Self(defaults::ESTIMATED_COEFFICIENT)
    }

    /// From two times at two temperatures: log K = 10 (log T - log t) / Z (fact TT-7,
    /// Wall, Jahrbuch für Photographie 24 (1910) p. 44).
    ///
    /// # Errors
    /// When the temperatures are equal, a time is zero, or the factor is outside 1 to 10.
    pub fn from_two_times(
        colder: (Celsius, Seconds),
        warmer: (Celsius, Seconds),
    ) -> Result<Self, Refusal> {
        let degrees = warmer.0.degrees() - colder.0.degrees();
        if degrees.abs() < 0.5 {
            let value = format!("{degrees:.3} °C");
            return Err(
                OutOfRange::new("difference of temperature", value, "0.5 °C or more").into()
            );
        }
        for (_, time) in [colder, warmer] {
            if time == Seconds::ZERO {
                return Err(OutOfRange::new("time", "0 s", "1 s or more").into());
            }
        }
        let log = 10.0 * (colder.1.real() / warmer.1.real()).log10() / degrees;
        Ok(Self::own(10f64.powf(log))?)
    }

    fn checked(factor: f64) -> Result<Factor, OutOfRange> {
        Factor::new(factor)
            .ok()
            .filter(|factor| (1.0..=10.0).contains(&factor.get()))
            .ok_or_else(|| OutOfRange::new("factor per 10 °C", factor, "1 to 10"))
    }

    /// The factor per 10 °C.
    #[must_use]
    pub fn per_ten_degrees(&self) -> f64 {
        self.0.value.get()
    }

    /// The change of log10 of the time per degree (Wall's printed form, 0.037 in TT-8).
    #[must_use]
    pub fn log_per_degree(&self) -> f64 {
        self.per_ten_degrees().log10() / 10.0
    }

    /// Who says so.
    #[must_use]
    pub fn source(&self) -> Source {
        self.0.source
    }

    /// True for the factor that stands in where a developer has none of its own.
    #[must_use]
    pub fn is_estimate(&self) -> bool {
        *self == Self::estimate()
    }
}
