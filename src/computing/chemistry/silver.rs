//! How much silver a fixer may hold: always a range, with what was assumed.

use std::fmt;

use serde::Serialize;

use crate::units::{Grams, Millilitres, OutOfRange, Percent, RollEquivalents};

use super::{Refusal, defaults};

/// What an estimate of silver rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SilverAssumptions {
    coated_mg_per_m2: (u32, u32),
    dissolved: (Percent, Percent),
}

impl SilverAssumptions {
    /// Negative film coated with 3-10 g/m² (fact FIX-16, German radiographic handbook,
    /// id 340), of which 60-80 % goes into the fixer (FIX-24, from memory).
    #[must_use]
    pub fn usual() -> Self {
        Self {
            coated_mg_per_m2: defaults::SILVER_COATED_MG.value,
            dissolved: defaults::SILVER_SHARE.value,
        }
    }

    /// From the least and greatest milligrams per square metre and share dissolved.
    ///
    /// # Errors
    /// When a least is above its greatest, or above 100 g/m² is assumed.
    pub fn new(
        coated_mg_per_m2: (u32, u32),
        dissolved: (Percent, Percent),
    ) -> Result<Self, OutOfRange> {
        let (least, most) = coated_mg_per_m2;
        if least > most || most > 100_000 {
            let value = format!("{least} to {most} mg/m²");
            return Err(OutOfRange::new("silver coated", value, "0 to 100,000 mg/m², least first"));
        }
        if dissolved.0 > dissolved.1 {
            let value = format!("{} to {}", dissolved.0, dissolved.1);
            return Err(OutOfRange::new("silver dissolved", value, "0 to 100 %, least first"));
        }
        Ok(Self { coated_mg_per_m2, dissolved })
    }
}

impl fmt::Display for SilverAssumptions {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (least, most) = self.coated_mg_per_m2;
        write!(
            f,
            "negative film with {} to {} g/m² of silver, of which {} to {} goes into the fixer",
            f64::from(least) / 1000.0,
            f64::from(most) / 1000.0,
            self.dissolved.0,
            self.dissolved.1
        )
    }
}

/// An estimate of silver. Never a single figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SilverEstimate {
    /// At least.
    pub least: Grams,
    /// At most.
    pub most: Grams,
    /// What that rests on.
    pub assumptions: SilverAssumptions,
}

/// The silver that an amount of film has left in a bath: area × coating × share.
#[must_use]
pub fn silver(film: RollEquivalents, assumptions: SilverAssumptions) -> SilverEstimate {
    let area = film.area().square_metres();
    let grams = |mg_per_m2: u32, share: Percent| {
        Grams::new(area * f64::from(mg_per_m2) / 1000.0 * share.fraction()).unwrap_or_default()
    };
    SilverEstimate {
        least: grams(assumptions.coated_mg_per_m2.0, assumptions.dissolved.0),
        most: grams(assumptions.coated_mg_per_m2.1, assumptions.dissolved.1),
        assumptions,
    }
}

impl SilverEstimate {
    /// Least and most in a litre, when it is all in `volume`.
    ///
    /// # Errors
    /// When there is no volume.
    pub fn per_litre(&self, volume: Millilitres) -> Result<(Grams, Grams), Refusal> {
        if volume == Millilitres::ZERO {
            return Err(Refusal::Missing("a volume above 0 ml"));
        }
        let litres = volume.litres();
        Ok((Grams::new(self.least.grams() / litres)?, Grams::new(self.most.grams() / litres)?))
    }
}

impl fmt::Display for SilverEstimate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} to {} (estimate: {})", self.least, self.most, self.assumptions)
    }
}
