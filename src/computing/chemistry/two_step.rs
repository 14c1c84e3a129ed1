//! Stock made from concentrate, then working solution made from stock.

use serde::{Deserialize, Serialize};

use crate::units::{Dilution, Millilitres};

use super::{Refusal, Split, split};

/// A concentrate that is first made into stock and the stock used diluted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct TwoStep {
    /// Concentrate to stock.
    pub stock: Dilution,
    /// Stock to working solution.
    pub working: Dilution,
}

/// The amounts of both steps for one total of working solution.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct TwoStepAmounts {
    /// The first step: concentrate and water make the stock that is needed.
    pub stock: Split,
    /// The second step: its `concentrate` is the stock.
    pub working: Split,
}

impl TwoStep {
    /// The dilution of the concentrate in the working solution:
    /// (1 + a)(1 + b) - 1 parts of water.
    ///
    /// # Errors
    /// When that is weaker than 1+10,000.
    pub fn overall(&self) -> Result<Dilution, Refusal> {
        let (a, b) = (self.stock.water_parts(), self.working.water_parts());
        Ok(Dilution::new(a + b + a * b).map_err(|e| e.named("overall dilution"))?)
    }

    /// What both steps take for `total` of working solution.
    #[must_use]
    pub fn amounts(&self, total: Millilitres) -> TwoStepAmounts {
        let working = split(total, self.working);
        TwoStepAmounts { stock: split(working.concentrate, self.stock), working }
    }
}
