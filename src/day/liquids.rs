//! The liquids a day shares: its fixer, in one bath or two, and developer that is poured back.

use std::collections::BTreeMap;

use super::store;
use crate::baths::{self, Bath, Kind, Material, Place, State, Way};
use crate::clock::Moment;
use crate::db::Conn;
use crate::error::Error;
use crate::recipes::{self, Developer, Handling};
use crate::shelf;

/// The fixer of the day.
#[derive(Clone, Debug)]
pub(super) struct Fixer {
    pub(super) id: i64,
    pub(super) volume_ul: i64,
    /// What it can still take beyond what is promised to published runs, in thousandths.
    pub(super) left_milli: i64,
    /// How long film stays in it, in both baths together, in seconds.
    pub(super) fix_s: i64,
    /// The second bath and how long film stays in it, where there are two.
    pub(super) second: Option<(i64, i64)>,
}

/// The fixer that can take the most, and its second bath.
///
/// # Errors
/// A refusal when none is fit for use.
pub(super) fn fixer(conn: &mut Conn, now: Moment) -> Result<Fixer, Error> {
    fixer_like(conn, now, None)
}

/// This fixer, if it is fit for use, or else the one that can take the most; and its second bath.
///
/// # Errors
/// A refusal when none is fit for use.
pub(super) fn fixer_like(conn: &mut Conn, now: Moment, this: Option<i64>) -> Result<Fixer, Error> {
    let all = baths::on_the_shelf(conn, now)?;
    let (bath, state) = all
        .iter()
        .filter(|(bath, state)| bath.takes_film_first() && state.is_usable())
        .max_by_key(|(bath, state)| (Some(bath.id) == this, state.remaining_milli))
        .ok_or_else(|| {
            Error::refused("no-fixer", "There is no fixer fit for use. Mix one under Baths first.")
        })?;
    let is_second = |(b, s): &&(Bath, State)| {
        b.is_fixer() && b.material == Material::Film && b.place == Place::Second && s.is_usable()
    };
    let second = all
        .iter()
        .find(is_second)
        .filter(|_| bath.place == Place::First)
        // Equal times in both that add up to the fixing time (NAVEDTRA 14209, web p. 249).
        .map(|(b, _)| (b.id, (state.fix_s + 1) / 2));
    Ok(Fixer {
        id: bath.id,
        volume_ul: bath.volume_ul,
        left_milli: state.remaining_milli - store::promised(conn, bath.id)?,
        fix_s: second.map_or(state.fix_s, |(_, half)| 2 * half),
        second,
    })
}

/// Developer that is poured back into its bottle after each run.
#[derive(Clone, Debug)]
pub(super) struct SharedDeveloper {
    pub(super) bath_id: i64,
    pub(super) label: String,
    pub(super) volume_ul: i64,
    /// What it can still take beyond what is promised, in thousandths of a roll's worth.
    pub(super) left_milli: i64,
    /// What it has taken and promised, in thousandths of a roll's worth.
    pub(super) used_milli: i64,
    /// So many thousandths more time for each whole so many thousandths of a roll's worth.
    pub(super) growth: Option<(i64, i64)>,
    /// Whether its bottle is kept up by replenishing, which keeps its times as they are.
    pub(super) replenished: bool,
    /// Replenisher for one roll's worth, in microlitres.
    pub(super) replenish_ul: i64,
}

impl SharedDeveloper {
    /// A fresh developer's time after so much more film, with the line that says so.
    pub(super) fn grown(&self, time_s: i64, more_milli: i64) -> (i64, Option<String>) {
        let used = self.used_milli + more_milli;
        if self.replenished {
            return (time_s, None);
        }
        let Some((permille, every)) = self.growth else {
            let line = format!(
                "{} is used again, and nobody has typed how its time grows: this is the time of a \
                 fresh bath. Read the maker's sheet.",
                self.label
            );
            return (time_s, (used > 0).then_some(line));
        };
        let more = used.max(0) / every.max(1) * permille;
        if more == 0 {
            return (time_s, None);
        }
        let grown = (time_s * (1000 + more) + 500) / 1000;
        let line = format!(
            "{} has taken {} rolls' worth before this run: {} % more time, {} instead of {} min",
            self.label,
            tenths(used),
            tenths(more * 100),
            super::sheet::minutes(grown),
            super::sheet::minutes(time_s)
        );
        (grown, Some(line))
    }
}

