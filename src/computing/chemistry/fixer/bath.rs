//! A bath of fixer and everything that happened to it, in order.

use serde::{Deserialize, Serialize};

use crate::chemistry::defaults;
use crate::units::{Days, Factor, Millilitres, RollEquivalents};

use super::{ClipTest, FixerCapacity};

/// Where a bath stood when film went through it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Alone, or as the first of two.
    #[default]
    First,
    /// As the second of two: most of the load stays in the first.
    Second,
}

/// Film that went through a bath.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FixerUse {
    /// How much film.
    pub film: RollEquivalents,
    /// How much each roll counts: 1, and for tabular-grain film 1.5 (cautious 2).
    pub factor: Factor,
    /// Where the bath stood.
    pub place: Place,
    /// Liquid carried out with the film.
    pub carried_out: Millilitres,
}

impl FixerUse {
    /// Film of ordinary grain in a bath in the first place, with the usual carry-over
    /// of 15 ml a roll (common practice, no source).
    #[must_use]
    pub fn of(film: RollEquivalents) -> Self {
        let carried_out = carry_over(film, defaults::CARRY_OVER.value);
        Self { film, factor: Factor::ONE, place: Place::First, carried_out }
    }

    /// The load on the bath: film × factor, of which a tenth in the second place
    /// (common practice, no source).
    #[must_use]
    pub fn load(&self) -> RollEquivalents {
        let load = self.film.weighed(self.factor);
        match self.place {
            Place::First => load,
            Place::Second => {
                let share = u64::from(defaults::SECOND_BATH_SHARE.value.thousandths());
                let part = crate::units::ratio_up(load.millionths(), share, 100_000);
                RollEquivalents::from_millionths(part.unwrap_or(u64::MAX))
            }
        }
    }
}

/// Liquid that film carries out of a bath, rounded up.
#[must_use]
pub fn carry_over(film: RollEquivalents, per_roll: Millilitres) -> Millilitres {
    crate::units::ratio_up(film.millionths(), per_roll.microlitres(), 1_000_000)
        .and_then(|units| Millilitres::from_microlitres(units).ok())
        .unwrap_or(Millilitres::GREATEST)
}

/// One line of a bath's ledger.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FixerEvent {
    /// Film went through it.
    Use(FixerUse),
    /// A clearing test was made.
    Test(ClipTest),
}

/// A mixed bath: its volume, its age and its ledger. One body of liquid, that keeps
/// its history wherever it stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FixerBath {
    /// The name on its label.
    pub label: String,
    /// Volume when it was mixed.
    pub mixed: Millilitres,
    /// How its capacity is counted.
    pub capacity: FixerCapacity,
    /// Days since it was mixed.
    pub age: Days,
    /// Its ledger, oldest first.
    pub events: Vec<FixerEvent>,
}

impl FixerBath {
    /// The uses in its ledger.
    pub fn uses(&self) -> impl Iterator<Item = &FixerUse> {
        self.events.iter().filter_map(|event| match event {
            FixerEvent::Use(one) => Some(one),
            FixerEvent::Test(_) => None,
        })
    }

    /// The tests in its ledger.
    pub fn tests(&self) -> impl Iterator<Item = &ClipTest> {
        self.events.iter().filter_map(|event| match event {
            FixerEvent::Test(test) => Some(test),
            FixerEvent::Use(_) => None,
        })
    }
}
