//! How much film a volume of fixer can take.

use serde::{Deserialize, Serialize};

use crate::chemistry::defaults;
use crate::units::{Millilitres, Percent, RollEquivalents, RollsPerLitre};

/// A fixer's capacity as the studio counts it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FixerCapacity {
    /// Film that a litre takes.
    pub per_litre: RollsPerLitre,
    /// The share of it that the studio uses.
    pub margin: Percent,
}

impl FixerCapacity {
    /// Acid fixer: 20 rolls' worth per litre (fact FIX-5, Anchell 2008 p. 108), of
    /// which the studio uses 75 % (common practice, no source).
    #[must_use]
    pub fn acid() -> Self {
        Self { per_litre: defaults::FIXER_ACID.value, margin: defaults::FIXER_MARGIN.value }
    }

    /// Alkaline fixer, only if chosen: 25 per litre (fact FIX-6, Anchell 2008 p. 108).
    #[must_use]
    pub fn alkaline() -> Self {
        Self { per_litre: defaults::FIXER_ALKALINE.value, margin: defaults::FIXER_MARGIN.value }
    }

    /// What a mixed volume takes, rounded down.
    #[must_use]
    pub fn of_volume(&self, volume: Millilitres) -> RollEquivalents {
        let all = self.per_litre.of_volume(volume).millionths();
        let share = u64::from(self.margin.thousandths());
        let part = crate::units::ratio_down(all, share, 100_000);
        RollEquivalents::from_millionths(part.unwrap_or(0))
    }
}
