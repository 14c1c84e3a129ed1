//! What a bath is, and what its ledger may say of it.

use std::ops::Deref;

use serde::Serialize;

pub use super::entry::{Entry, EntryKind};

use crate::clock::Moment;

/// What a bath is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Takes the undeveloped silver out.
    Fixer,
    /// Ends development.
    Stop,
    /// Shortens the wash.
    WashAid,
    /// Lets the last water run off.
    WettingAgent,
    /// Re-used or replenished developer, or stock mixed ahead.
    Developer,
}

/// A noun with a word for programs and words for people.
macro_rules! words {
    ($of:ident, $count:literal, [$($variant:ident = $word:literal, $name:literal;)*]) => {
        impl $of {
            /// All of them, with their word for programs and their words for people.
            pub const ALL: [($of, &'static str, &'static str); $count] =
                [$(($of::$variant, $word, $name)),*];

            /// The word in the database and the API.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $($of::$variant => $word),* }
            }

            /// The words for people.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $($of::$variant => $name),* }
            }

            /// The one of that word.
            #[must_use]
            pub fn from_word(word: &str) -> Option<$of> {
                $of::ALL.iter().find(|k| k.1 == word).map(|k| k.0)
            }
        }
    };
}

pub(super) use words;

words!(Kind, 5, [
    Fixer = "fixer", "Fixer";
    Stop = "stop", "Stop bath";
    WashAid = "wash_aid", "Wash aid";
    WettingAgent = "wetting_agent", "Wetting agent";
    Developer = "developer", "Developer";
]);

/// Where a bath stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// The bottle everybody pours from.
    Working,
    /// The first of two: film goes here first.
    First,
    /// The second of two.
    Second,
    /// Mixed and kept for later.
    Reserve,
}

words!(Place, 4, [
    Working = "working", "working bottle";
    First = "bath_1", "bath 1";
    Second = "bath_2", "bath 2";
    Reserve = "reserve", "reserve";
]);

/// What goes through a bath. Film and paper never share one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Material {
    /// Film.
    Film,
    /// Paper.
    Paper,
}

words!(Material, 2, [
    Film = "film", "film";
    Paper = "paper", "paper";
]);

/// How a bath is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// Used until it can take no more.
    Shared,
    /// Developer used again, with times that grow.
    ReUsed,
    /// Developer kept up by replenishing.
    Replenished,
    /// Mixed ahead, to be diluted.
    Stock,
}

words!(Way, 4, [
    Shared = "shared", "Used until it can take no more";
    ReUsed = "re_used", "Developer used again, its times growing";
    Replenished = "replenished", "Developer kept up by replenishing";
    Stock = "stock", "Stock mixed ahead, used diluted";
]);

/// How a developer's time grows with the film it has taken, from the maker's sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Growth {
    /// So many thousandths more ...
    pub permille: i64,
    /// ... for each whole such amount of film, in thousandths of a roll's worth.
    pub every_milli: i64,
}

/// What a developer is replenished with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Replenisher {
    /// The product of the shelf.
    pub product: i64,
    /// Parts of water to one of concentrate, for a concentrate.
    pub water_parts: i64,
}

/// What is said of a bath when it is mixed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewBath {
    /// What it is for.
    pub kind: Kind,
    /// What its label says; no other bath's does.
    pub label: String,
    /// Where it stands.
    pub place: Place,
    /// What goes through it.
    pub material: Material,
    /// How it is kept.
    pub way: Way,
    /// The product it is mixed from.
    pub product_id: Option<i64>,
    /// Parts of water to one of concentrate.
    pub water_parts: Option<i64>,
    /// How much of it there is, in microlitres.
    pub volume_ul: i64,
    /// Below this volume it no longer covers the film, in microlitres; 0 where nobody said.
    pub least_ul: i64,
    /// What it can take, in thousandths of a roll's worth, the studio's margin already off.
    pub capacity_milli: i64,
    /// How long film stays in it before a clip test says better, in seconds.
    pub fix_s: i64,
    /// When it was mixed.
    pub mixed: Moment,
    /// Who mixed it.
    pub mixed_by: Option<i64>,
    /// How many days it keeps.
    pub keeps_days: i64,
    /// How many days it keeps once its bottle is half empty.
    pub half_keeps_days: Option<i64>,
    /// How its times grow.
    pub growth: Option<Growth>,
    /// Replenisher for a roll's worth, in microlitres.
    pub replenish_ul: Option<i64>,
    /// How often a second bath has become the first since both were fresh.
    pub promotions: i64,
    /// The product it is replenished with, and that one's parts of water to one of concentrate.
    pub replenisher: Option<Replenisher>,
}

