//! What stands on the shelf and what happens to it.

use chrono::NaiveDate;

use super::rules::{self, Form, Purpose, Standing};
use crate::clock::{Moment, Zone};
use crate::hazards::Sheet;

/// What a lead says of a product.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewProduct {
    /// Its name; no other product's.
    pub name: String,
    /// What it is for.
    pub purpose: Purpose,
    /// How it comes.
    pub form: Form,
    /// The developer of the time chart that it is.
    pub developer_id: Option<i64>,
    /// Which of that developer's parts it is, from 1; 1 where it is all of it.
    pub developer_part: i64,
    /// Parts of water to one of concentrate, as it is usually mixed.
    pub water_parts: Option<i64>,
    /// Milligrams of powder for a litre.
    pub mg_per_litre: Option<i64>,
    /// Thousandths of a roll's worth a litre of working solution takes, from the maker's sheet.
    pub rolls_per_litre_milli: Option<i64>,
    /// How many days the working solution keeps.
    pub working_keeps_days: Option<i64>,
    /// How many days a bottle keeps once it is open.
    pub opened_keeps_days: Option<i64>,
    /// What one bottle or packet holds.
    pub size: i64,
    /// At this stock it is time to buy; 0 for what is bought by decision.
    pub reorder_at: i64,
    /// What one costs, in the smallest coin.
    pub price: i64,
    /// What the maker's safety data sheet says, typed in from it; never made up here.
    pub sheet: Sheet,
    /// What to know about it.
    pub note: String,
}

/// A product on the shelf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Product {
    /// Its id.
    pub id: i64,
    /// What was said of it.
    pub of: NewProduct,
    /// The version an edit form is made from.
    pub version: i64,
}

/// A bottle or packet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bottle {
    /// Its id.
    pub id: i64,
    /// Its lot.
    pub lot_id: i64,
    /// The maker's number of that lot.
    pub lot: String,
    /// Its product.
    pub product_id: i64,
    /// The date on it.
    pub expires: Option<NaiveDate>,
    /// When it came.
    pub received: Moment,
    /// What it held when it came.
    pub size: i64,
    /// What is left in it.
    pub held: i64,
    /// What it cost, in the smallest coin.
    pub price: i64,
    /// When it was opened.
    pub opened: Option<Moment>,
    /// When a scrap of leader last blackened in it.
    pub tested: Option<Moment>,
    /// When it was emptied.
    pub emptied: Option<Moment>,
    /// When it was set aside.
    pub set_aside: Option<Moment>,
    /// Why it was set aside.
    pub set_aside_why: String,
    /// Counts its changes.
    pub version: i64,
}

impl Bottle {
    /// What the rules need to know of it.
    #[must_use]
    pub fn facts(&self, zone: Zone, opened_keeps_days: Option<i64>) -> rules::Facts {
        rules::Facts {
            id: self.id,
            held: self.held,
            expires: self.expires,
            opened: self.opened.map(|at| zone.date(at)),
            opened_keeps_days,
            set_aside: self.set_aside.is_some(),
        }
    }
}

/// Why a bottle's content changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DrawKind {
    /// It was used.
    Draw,
    /// Somebody counted, and it was more or less than the book said.
    Count,
    /// It was set aside.
    SetAside,
    /// A scrap of leader was tried in it.
    Test,
}

impl DrawKind {
    const ALL: [(DrawKind, &'static str, &'static str); 4] = [
        (DrawKind::Draw, "draw", "Used"),
        (DrawKind::Count, "count", "Stock-taking"),
        (DrawKind::SetAside, "set_aside", "Set aside"),
        (DrawKind::Test, "test", "Scrap test"),
    ];

    pub(super) fn word(self) -> &'static str {
        DrawKind::ALL.iter().find(|k| k.0 == self).map_or("draw", |k| k.1)
    }

    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        DrawKind::ALL.iter().find(|k| k.0 == self).map_or("Used", |k| k.2)
    }

    pub(super) fn from_word(word: &str) -> DrawKind {
        DrawKind::ALL.iter().find(|k| k.1 == word).map_or(DrawKind::Draw, |k| k.0)
    }
}

/// One line of a bottle's history.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Drawn {
    /// Which bottle.
    pub bottle: i64,
    /// When.
    pub at: Moment,
    /// Who.
    pub by: Option<String>,
    /// Why.
    pub kind: DrawKind,
    /// How much went out; negative where more was found.
    pub amount: i64,
    /// The bath it was mixed into.
    pub bath: Option<i64>,
    /// The run it was used in.
    pub run: Option<i64>,
    /// Anything noted.
    pub why: String,
}

/// A product with its bottles and what is asked of it.
#[derive(Clone, Debug)]
pub struct Stock {
    /// The product.
    pub product: Product,
    /// Its bottles that are not empty, with where each stands, the first to be used first.
    pub bottles: Vec<(Bottle, Standing, Option<NaiveDate>)>,
    /// What may be used.
    pub usable: i64,
    /// What published plans will draw.
    pub planned: i64,
    /// How many to buy.
    pub to_buy: i64,
}

/// Where something from a bottle went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WentTo {
    /// The bath it was mixed into.
    pub bath: Option<i64>,
    /// The run it was used in.
    pub run: Option<i64>,
}
