//! What stands at the wet bench: tanks, reels, the taps, the labels of the baths.

use std::collections::{BTreeMap, BTreeSet};

use crate::baths;
use crate::chemistry::{hot_and_cold, wetting_bath};
use crate::clock::Moment;
use crate::data_sheets;
use crate::day::Run;
use crate::day::figures::Figures;
use crate::db::Conn;
use crate::error::Error;
use crate::hazards::Sheet;
use crate::rolls::Format;
use crate::shelf::{self, Stock};
use crate::sinks::{self, ReelKind, Tank};
use crate::units::{Celsius, Dilution, Millilitres};
use crate::waste::{self, Waste};
use crate::web::thousandths;

/// What of the room a sheet needs to know.
#[derive(Clone, Debug)]
pub(in crate::day) struct Bench {
    labels: BTreeMap<i64, String>,
    hazards: BTreeMap<i64, String>,
    bath_hazards: BTreeMap<String, String>,
    tanks: Vec<Tank>,
    reels: Vec<ReelKind>,
    figures: Figures,
}

fn units(volume: Millilitres) -> i64 {
    i64::try_from(volume.microlitres()).unwrap_or(i64::MAX)
}

fn of(ul: i64) -> Option<Millilitres> {
    Millilitres::from_microlitres(u64::try_from(ul).ok()?).ok()
}

impl Bench {
    /// Reads it for these runs.
    ///
    /// # Errors
    /// As the database's.
    pub(in crate::day) fn load(conn: &mut Conn, runs: &[Run]) -> Result<Bench, Error> {
        let mut labels = BTreeMap::new();
        let of = |r: &Run| [r.developer_bath, r.fixer_id, r.steps.second_fixer];
        let ids: BTreeSet<i64> = runs.iter().flat_map(of).flatten().collect();
        let mut bath_hazards = BTreeMap::new();
        for id in ids {
            let bath = baths::one(conn, id)?;
            let sheet = match bath.product_id {
                Some(product) => data_sheets::of_product(conn, product)?.told_both(),
                None => String::new(),
            };
            bath_hazards.insert(bath.label.clone(), sheet);
            labels.insert(id, bath.of.label);
        }
        Ok(Bench {
            labels,
            bath_hazards,
            hazards: hazard_lines(conn, runs)?,
            tanks: sinks::tanks(conn)?,
            reels: sinks::reel_kinds(conn)?,
            figures: crate::day::facts::figures(conn)?,
        })
    }

    /// What a bath's label says.
    pub(in crate::day) fn label(&self, bath: i64) -> Option<String> {
        self.labels.get(&bath).cloned()
    }

    /// The labels of all baths of the day.
    pub(in crate::day) fn labels(&self) -> &BTreeMap<i64, String> {
        &self.labels
    }

    /// What the data sheet of a run's developer says, in words.
    pub(in crate::day) fn hazards(&self, run: &Run) -> String {
        self.hazards.get(&run.developer_id).cloned().unwrap_or_default()
    }

    /// What the data sheets of the day's shared baths say, by their labels.
    pub(super) fn bath_hazards(&self) -> &BTreeMap<String, String> {
        &self.bath_hazards
    }

    /// Height above the loaded reels of a run that empty reels or a clip must fill, in millimetres.
    pub(super) fn room_above(&self, run: &Run) -> Option<i64> {
        let tank = self.tanks.iter().find(|t| t.id == run.tank_id && !run.steps.own_tank)?;
        let mut used = 0;
        for roll in &run.rolls {
            let format = Format::named(&roll.format)?;
            used += crate::day::facts::reel_for(&self.reels, format.reel)?.1;
        }
        Some(tank.stack_mm - used).filter(|mm| *mm > 0)
    }

    /// What covers the reels of a run: the volume of every bath but the developer.
    pub(in crate::day) fn fill_ul(&self, run: &Run) -> Option<i64> {
        if run.steps.own_tank {
            return Some(run.concentrate_ul + run.water_ul);
        }
        let tank = self.tanks.iter().find(|t| t.id == run.tank_id)?;
        let mut ml = tank.base_ml;
        for roll in &run.rolls {
            let format = Format::named(&roll.format)?;
            ml += crate::day::facts::reel_for(&self.reels, format.reel)?.2;
        }
        Some(ml.max(tank.min_ml) * 1000)
    }

    /// Hot and cold tap water that make a run's water at its temperature, in microlitres.
    pub(in crate::day) fn hot_and_cold(&self, run: &Run) -> Option<(i64, i64)> {
        let celsius = |tenths: i64| Celsius::new(thousandths(tenths * 100)).ok();
        let (hot, cold) = (celsius(self.figures.hot_tenths)?, celsius(self.figures.cold_tenths)?);
        let wanted = Celsius::new(thousandths(run.temperature_mc)).ok()?;
        // To whole millilitres: no tap is read more finely, and the thermometer decides.
        let whole = of((run.water_ul + 500) / 1000 * 1000)?;
        let found = hot_and_cold(whole, hot, cold, wanted).ok()?;
        let hot_ul = (units(found.hot) + 500) / 1000 * 1000;
        Some((hot_ul, (units(whole) - hot_ul).max(0)))
    }

    /// The two taps in words.
    pub(super) fn taps(&self) -> String {
        let tenths = |n: i64| format!("{}.{} °C", n / 10, n % 10);
        format!(
            "hot tap {}, cold tap {}",
            tenths(self.figures.hot_tenths),
            tenths(self.figures.cold_tenths)
        )
    }

    /// Wetting agent and water for a run, in microlitres, once its dilution was typed.
    pub(in crate::day) fn wetting(&self, run: &Run) -> Option<(i64, i64)> {
        let parts = u16::try_from(self.figures.wetting_parts).ok().filter(|n| *n > 0)?;
        let bath = wetting_bath(of(self.fill_ul(run)?)?, Dilution::one_plus(parts));
        Some((units(bath.split.concentrate), units(bath.split.water)))
    }
}

/// What the data sheet of each developer of these runs says, by developer.
fn hazard_lines(conn: &mut Conn, runs: &[Run]) -> Result<BTreeMap<i64, String>, Error> {
    let sheets = data_sheets::of_developers(conn)?;
    let told = |id| sheets.get(&id).map(Sheet::told_both).unwrap_or_default();
    Ok(runs.iter().map(|run| (run.developer_id, told(run.developer_id))).collect())
}

/// What the shelf is short of for everything published, a sentence each.
///
/// # Errors
/// As the database's.
pub(in crate::day) fn shortfalls(conn: &mut Conn, now: Moment) -> Result<Vec<String>, Error> {
    let short = |stock: &Stock| {
        let lacks = stock.planned - stock.usable;
        (lacks > 0).then(|| {
            format!(
                "{}: {} ml short of what the published runs draw. Open or buy a new bottle, or mix \
                 stock.",
                stock.product.of.name,
                super::ml(lacks)
            )
        })
    };
    Ok(shelf::stock(conn, now)?.iter().filter_map(short).collect())
}

/// What may be done with each kind of waste, by its word: the local rule a lead typed, or
/// "collect, do not pour".
///
/// # Errors
/// As the database's.
pub(in crate::day) fn disposal(conn: &mut Conn) -> Result<BTreeMap<&'static str, String>, Error> {
    let mut lines = BTreeMap::new();
    for (kind, word, _) in Waste::ALL {
        lines.insert(word, waste::disposal_of(conn, kind)?);
    }
    Ok(lines)
}