/// Thousandths as a number with a tenth: `8.0`.
fn tenths(milli: i64) -> String {
    let tenths = (milli + 50) / 100;
    format!("{}.{}", tenths / 10, tenths % 10)
}

/// The working bottle of each developer on the chart that is poured back, by that developer.
///
/// # Errors
/// As the database's.
pub(super) fn developers(
    conn: &mut Conn,
    now: Moment,
) -> Result<BTreeMap<i64, SharedDeveloper>, Error> {
    let chart = recipes::developers(conn)?;
    let mut found: BTreeMap<i64, SharedDeveloper> = BTreeMap::new();
    for (bath, state) in baths::on_the_shelf(conn, now)? {
        let Some(handling) = handling_of(&bath).filter(|_| state.is_usable()) else { continue };
        let Some(product) = bath.product_id else { continue };
        let made_as = shelf::product(conn, product)?.of.developer_id;
        let own = chart.iter().find(|d| Some(d.id) == made_as);
        let Some(own) = own else { continue };
        let promised = store::promised_developer(conn, bath.id)?;
        let is_it = |d: &&Developer| {
            let one_bottle = !own.product.is_empty() && d.product == own.product;
            d.handling() == handling && (d.id == own.id || one_bottle)
        };
        for developer in chart.iter().filter(is_it) {
            let shared = shared(&bath, &state, promised);
            let better = found.get(&developer.id).is_none_or(|f| f.left_milli < shared.left_milli);
            if better {
                found.insert(developer.id, shared);
            }
        }
    }
    Ok(found)
}

fn handling_of(bath: &Bath) -> Option<Handling> {
    let working = bath.kind == Kind::Developer
        && bath.material == Material::Film
        && bath.place == Place::Working;
    match bath.way {
        Way::ReUsed if working => Some(Handling::UsedAgain),
        Way::Replenished if working => Some(Handling::Replenished),
        _ => None,
    }
}

fn shared(bath: &Bath, state: &State, promised: i64) -> SharedDeveloper {
    SharedDeveloper {
        bath_id: bath.id,
        label: bath.label.clone(),
        volume_ul: state.left_ul,
        left_milli: state.remaining_milli - promised,
        used_milli: state.used_milli + promised,
        growth: bath.growth.map(|g| (g.permille, g.every_milli)),
        replenished: bath.way == Way::Replenished,
        replenish_ul: bath.replenish_ul.unwrap_or(0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_developer_used_again_needs_more_time_for_each_whole_step() {
        let bottle = SharedDeveloper {
            bath_id: 1,
            label: "D-1".to_owned(),
            volume_ul: 2_000_000,
            left_milli: 8000,
            used_milli: 3000,
            growth: Some((100, 4000)),
            replenished: false,
            replenish_ul: 0,
        };
        // 10 % of the first time more for each whole four rolls' worth (the studio's own figure).
        assert_eq!(bottle.grown(480, 0), (480, None));
        let (time, line) = bottle.grown(480, 1000);
        assert_eq!(time, 528);
        assert!(line.unwrap().contains("10.0 % more time, 8:48 instead of 8:00"));
        assert_eq!(bottle.grown(480, 5000).0, 576);
        let kept_up = SharedDeveloper { replenished: true, ..bottle.clone() };
        assert_eq!(kept_up.grown(480, 9000), (480, None));
        let untold = SharedDeveloper { growth: None, ..bottle };
        assert!(untold.grown(480, 0).1.unwrap().contains("nobody has typed"));
    }
}
