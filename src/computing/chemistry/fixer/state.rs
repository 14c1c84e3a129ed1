//! The state of a bath of fixer: the worst of capacity, age and clearing test.

use std::fmt;

use serde::Serialize;

use crate::chemistry::standing::standing;
use crate::chemistry::{CapacityUse, Standing, Warning, defaults};
use crate::units::{Days, Millilitres, RollEquivalents};

use super::{FixerBath, FixerEvent};

/// What a bath was judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Judge {
    /// Film that went through it.
    Capacity,
    /// Days since it was mixed.
    Age,
    /// The clearing test.
    ClipTest,
}

impl fmt::Display for Judge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Capacity => "capacity",
            Self::Age => "age",
            Self::ClipTest => "clearing test",
        })
    }
}

/// The state of a bath, with all that was compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FixerState {
    /// The worst of the three.
    pub standing: Standing,
    /// What made it so: every judge that says the worst, none where all is good.
    pub because: Vec<Judge>,
    /// By film.
    pub capacity: CapacityUse,
    /// By age.
    pub by_age: Standing,
    /// By the worst test in the ledger; none where it was never tested.
    pub by_test: Option<Standing>,
    /// What is left in the bottle: the mixed volume less what was carried out.
    pub volume_left: Millilitres,
}

impl FixerBath {
    /// Judges the bath. Capacity counts the volume as mixed: what is carried out takes
    /// its load with it. A test that failed stands until the bath is replaced: a
    /// clearing time only grows.
    #[must_use]
    pub fn state(&self) -> FixerState {
        let near = defaults::NEAR_LIMIT.value;
        let load: RollEquivalents = self.uses().map(super::FixerUse::load).sum();
        let capacity = CapacityUse::new(self.capacity.of_volume(self.mixed), load, near);
        let by_age = standing(self.age.real(), defaults::FIXER_LIFE.value.real(), near);
        let by_test = self.tests().map(super::ClipTest::standing).max();
        let carried_out: Millilitres = self.uses().map(|one| one.carried_out).sum();
        let judged = [
            (Judge::Capacity, capacity.standing),
            (Judge::Age, by_age),
            (Judge::ClipTest, by_test.unwrap_or_default()),
        ];
        let worst = judged.iter().map(|(_, standing)| *standing).max().unwrap_or_default();
        let because = judged.iter().filter(|(_, s)| *s == worst && *s != Standing::Good);
        FixerState {
            standing: worst,
            because: because.map(|(judge, _)| *judge).collect(),
            capacity,
            by_age,
            by_test,
            volume_left: self.mixed.less(carried_out),
        }
    }

    /// The places in the ledger of every use since the last good test, when a later
    /// test failed: those films must be looked at again. Empty while no test failed.
    #[must_use]
    pub fn unproven_uses(&self) -> Vec<usize> {
        let mut since_good = Vec::new();
        let mut unproven = Vec::new();
        for (place, event) in self.events.iter().enumerate() {
            match event {
                FixerEvent::Use(_) => since_good.push(place),
                FixerEvent::Test(test) if test.standing() == Standing::Spent => {
                    unproven.append(&mut since_good);
                }
                FixerEvent::Test(_) => since_good.clear(),
            }
        }
        let failed = self.tests().any(|test| test.standing() == Standing::Spent);
        if failed {
            unproven.append(&mut since_good);
        }
        unproven
    }
}

impl FixerState {
    /// A warning when the bottle no longer fills a tank.
    #[must_use]
    pub fn fills(&self, needs: Millilitres) -> Option<Warning> {
        let holds = self.volume_left;
        (holds < needs).then_some(Warning::BottleLow { holds, needs })
    }

    /// A warning when so much more film would pass the capacity.
    #[must_use]
    pub fn takes(&self, load: RollEquivalents) -> Option<Warning> {
        let all = self.capacity.load + load;
        let left = crate::units::RollBalance::left_of(self.capacity.capacity, all);
        (left.rolls() < 0.0).then_some(Warning::BeyondCapacity(left))
    }

    /// How many whole days the rest lasts at so much film a day; none where no film
    /// comes, or beyond a hundred years.
    #[must_use]
    pub fn lasts(&self, film_per_day: RollEquivalents) -> Option<Days> {
        let left = self.capacity.remaining.available().millionths();
        let days = left.checked_div(film_per_day.millionths())?;
        Days::new(u32::try_from(days).ok()?).ok()
    }
}
