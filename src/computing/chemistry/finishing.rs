//! Wetting agent and drying.

use serde::{Deserialize, Serialize};

use crate::units::{Dilution, Millilitres, Seconds};

use super::{Caution, Setting, Split, defaults, split};

/// The bath of wetting agent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WettingBath {
    /// Wetting agent and water.
    pub split: Split,
    /// How long (fact DRY-4, Army SS0509 web p. Ss050980024: 1 min).
    pub time: Setting<Seconds>,
    /// What to mind.
    pub caution: Caution,
}

/// The bath of wetting agent for a volume, at the dilution on its bottle: there is no
/// default.
#[must_use]
pub fn wetting_bath(volume: Millilitres, dilution: Dilution) -> WettingBath {
    WettingBath {
        split: split(volume, dilution),
        time: defaults::WETTING,
        caution: Caution::WettingFoulsReels,
    }
}

/// Where film dries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DryingPlace {
    /// Hanging in still air.
    StillAir,
    /// In a cabinet with a fan.
    FanCabinet,
}

/// How long film dries: 2 h in still air (fact DRY-1, *Handicraft*, 1 h doubled), 30 min
/// in a fan cabinet (DRY-3, *Portrait* magazine extract).
#[must_use]
pub fn drying_time(place: DryingPlace) -> Setting<Seconds> {
    match place {
        DryingPlace::StillAir => defaults::DRYING_STILL,
        DryingPlace::FanCabinet => defaults::DRYING_FAN,
    }
}
