//! How much solution a loaded tank needs, and what decided it.

use std::fmt;

use serde::{Deserialize, Serialize};

use crate::units::{Dilution, Millilitres, OutOfRange, RollEquivalents, ratio_up};

use super::{Refusal, defaults};

/// How the tank is moved; each way has volumes of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Upright, turned over by hand: the solution covers the reels.
    Inversion,
    /// On its side, turning: the solution wets the reels as they pass.
    Rotary,
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Inversion => "inversion",
            Self::Rotary => "rotary use",
        })
    }
}

/// The volumes of a tank for one method, from its maker or by filling it with water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "FillFigures", into = "FillFigures")]
pub struct Fill {
    base: Millilitres,
    minimum: Millilitres,
    maximum: Millilitres,
}

/// The figures of a [`Fill`] as they are typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FillFigures {
    /// Taken by the bottom of the tank, below the first reel.
    pub base_ml: Millilitres,
    /// Least volume the tank works with.
    pub min_ml: Millilitres,
    /// Greatest volume that still leaves the air that agitation needs.
    pub max_ml: Millilitres,
}

impl Fill {
    /// From the volume below the first reel, the least, and the greatest that leaves air.
    ///
    /// # Errors
    /// When the greatest is zero, or below one of the others.
    pub fn new(figures: FillFigures) -> Result<Self, OutOfRange> {
        let FillFigures { base_ml: base, min_ml: minimum, max_ml: maximum } = figures;
        let least = base.max(minimum).max(Millilitres::of(1));
        if maximum < least {
            let allowed = format!("at least {least:#}, the tank's own least volume");
            return Err(OutOfRange::new("greatest volume of the tank", maximum, allowed));
        }
        Ok(Self { base, minimum, maximum })
    }

    /// The greatest volume that leaves air.
    #[must_use]
    pub fn maximum(&self) -> Millilitres {
        self.maximum
    }
}

impl TryFrom<FillFigures> for Fill {
    type Error = OutOfRange;

    fn try_from(figures: FillFigures) -> Result<Self, OutOfRange> {
        Self::new(figures)
    }
}

impl From<Fill> for FillFigures {
    fn from(fill: Fill) -> Self {
        Self { base_ml: fill.base, min_ml: fill.minimum, max_ml: fill.maximum }
    }
}

/// A tank's volumes for the methods it is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct TankVolumes {
    /// By inversion, where it can be turned over.
    pub inversion: Option<Fill>,
    /// On its side, where it can.
    pub rotary: Option<Fill>,
}

impl TankVolumes {
    fn fill(&self, method: Method) -> Result<Fill, Refusal> {
        let fill = match method {
            Method::Inversion => self.inversion,
            Method::Rotary => self.rotary,
        };
        fill.ok_or(Refusal::NotForThisMethod(method))
    }
}

/// The volume that covers (or, turning, wets) one reel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReelVolumes {
    /// By inversion.
    pub inversion: Option<Millilitres>,
    /// On its side.
    pub rotary: Option<Millilitres>,
}

impl ReelVolumes {
    fn cover(&self, method: Method) -> Result<Millilitres, Refusal> {
        let cover = match method {
            Method::Inversion => self.inversion,
            Method::Rotary => self.rotary,
        };
        cover.ok_or(Refusal::NotForThisMethod(method))
    }
}

/// Equal reels in a tank and the film on them. Formats may be mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct LoadedReels {
    /// Volumes of one such reel.
    pub reel: ReelVolumes,
    /// How many of them, empty spacer reels included.
    pub reels: u16,
    /// Film on all of them together.
    pub film: RollEquivalents,
}

/// A tank as it is loaded.
#[derive(Debug, Clone, Copy)]
pub struct LoadedTank<'a> {
    /// The tank.
    pub tank: &'a TankVolumes,
    /// What is in it.
    pub reels: &'a [LoadedReels],
    /// How it will be moved.
    pub method: Method,
}

/// A developer as this tank uses it. The minimum per roll comes from the maker's
/// sheet and has no default.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeveloperUse {
    /// 1+n; 1+0 when it is used as it is.
    pub dilution: Dilution,
    /// Least concentrate (or stock) for one roll equivalent.
    pub minimum_per_roll: Millilitres,
}

