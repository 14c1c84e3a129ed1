//! The usual cautions, where chemicals are mixed, used and poured away. They
//! stand beside the maker's safety data sheet and the local rules, never instead.

use std::fmt;

use serde::Serialize;

use super::source::Source;

/// A sentence that belongs on a sheet where chemicals are handled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// The order of mixing.
    ChemicalIntoWater,
    /// What to wear.
    GlovesApronEyes,
    /// What no bottle may lack.
    Label,
    /// What happens to used solutions until the local rule is known.
    CollectDoNotPour,
    /// What must never meet.
    NeverWithBleach,
    /// Who knows better.
    SafetyDataSheet,
    /// Reels foul.
    WettingFoulsReels,
}

/// The cautions for mixing a solution, in the order in which they are read.
pub const WHEN_MIXING: [Caution; 4] = [
    Caution::SafetyDataSheet,
    Caution::GlovesApronEyes,
    Caution::ChemicalIntoWater,
    Caution::Label,
];

/// The cautions for emptying a bath.
pub const WHEN_EMPTYING: [Caution; 3] =
    [Caution::CollectDoNotPour, Caution::NeverWithBleach, Caution::GlovesApronEyes];

impl Caution {
    /// Where the sentence comes from.
    #[must_use]
    pub fn source(self) -> Source {
        match self {
            Self::ChemicalIntoWater => {
                Source::published("DIL-18", "Army SS0509, web p. Ss050980011")
            }
            Self::GlovesApronEyes => Source::published("PPE-1", "NAVEDTRA 14209, ph209175"),
            Self::Label => Source::arithmetic("LAB-3", "29 CFR 1910.1200(f)(6) and (f)(8)"),
            Self::NeverWithBleach => Source::published("GHS-20", "Anchell 2008, p. 171"),
            Self::CollectDoNotPour | Self::SafetyDataSheet | Self::WettingFoulsReels => {
                Source::PRACTICE
            }
        }
    }
}

impl fmt::Display for Caution {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ChemicalIntoWater => "Pour the chemical into the water, never the reverse.",
            Self::GlovesApronEyes => "Wear gloves, an apron and eye protection.",
            Self::Label => "Label the bottle: what it is, its strength, the date, your name.",
            Self::CollectDoNotPour => "Collect, do not pour. Follow the local rule.",
            Self::NeverWithBleach => "Never let acid stop bath or fixer meet household bleach.",
            Self::SafetyDataSheet => {
                "Read the maker's safety data sheet first; it goes before this."
            }
            Self::WettingFoulsReels => "Take the film off its reel: wetting agent fouls reels.",
        })
    }
}
