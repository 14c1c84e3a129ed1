//! Film goes through a bath. What has happened is always recorded, even over the limit.

use serde::{Deserialize, Serialize};

use super::rules::{Bath, Entry, EntryKind, Kind, Material, Place, Way};
use super::{State, reach_store, runs, store, watch};
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::rolls;
use crate::shelf::{self, Settings};

/// A use of a bath as a load, in thousandths of a roll's worth.
#[derive(Clone, Debug)]
pub struct Use {
    /// Which bath.
    pub bath: i64,
    /// The load: film times its factor, in thousandths of a roll equivalent.
    pub milli: i64,
    /// The run that used it, if it was one.
    pub run: Option<i64>,
    /// Anything to remember.
    pub note: String,
}

/// Film that somebody put through a bath by hand.
#[derive(Clone, Debug)]
pub struct Films {
    /// Which bath.
    pub bath: i64,
    /// The film, in thousandths of a roll equivalent.
    pub film_milli: i64,
    /// Whether it is tabular-grain film, which loads a fixer more.
    pub tabular: bool,
    /// What it was, such as `3 of 135-36`.
    pub note: String,
}

/// What a use left the bath at.
#[derive(Clone, Debug)]
pub struct Used {
    /// The bath's state after it.
    pub state: State,
    /// The bath could not take it: these films are to be fixed again, in fresh fixer.
    pub re_fix: bool,
}

/// Records a use. What has happened is always recorded, even over the limit; a run counts once
/// however often it is told. Leads are written to in the same transaction, once for each cause, and
/// the rolls of a run that the bath could not take are marked to be fixed again.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath.
pub fn record_use(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    wish: &Use,
) -> Result<Used, Error> {
    let bath = store::one(tx, wish.bath)?;
    if let Some(run) = wish.run
        && store::has_run(tx, bath.id, run)?
    {
        return Ok(Used { state: super::state(tx, now, &bath)?, re_fix: false });
    }
    let film_milli = match wish.run {
        Some(run) => runs::film_of(tx, run)?.unwrap_or(wish.milli).min(wish.milli),
        None => wish.milli,
    };
    let amount = Amount { film_milli, load_milli: wish.milli };
    let used = put_through(tx, (now, by), &bath, &amount, wish)?;
    if let Some(run) = wish.run.filter(|_| bath.takes_film_first()) {
        runs::on_the_way(tx, (now, by), (run, &wish.note))?;
    }
    Ok(used)
}

/// Records film that somebody put through by hand, weighed by the figures of the studio.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath.
pub fn record_films(
    tx: &mut Tx<'_>,
    now: Moment,
    by: Option<i64>,
    films: &Films,
) -> Result<Used, Error> {
    let bath = store::one(tx, films.bath)?;
    let load_milli = load(&bath, films, &shelf::settings(tx)?);
    let wish = Use { bath: bath.id, milli: load_milli, run: None, note: films.note.clone() };
    let amount = Amount { film_milli: films.film_milli, load_milli };
    put_through(tx, (now, by), &bath, &amount, &wish)
}

/// Writes down what happened to a bath long ago, as from a paper ledger: nobody is written to.
///
/// # Errors
/// [`Error::NotFound`] where there is no such bath.
pub fn remember(tx: &mut Tx<'_>, bath: i64, entry: &Entry) -> Result<(), Error> {
    store::one(tx, bath)?;
    store::add(tx, bath, entry)
}

/// What so much film loads a bath with: tabular-grain film counts more in a fixer.
#[must_use]
pub(super) fn load(bath: &Bath, films: &Films, settings: &Settings) -> i64 {
    if films.tabular && bath.kind == Kind::Fixer && bath.material == Material::Film {
        films.film_milli.saturating_mul(settings.tabular_percent) / 100
    } else {
        films.film_milli
    }
}

/// The film itself, and what it loads a bath with.
struct Amount {
    film_milli: i64,
    load_milli: i64,
}

fn put_through(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    bath: &Bath,
    amount: &Amount,
    wish: &Use,
) -> Result<Used, Error> {
    let settings = shelf::settings(tx)?;
    let before = super::state(tx, now, bath)?;
    let entry = Entry {
        by,
        milli: amount.load_milli,
        film_milli: amount.film_milli,
        volume_ul: -carried_out(amount.film_milli, settings.carry_over_ul),
        run: wish.run,
        note: wish.note.clone(),
        ..Entry::of(EntryKind::Use, now)
    };
    store::add(tx, bath.id, &entry)?;
    let state = watch::tell(tx, now, bath)?;
    if bath.place == Place::First {
        second_takes_its_share(tx, &entry, bath, &settings)?;
    }
    let re_fix = bath.is_fixer() && (!before.is_usable() || state.remaining_milli < 0);
    if re_fix && let Some(run) = wish.run {
        mark_to_be_fixed_again(tx, (now, by), bath, run)?;
    }
    Ok(Used { state, re_fix })
}

/// Liquid that film carries out, in microlitres, rounded up.
pub(super) fn carried_out(film_milli: i64, per_roll_ul: i64) -> i64 {
    (film_milli.saturating_mul(per_roll_ul).saturating_add(999)).div_euclid(1000)
}

/// Film that went through the first of two baths went through the second as well. What it carries
/// out of the second it has carried in from the first, so that one's volume stays.
fn second_takes_its_share(
    tx: &mut Tx<'_>,
    first: &Entry,
    bath: &Bath,
    settings: &Settings,
) -> Result<(), Error> {
    let second = super::mixing::standing_at(tx, bath.kind, bath.material, Place::Second)?;
    let Some(second) = second else { return Ok(()) };
    let share = |n: i64| (n.saturating_mul(settings.second_bath_percent) + 99) / 100;
    let entry = Entry {
        milli: share(first.milli),
        film_milli: share(first.film_milli),
        volume_ul: 0,
        ..first.clone()
    };
    store::add(tx, second.id, &entry)?;
    watch::tell(tx, first.at, &second)?;
    Ok(())
}

/// Marks the rolls of a run that its fixer could not take.
fn mark_to_be_fixed_again(
    tx: &mut Tx<'_>,
    (now, by): (Moment, Option<i64>),
    bath: &Bath,
    run: i64,
) -> Result<(), Error> {
    let note = format!("{} could not take it. Fix again in fresh fixer.", bath.label);
    for film in reach_store::films_of(tx, &[run])? {
        match rolls::set_state(tx, now, (film.roll, by), rolls::State::ReFix, &note) {
            // A roll that is somewhere it cannot be fixed again from stays where it is.
            Ok(()) | Err(Error::Refused { .. }) => {}
            Err(e) => return Err(e),
        }
    }
    Ok(())
}

/// Whether a bath is one that film goes through, rather than stock to be diluted.
#[must_use]
pub(super) fn takes_film(bath: &Bath) -> bool {
    bath.way != Way::Stock
}

/// What a person did to a bath by a form, as its once-key remembers it.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(super) struct Told {
    pub(super) word: String,
    pub(super) re_fix: bool,
}
