//! Powders made up to a volume.

use serde::{Deserialize, Serialize};

use crate::units::{Grams, Millilitres, Percent, ratio_nearest};

use super::{Refusal, defaults, percent_of};

/// The volumes of making up: begin with part of the water, dissolve, then fill up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct MakeUp {
    /// Begin with at least this much water.
    pub start_from: Millilitres,
    /// Begin with at most this much water.
    pub start_to: Millilitres,
    /// Then fill up to this mark, whatever the powder took.
    pub fill_up_to: Millilitres,
}

/// Half to three quarters of the water first, made up at the end (fact DIL-16,
/// NAVEDTRA 14209 ph209175).
#[must_use]
pub fn make_up(volume: Millilitres) -> MakeUp {
    let (from, to) = defaults::MIXING_START.value;
    MakeUp {
        start_from: percent_of(volume, from),
        start_to: percent_of(volume, to),
        fill_up_to: volume,
    }
}

/// The mass of one ingredient for a volume, from its grams per litre.
///
/// # Errors
/// When the mass would be larger than any allowed.
pub fn weigh_out(per_litre: Grams, volume: Millilitres) -> Result<Grams, Refusal> {
    let units = ratio_nearest(per_litre.milligrams(), volume.microlitres(), 1_000_000);
    Ok(Grams::from_milligrams(units.unwrap_or(u64::MAX))?)
}

/// The volume that a packet makes at so many grams per litre.
///
/// # Errors
/// When nothing goes into a litre, or the volume would be larger than any allowed.
pub fn volume_from_packet(packet: Grams, per_litre: Grams) -> Result<Millilitres, Refusal> {
    if per_litre == Grams::ZERO {
        return Err(Refusal::Missing("a mass per litre above 0 g"));
    }
    let units = ratio_nearest(packet.milligrams(), 1_000_000, per_litre.milligrams());
    Ok(Millilitres::from_microlitres(units.unwrap_or(u64::MAX))?)
}

/// The solid in a solution of some per cent: grams in 100 ml made up, not added to
/// 100 ml (facts DIL-3 and DIL-4, Army SS0513 p. SS05130024).
#[must_use]
pub fn solid_for_percent(volume: Millilitres, percent: Percent) -> Grams {
    let grams = percent_of(volume, percent).ml();
    Grams::new(grams).unwrap_or_default()
}

/// Anhydrous hypo that stands for crystals: 64 % of their mass (fact DIL-19, Anchell
/// 2008 p. 268).
#[must_use]
pub fn anhydrous_hypo(crystals: Grams) -> Grams {
    Grams::new(crystals.grams() * defaults::ANHYDROUS_HYPO.value.fraction()).unwrap_or_default()
}