impl NewBath {
    /// A film fixer in the working bottle, of which the rest is yet to be said.
    #[must_use]
    pub fn of(kind: Kind, label: impl Into<String>, mixed: Moment) -> NewBath {
        NewBath {
            kind,
            label: label.into(),
            place: Place::Working,
            material: Material::Film,
            way: Way::Shared,
            product_id: None,
            water_parts: None,
            volume_ul: 1_000_000,
            least_ul: 0,
            capacity_milli: 15_000,
            fix_s: 300,
            mixed,
            mixed_by: None,
            keeps_days: 60,
            half_keeps_days: None,
            growth: None,
            replenish_ul: None,
            promotions: 0,
            replenisher: None,
        }
    }
}

/// A mixed bath: what was said when it was mixed, which can be read of it directly, and what has
/// become of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bath {
    /// Its id.
    pub id: i64,
    /// Its number, as its label has it.
    pub number: i64,
    /// What was said of it when it was mixed; its place, its promotions and how long film stays in
    /// it are the present ones.
    pub of: NewBath,
    /// When it was retired, if it was.
    pub retired: Option<Moment>,
}

impl Deref for Bath {
    type Target = NewBath;

    fn deref(&self) -> &NewBath {
        &self.of
    }
}

impl Bath {
    /// Whether a run of film may be sent to it first: a film fixer in the working bottle or first
    /// of two.
    #[must_use]
    pub fn takes_film_first(&self) -> bool {
        self.kind == Kind::Fixer
            && self.material == Material::Film
            && matches!(self.place, Place::Working | Place::First)
    }

    /// Whether film must be fixed afresh when this bath could not take it.
    #[must_use]
    pub fn is_fixer(&self) -> bool {
        self.kind == Kind::Fixer
    }
}

/// How good a bath still is: the worst of capacity, volume, age and test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    /// Use it.
    Good,
    /// Use it, and mix the next one.
    NearLimit,
    /// Too old to be trusted.
    TooOld,
    /// It no longer covers the film.
    TooLittle,
    /// It has taken all it can.
    AtLimit,
    /// A test said it is spent.
    FailedTest,
    /// Out of use.
    Retired,
}

impl Condition {
    /// The stable word for programs.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Condition::Good => "good",
            Condition::NearLimit => "near_limit",
            Condition::TooOld => "too_old",
            Condition::TooLittle => "too_little",
            Condition::AtLimit => "at_limit",
            Condition::FailedTest => "failed_test",
            Condition::Retired => "retired",
        }
    }
}

/// What leads are written to about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// It is near its limit.
    Near,
    /// It has reached its limit.
    Limit,
    /// A test failed.
    Test,
    /// It no longer covers the film.
    Little,
    /// It is too old.
    Old,
    /// A published day would pass its limit.
    Plan,
}

impl Cause {
    /// The word in a letter's key and template.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Cause::Near => "near",
            Cause::Limit => "limit",
            Cause::Test => "test",
            Cause::Little => "little",
            Cause::Old => "old",
            Cause::Plan => "plan",
        }
    }
}

/// Thousandths of a roll's worth as people write them: `1.5`.
#[must_use]
pub(super) fn rolls_in_words(milli: i64) -> String {
    crate::shelf::figure(milli)
}

/// Seconds as `4:30`.
#[must_use]
pub(super) fn minutes(seconds: i64) -> String {
    format!("{}:{:02}", seconds / 60, seconds.rem_euclid(60))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_names_one_thing() {
        for (place, word, name) in Place::ALL {
            assert_eq!((Place::from_word(word), place.name()), (Some(place), name));
        }
    }

    #[test]
    fn rolls_and_minutes_are_written_without_idle_noughts() {
        assert_eq!(rolls_in_words(1500), "1.5");
        assert_eq!(rolls_in_words(20_000), "20");
        assert_eq!(rolls_in_words(-250), "-0.25");
        assert_eq!((minutes(270), minutes(59)), ("4:30".to_owned(), "0:59".to_owned()));
    }
}