/// What decided the volume.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Decider {
    /// The reels must be covered.
    ToCover,
    /// The tank works with no less.
    TankMinimum,
    /// The film needs that much concentrate.
    MinimumPerRoll,
}

impl fmt::Display for Decider {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ToCover => "to cover the reels",
            Self::TankMinimum => "the least this tank works with",
            Self::MinimumPerRoll => "for the minimum of concentrate per roll",
        })
    }
}

/// The volume a loaded tank needs, with every figure that was compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Need {
    /// The largest of the three below.
    pub volume: Millilitres,
    /// Which of them it was; the earlier one where they are equal.
    pub decided_by: Decider,
    /// To cover the reels.
    pub to_cover: Millilitres,
    /// The tank's least.
    pub tank_minimum: Millilitres,
    /// (1 + n) × minimum per roll × roll equivalents; zero for other baths.
    pub for_the_rolls: Millilitres,
    /// The most the tank takes and still holds air.
    pub maximum: Millilitres,
}

impl LoadedTank<'_> {
    /// Film in the tank.
    #[must_use]
    pub fn film(&self) -> RollEquivalents {
        self.reels.iter().map(|reels| reels.film).sum()
    }

    /// Developer: the largest of the volume to cover, the tank's least, and
    /// (1 + n) × minimum per roll × roll equivalents.
    ///
    /// # Errors
    /// When the tank is empty, is not made for the method, or cannot take so much.
    pub fn developer(&self, developer: &DeveloperUse) -> Result<Need, Refusal> {
        self.need(for_the_rolls(developer, self.film()))
    }

    /// Any other bath (fixer, stop, wash aid, a shared developer): the larger of the
    /// volume to cover and the tank's least.
    ///
    /// # Errors
    /// As [`LoadedTank::developer`].
    pub fn other_bath(&self) -> Result<Need, Refusal> {
        self.need(Millilitres::ZERO)
    }

    /// A shared bath is taken from its bottle in steps of 5 ml and poured back.
    ///
    /// # Errors
    /// As [`LoadedTank::developer`], and when the bottle holds less.
    pub fn from_bottle(&self, holds: Millilitres) -> Result<Need, Refusal> {
        let need = self.other_bath()?;
        let step = defaults::BATH_STEP.value;
        let volume = need.volume.rounded_up_to(step).min(need.maximum);
        if volume > holds {
            return Err(Refusal::TooLittleInBottle { need: volume, holds });
        }
        Ok(Need { volume, ..need })
    }

    fn need(&self, for_the_rolls: Millilitres) -> Result<Need, Refusal> {
        let fill = self.tank.fill(self.method)?;
        if self.reels.iter().all(|reels| reels.reels == 0) {
            return Err(Refusal::Missing("a loaded reel"));
        }
        let mut to_cover = fill.base;
        for reels in self.reels {
            to_cover = to_cover + reels.reel.cover(self.method)?.times(u32::from(reels.reels));
        }
        let need = largest(to_cover, fill.minimum, for_the_rolls, fill.maximum);
        if need.volume > need.maximum {
            let Need { volume: need, decided_by, maximum, .. } = need;
            return Err(Refusal::TooMuchForTank { need, decided_by, maximum });
        }
        Ok(need)
    }
}

fn for_the_rolls(developer: &DeveloperUse, film: RollEquivalents) -> Millilitres {
    let per_roll = ratio_up(
        developer.minimum_per_roll.microlitres(),
        developer.dilution.total_thousandths(),
        1000,
    );
    let units = per_roll.and_then(|units| ratio_up(units, film.millionths(), 1_000_000));
    units.and_then(|u| Millilitres::from_microlitres(u).ok()).unwrap_or(Millilitres::GREATEST)
}

fn largest(
    to_cover: Millilitres,
    tank_minimum: Millilitres,
    for_the_rolls: Millilitres,
    maximum: Millilitres,
) -> Need {
    let mut need = Need {
        volume: to_cover,
        decided_by: Decider::ToCover,
        to_cover,
        tank_minimum,
        for_the_rolls,
        maximum,
    };
    for (volume, decided_by) in
        [(tank_minimum, Decider::TankMinimum), (for_the_rolls, Decider::MinimumPerRoll)]
    {
        if volume > need.volume {
            need = Need { volume, decided_by, ..need };
        }
    }
    need
}
