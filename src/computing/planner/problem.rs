//! The day in the form the search works on: whole numbers, families, and what a run may hold.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use super::{
    clock::Seconds,
    day::Day,
    developer_price::Prices,
    developer_volume::{Asked, Poured, poured},
    developing_time::{allowed, common},
};

/// What rolls together ask of a tank; grows roll by roll.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Load {
    pub(super) least: Seconds,
    pub(super) most: Seconds,
    pub(super) shortest: Seconds,
    pub(super) longest: Seconds,
    pub(super) height: i128,
    pub(super) reels: i64,
    pub(super) rolls: i64,
    pub(super) alone: bool,
    pub(super) asked: Asked,
    pub(super) owners: Vec<usize>,
}

impl Load {
    pub(super) fn empty() -> Self {
        Self {
            least: 0,
            most: Seconds::MAX,
            shortest: Seconds::MAX,
            longest: 0,
            height: 0,
            reels: 0,
            rolls: 0,
            alone: false,
            asked: Asked::default(),
            owners: Vec::new(),
        }
    }
}

/// One roll as the search sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Item {
    pub(super) family: usize,
    pub(super) least: Seconds,
    pub(super) most: Seconds,
    pub(super) time: Seconds,
    pub(super) height: i128,
    pub(super) reel: usize,
    pub(super) reels: i64,
    pub(super) cover: i128,
    pub(super) equivalents: i128,
    pub(super) owner: usize,
    pub(super) alone: bool,
    pub(super) loading: Seconds,
    /// In 10^-12 of a roll's worth.
    pub(super) fixer: i128,
    pub(super) weight: i64,
    pub(super) ready: Seconds,
    pub(super) due: Seconds,
    /// The tank it is already loaded in.
    pub(super) preloaded: Option<usize>,
}

/// Rolls that share developer, temperature, agitation and pre-soak.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Family {
    pub(super) developer: usize,
    pub(super) pre_soak: Seconds,
    pub(super) rolls: Vec<usize>,
}

/// The day compiled.
pub(super) struct Problem<'d> {
    pub(super) day: &'d Day,
    pub(super) items: Vec<Item>,
    pub(super) families: Vec<Family>,
    pub(super) prices: Prices,
}

impl<'d> Problem<'d> {
    pub(super) fn new(day: &'d Day) -> Self {
        let mut families: Vec<Family> = Vec::new();
        let mut seen = std::collections::BTreeMap::new();
        let mut owners = std::collections::BTreeMap::new();
        let mut items = Vec::with_capacity(day.rolls.len());
        for (at, roll) in day.rolls.iter().enumerate() {
            let key =
                (roll.developer, roll.temperature_c, roll.agitation.as_str(), roll.pre_soak_s);
            let family = *seen.entry(key).or_insert_with(|| {
                families.push(Family {
                    developer: roll.developer,
                    pre_soak: roll.pre_soak_s,
                    rolls: Vec::new(),
                });
                families.len() - 1
            });
            families[family].rolls.push(at);
            let next = owners.len();
            let owner = *owners.entry(roll.owner.as_str()).or_insert(next);
            items.push(item(day, at, family, owner));
        }
        for (tank, place) in day.tanks.iter().zip(0..) {
            tank.preloaded.iter().for_each(|roll| items[*roll].preloaded = Some(place));
        }
        Self { day, items, families, prices: Prices::new(day) }
    }

    /// The load of these rolls, or nothing where they cannot share a run in any tank.
    pub(super) fn load(&self, rolls: &[usize]) -> Option<Load> {
        rolls.iter().try_fold(Load::empty(), |load, roll| self.joined(&load, *roll))
    }

    /// The load with one more roll, by rules 2 and 3 without the tank's measures.
    pub(super) fn joined(&self, load: &Load, roll: usize) -> Option<Load> {
        let (item, rules) = (&self.items[roll], &self.day.rules);
        let mut joined = load.clone();
        joined.least = load.least.max(item.least);
        joined.most = load.most.min(item.most);
        joined.shortest = load.shortest.min(item.time);
        joined.longest = load.longest.max(item.time);
        joined.height += item.height;
        joined.reels += item.reels;
        joined.rolls += 1;
        joined.alone |= item.alone;
        joined.asked.cover += item.cover;
        joined.asked.equivalents += item.equivalents;
        if !joined.owners.contains(&item.owner) {
            joined.owners.push(item.owner);
        }
        let owners = joined.owners.len() as i64;
        let allowed = joined.least <= joined.most
            && (!joined.alone || joined.rolls == 1)
            && rules.max_rolls_per_run.is_none_or(|most| joined.rolls <= most)
            && rules.max_owners_per_run.is_none_or(|most| owners <= most);
        allowed.then_some(joined)
    }

    /// The developer of a load in a tank, or nothing where rules 3 to 5 forbid it.
    pub(super) fn poured(&self, family: usize, load: &Load, tank: usize) -> Option<Poured> {
        let (tank, developer) =
            (&self.day.tanks[tank], &self.day.developers[self.families[family].developer]);
        let fixer = tank.base_ml.wide() + load.asked.cover;
        let fits = load.height <= tank.stack_mm.wide()
            && load.reels <= tank.max_reels
            && self.day.fixer.is_none_or(|bottle| fixer <= bottle.volume_ml.wide());
        if !fits {
            return None;
        }
        poured(developer, tank, &self.day.rules.measuring, load.asked)
    }

    /// The tank in which a load costs least, with that cost; preloaded tanks only for themselves.
    pub(super) fn cheapest(&self, family: usize, load: &Load) -> Option<(i128, usize)> {
        (0..self.day.tanks.len())
            .filter_map(|tank| {
                let poured = self.poured(family, load, tank)?;
                Some((self.cost(self.families[family].developer, poured.fine_ml), tank))
            })
            .min()
    }

    /// What so much developer costs, in the day's own exact unit.
    pub(super) fn cost(&self, developer: usize, fine_ml: i128) -> i128 {
        self.prices.cost(developer, fine_ml)
    }

    pub(super) fn time(&self, load: &Load) -> Seconds {
        common((load.shortest, load.longest), (load.least, load.most), self.day.rules.time_step_s)
    }
}

fn item(day: &Day, at: usize, family: usize, owner: usize) -> Item {
    let roll = &day.rolls[at];
    let reel = &day.reels[roll.reel];
    let (least, most) = allowed(roll);
    let count = i128::from(roll.reels);
    Item {
        family,
        least,
        most,
        time: roll.time_s,
        height: reel.height_mm.wide() * count,
        reel: roll.reel,
        reels: roll.reels,
        cover: reel.cover_ml.wide() * count,
        equivalents: roll.roll_equivalents.wide(),
        owner,
        alone: roll.alone,
        loading: reel.loading_s * roll.reels,
        fixer: roll.roll_equivalents.wide() * roll.fixer_factor.wide(),
        weight: roll.weight,
        ready: roll.ready.unwrap_or(0),
        due: roll.due.unwrap_or(Seconds::MAX),
        preloaded: None,
    }
}
