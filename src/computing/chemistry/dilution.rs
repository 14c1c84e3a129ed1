//! One part of concentrate or stock and n parts of water, both ways.

use serde::{Deserialize, Serialize};

use crate::units::{Dilution, Millilitres, ratio_nearest};

use super::Refusal;

/// A working solution taken apart: the two always add up to the total exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Split {
    /// Concentrate, or stock where the product is one.
    pub concentrate: Millilitres,
    /// Water.
    pub water: Millilitres,
}

impl Split {
    /// Both together.
    #[must_use]
    pub fn total(&self) -> Millilitres {
        self.concentrate + self.water
    }
}

/// What a total at 1+n is made of: concentrate = total / (1 + n), to the nearest
/// thousandth of a millilitre, and water for the rest (facts DIL-23, arithmetic;
/// DIL-10, Fontbonne University, "Chemistry: Terms & Concepts").
#[must_use]
pub fn split(total: Millilitres, dilution: Dilution) -> Split {
    let units = ratio_nearest(total.microlitres(), 1000, dilution.total_thousandths());
    let concentrate = units.and_then(|u| Millilitres::from_microlitres(u).ok()).unwrap_or(total);
    Split { concentrate, water: total.less(concentrate) }
}

/// How far an amount of concentrate goes at 1+n: water = concentrate × n.
///
/// # Errors
/// When the total would be larger than any volume allowed.
pub fn from_concentrate(concentrate: Millilitres, dilution: Dilution) -> Result<Split, Refusal> {
    let thousandths = u64::from(dilution.water_thousandths());
    let units = ratio_nearest(concentrate.microlitres(), thousandths, 1000).unwrap_or(u64::MAX);
    let water = Millilitres::from_microlitres(units).map_err(|e| e.named("water"))?;
    let total = units.saturating_add(concentrate.microlitres());
    Millilitres::from_microlitres(total).map_err(|e| e.named("working solution"))?;
    Ok(Split { concentrate, water })
}
