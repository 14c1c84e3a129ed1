//! The end of a bath: into a container of its own kind, and two baths moved on in one act.

use super::rules::{Bath, Entry, EntryKind, Kind, Material, Place};
use super::{Mixing, mixing, store};
use crate::chemistry::{SilverAssumptions, silver};
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::shelf;
use crate::units::RollEquivalents;
use crate::waste::{self, Pour, Waste};

/// Where a retired bath goes.
#[derive(Clone, Debug)]
pub struct Poured {
    /// The container.
    pub container: i64,
    /// How much was poured in, in microlitres.
    pub volume_ul: i64,
    /// Anything to remember.
    pub note: String,
}

/// The kind of waste a bath becomes.
pub(super) fn waste_of(kind: Kind) -> Waste {
    match kind {
        Kind::Fixer => Waste::Fixer,
        Kind::Stop => Waste::Stop,
        Kind::WashAid => Waste::WashAid,
        Kind::WettingAgent => Waste::WettingAgent,
        Kind::Developer => Waste::Developer,
    }
}

/// The silver a bath may hold, least and most in milligrams, and what that rests on. Paper holds
/// another amount, so for it nothing is estimated.
pub(super) fn silver_in(bath: &Bath, ledger: &[Entry]) -> ((i64, i64), String) {
    if bath.kind != Kind::Fixer || bath.material != Material::Film {
        return ((0, 0), String::new());
    }
    let film = ledger.iter().fold(0_i64, |sum, e| sum.saturating_add(e.film_milli));
    let millionths = u64::try_from(film.max(0)).unwrap_or_default().saturating_mul(1000);
    let assumed = SilverAssumptions::usual();
    let range = silver(RollEquivalents::from_millionths(millionths), assumed);
    let mg = |g: crate::units::Grams| i64::try_from(g.milligrams()).unwrap_or(i64::MAX);
    ((mg(range.least), mg(range.most)), assumed.to_string())
}

/// Retires a bath into a container that takes its kind, and writes both records.
///
/// # Errors
/// A sentence beside `container` when it takes another kind, naming the gas that would be
/// released; a refusal when the bath is retired already.
pub fn retire(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    bath: i64,
    into: &Poured,
) -> Result<(), Error> {
    let bath = store::one(tx, bath)?;
    if !store::mark_retired(tx, now, bath.id)? {
        return Err(Error::refused("retired", format!("“{}” is retired already.", bath.label)));
    }
    let ledger = store::entries(tx, bath.id)?;
    let (silver_mg, assumed) = silver_in(&bath, &ledger);
    let pour = Pour {
        container: into.container,
        waste: None,
        what: bath.label.clone(),
        bath: Some(bath.id),
        volume_ul: into.volume_ul,
        silver_mg,
        assumed,
        note: into.note.clone(),
    };
    waste::pour(tx, (now, Some(by)), waste_of(bath.kind), &pour)?;
    let note = format!("{} ml collected. {}", shelf::figure(into.volume_ul), into.note);
    let entry = Entry { by: Some(by), ..Entry::of(EntryKind::Retired, now) };
    store::add(tx, bath.id, &entry.noted(note.trim()))
}

/// The fresh second bath of a rotation.
#[derive(Clone, Debug)]
pub struct Fresh {
    /// How much is made, in microlitres.
    pub volume_ul: i64,
    /// What its label says; empty: its kind and number.
    pub label: String,
}

/// The two baths as they stand, the first before the second.
///
/// # Errors
/// A refusal when there are not two.
pub(super) fn pair(conn: &mut Conn, first: &Bath) -> Result<Bath, Error> {
    if first.place != Place::First || first.retired.is_some() {
        return Err(Error::refused("rule", "Two baths are rotated from the page of the first."));
    }
    mixing::standing_at(conn, first.kind, first.material, Place::Second)?.ok_or_else(|| {
        Error::refused("rule", "There is no second bath. Mix one and put it in place 2 first.")
    })
}

/// Why two baths may not be rotated once more, if they may not.
pub(super) fn is_worn(first: &Bath, most: i64) -> Option<String> {
    (first.promotions >= most).then(|| {
        format!(
            "A second bath has become the first {} times already, the most the studio allows. \
             Retire both and mix both fresh.",
            first.promotions
        )
    })
}

/// Rotates two baths in one act: the first is collected, the second takes its place with all its
/// history, and a fresh one is mixed from the shelf for the second place (NAVEDTRA 14209, web
/// p. 249; the cap on promotions is common practice).
///
/// # Errors
/// A refusal after too many promotions; as [`retire`] and [`super::mix_from_shelf`].
pub fn rotate(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    first: i64,
    (into, fresh): (&Poured, &Fresh),
) -> Result<i64, Error> {
    let first = store::one(tx, first)?;
    let second = pair(tx, &first)?;
    let settings = shelf::settings(tx)?;
    if let Some(sentence) = is_worn(&first, settings.most_promotions) {
        return Err(Error::refused("rule", sentence));
    }
    let product = second.product_id.ok_or_else(|| {
        Error::refused(
            "rule",
            "The second bath was not mixed from the shelf, so its like cannot be mixed. Retire \
             the first, move the second, and mix a new one.",
        )
    })?;
    retire(tx, (now, by), first.id, into)?;
    let promotions = first.promotions + 1;
    store::update_place(tx, second.id, Place::First, promotions)?;
    let entry = Entry { by: Some(by), ..Entry::of(EntryKind::Moved, now) };
    let note = format!("From bath 2 to bath 1, promotion {promotions}; its history stays.");
    store::add(tx, second.id, &entry.noted(&note))?;
    mixing::mix_from_shelf(tx, (now, by), &like(&second, product, fresh, settings.margin_percent))
}

/// A bath mixed like another, for the second place.
fn like(bath: &Bath, product: i64, fresh: &Fresh, margin_percent: i64) -> Mixing {
    // Capacity / volume / margin: what a litre was said to take.
    let per = i128::from(bath.capacity_milli) * 100_000_000;
    let of = i128::from(bath.volume_ul.max(1)) * i128::from(margin_percent.max(1));
    Mixing {
        product,
        water_parts: bath.water_parts.unwrap_or(0),
        volume_ul: fresh.volume_ul,
        label: fresh.label.clone(),
        place: Place::Second,
        material: bath.material,
        way: bath.way,
        per_litre_milli: i64::try_from((per + of / 2) / of).unwrap_or(1),
        margin_percent,
        least_ul: bath.least_ul,
        fix_s: bath.fix_s,
        keeps_days: bath.keeps_days,
        half_keeps_days: bath.half_keeps_days,
        growth: bath.growth,
        replenish_ul: bath.replenish_ul,
        replenisher: bath.replenisher,
        promotions: 0,
    }
}
