//! Two baths of fixer, one after the other.

use serde::{Deserialize, Serialize};

use crate::chemistry::{Refusal, Standing, defaults};

use super::{FixerBath, FixerState};

/// The two baths as they stand, with the number of times a second bath became the
/// first since both were mixed fresh.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TwoBaths {
    /// Film goes here first.
    pub first: FixerBath,
    /// Then here.
    pub second: FixerBath,
    promotions: u8,
}

/// The two baths after a rotation, and the one to collect.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rotation {
    /// The old first bath: collect it, do not pour it away.
    pub discarded: FixerBath,
    /// The baths as they stand now.
    pub now: TwoBaths,
}

impl TwoBaths {
    /// Both mixed fresh.
    #[must_use]
    pub fn fresh(first: FixerBath, second: FixerBath) -> Self {
        Self { first, second, promotions: 0 }
    }

    /// As a database kept them.
    ///
    /// # Errors
    /// When there were more promotions than are allowed.
    pub fn kept(first: FixerBath, second: FixerBath, promotions: u8) -> Result<Self, Refusal> {
        let most = defaults::MOST_PROMOTIONS.value;
        if promotions > most {
            return Err(Refusal::TooManyPromotions(most));
        }
        Ok(Self { first, second, promotions })
    }

    /// How often a second bath became the first.
    #[must_use]
    pub fn promotions(&self) -> u8 {
        self.promotions
    }

    /// The states of both and the worse of them.
    #[must_use]
    pub fn state(&self) -> (Standing, FixerState, FixerState) {
        let (first, second) = (self.first.state(), self.second.state());
        (first.standing.max(second.standing), first, second)
    }

    /// Discards the first bath, moves the second to its place with all its history, and
    /// puts a fresh one second (fact FIX-4, NAVEDTRA 14209 web p. 249), at most five
    /// times (common practice, no source).
    ///
    /// # Errors
    /// After five promotions: then both are mixed fresh.
    pub fn rotate(self, fresh: FixerBath) -> Result<Rotation, Refusal> {
        let most = defaults::MOST_PROMOTIONS.value;
        if self.promotions >= most {
            return Err(Refusal::TooManyPromotions(most));
        }
        let promotions = self.promotions + 1;
        let now = Self { first: self.second, second: fresh, promotions };
        Ok(Rotation { discarded: self.first, now })
    }
}
