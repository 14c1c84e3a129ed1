//! The friendly volume: what the measuring tools on the shelf can measure.

use serde::{Deserialize, Serialize};

use crate::units::{Dilution, Millilitres, ratio_up};

use super::parts::{NamedVolume, Parts};
use super::tank_volume::Need;
use super::{Refusal, Split, defaults};

/// A measuring cylinder or syringe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tool {
    /// The most it holds.
    #[serde(rename = "up_to_ml")]
    pub up_to: Millilitres,
    /// The distance of its marks.
    #[serde(rename = "step_ml")]
    pub step: Millilitres,
}

/// The tools of the shelf, smallest first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Tool>", into = "Vec<Tool>")]
pub struct Measuring(Vec<Tool>);

impl Measuring {
    /// From the tools in any order.
    ///
    /// # Errors
    /// When there is none, a step is zero, or a tool does not end on a mark.
    pub fn new(mut tools: Vec<Tool>) -> Result<Self, Refusal> {
        if tools.is_empty() {
            return Err(Refusal::Missing("a measuring tool"));
        }
        for tool in &tools {
            let (step, up_to) = (tool.step.microlitres(), tool.up_to.microlitres());
            if step == 0 || up_to == 0 || up_to % step != 0 {
                let value = format!("{:#} in steps of {:#}", tool.up_to, tool.step);
                let allowed = "a capacity above 0 that is a multiple of a step above 0";
                return Err(crate::units::OutOfRange::new("measuring tool", value, allowed).into());
            }
        }
        tools.sort_by_key(|tool| (tool.up_to, tool.step));
        Ok(Self(tools))
    }

    /// A syringe, a small and a large cylinder (common practice, no source).
    #[must_use]
    pub fn usual() -> Self {
        let tools = defaults::MEASURING_TOOLS.value;
        Self(tools.map(|(up_to, step)| Tool { up_to, step }).to_vec())
    }

    /// The tools, smallest first.
    #[must_use]
    pub fn tools(&self) -> &[Tool] {
        &self.0
    }

    /// The step of the smallest tool that holds `volume`; of the largest one,
    /// filled more than once, where none does.
    #[must_use]
    pub fn step_for(&self, volume: Millilitres) -> Millilitres {
        let holds = self.0.iter().find(|tool| tool.up_to >= volume);
        holds.or(self.0.last()).map_or(Millilitres::ZERO, |tool| tool.step)
    }
}

impl TryFrom<Vec<Tool>> for Measuring {
    type Error = Refusal;

    fn try_from(tools: Vec<Tool>) -> Result<Self, Refusal> {
        Self::new(tools)
    }
}

impl From<Measuring> for Vec<Tool> {
    fn from(measuring: Measuring) -> Self {
        measuring.0
    }
}

/// A working solution ready to be measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Friendly {
    /// Concentrate (or stock) and water.
    pub split: Split,
    /// True when the rounded volume would not fit, so that the concentrate must be
    /// measured exactly, between two marks.
    pub measure_exactly: bool,
}

/// The friendly volume of what a tank needs: the concentrate rounded **up** to the
/// step of the smallest tool that holds it, and the volume that makes; where that
/// passes the tank's maximum, the need itself, measured exactly. Never below the
/// need, and so never below the minimum per roll. At 1+0 the developer is used as
/// it is.
#[must_use]
pub fn friendly(need: &Need, dilution: Dilution, measuring: &Measuring) -> Friendly {
    let exact = exact_share(need.volume, dilution.total_thousandths());
    let concentrate = exact.rounded_up_to(measuring.step_for(exact));
    let units = ratio_up(concentrate.microlitres(), dilution.total_thousandths(), 1000);
    let volume = units.and_then(|u| Millilitres::from_microlitres(u).ok());
    match volume.filter(|volume| *volume <= need.maximum) {
        Some(volume) => Friendly {
            split: Split { concentrate, water: volume.less(concentrate) },
            measure_exactly: false,
        },
        None => Friendly {
            split: Split { concentrate: exact, water: need.volume.less(exact) },
            measure_exactly: true,
        },
    }
}

/// Rounded up, so that a roll never gets a trace less than its minimum.
fn exact_share(need: Millilitres, total_thousandths: u64) -> Millilitres {
    let units = ratio_up(need.microlitres(), 1000, total_thousandths);
    units.and_then(|u| Millilitres::from_microlitres(u).ok()).unwrap_or(need)
}

/// The same for named parts: the first part rounded up to its step, the others in
/// proportion. The volumes add up exactly; the flag is as in [`Friendly`].
#[must_use]
pub fn friendly_parts(
    need: &Need,
    parts: &Parts,
    measuring: &Measuring,
) -> (Vec<NamedVolume>, bool) {
    let all = parts.total_thousandths();
    let first = parts.parts().first().map_or(all, |part| u64::from(part.thousandths()));
    let share = ratio_up(need.volume.microlitres(), first, all)
        .and_then(|u| Millilitres::from_microlitres(u).ok())
        .unwrap_or(need.volume);
    let rounded = share.rounded_up_to(measuring.step_for(share));
    let volume = ratio_up(rounded.microlitres(), all, first)
        .and_then(|u| Millilitres::from_microlitres(u).ok())
        .filter(|volume| *volume >= need.volume && *volume <= need.maximum);
    match volume {
        Some(volume) => (parts.divide(volume), false),
        None => (parts.divide(need.volume), true),
    }
}
