//! The cross rule: in which parts two strengths make a third.

use serde::{Deserialize, Serialize};

use crate::units::{Millilitres, Percent, ratio_nearest};

use super::Refusal;

/// Two solutions of different strength in whole parts without a common divisor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Alligation {
    /// Parts of the stronger solution.
    pub stronger_parts: u32,
    /// Parts of the weaker solution (of water, where it is 0 %).
    pub weaker_parts: u32,
}

/// Volumes of two solutions that add up to their total exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct AlligationVolumes {
    /// Of the stronger solution.
    pub stronger: Millilitres,
    /// Of the weaker solution.
    pub weaker: Millilitres,
}

/// Parts of the stronger = wanted - weaker, parts of the weaker = stronger - wanted
/// (fact DIL-8, jbhphoto.com, 17 June 2013). The two may be given in either order.
///
/// # Errors
/// When the strength wanted does not lie between the two, or all three are equal.
pub fn alligation(one: Percent, other: Percent, wanted: Percent) -> Result<Alligation, Refusal> {
    let (weaker, stronger) = (one.min(other), one.max(other));
    if weaker == stronger || wanted < weaker || wanted > stronger {
        return Err(Refusal::StrengthNotBetween { wanted, weaker, stronger });
    }
    let strong = wanted.thousandths() - weaker.thousandths();
    let weak = stronger.thousandths() - wanted.thousandths();
    let divisor = greatest_common_divisor(strong, weak).max(1);
    Ok(Alligation { stronger_parts: strong / divisor, weaker_parts: weak / divisor })
}

impl Alligation {
    /// The volumes for a total.
    #[must_use]
    pub fn volumes(&self, total: Millilitres) -> AlligationVolumes {
        let parts = u64::from(self.stronger_parts) + u64::from(self.weaker_parts);
        let units = ratio_nearest(total.microlitres(), u64::from(self.stronger_parts), parts);
        let stronger = units.and_then(|u| Millilitres::from_microlitres(u).ok());
        let stronger = stronger.unwrap_or_default().min(total);
        AlligationVolumes { stronger, weaker: total.less(stronger) }
    }
}

fn greatest_common_divisor(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}
