//! The invented shelf, and a year in the life of the shared baths.

use chrono::NaiveDate;

use super::people::Ids;
use super::products::{PRODUCTS, sheet_of};
use crate::baths::{self, Entry, EntryKind, Growth, Material, Mixing, Place, Poured, Way};
use crate::clock::{Moment, Zone};
use crate::db::Tx;
use crate::error::Error;
use crate::recipes;
use crate::shelf::{self, Delivery, NewProduct};
use crate::waste::{self, NewContainer, Pour, Waste};

const DAY: i64 = 86_400;

/// The shelf's products by their place in the list above.
pub(super) struct Shelf {
    products: Vec<i64>,
    zone: Zone,
    now: Moment,
    lead: i64,
}

impl Shelf {
    fn product(&self, place: usize) -> Result<i64, Error> {
        self.products.get(place).copied().ok_or(Error::NotFound)
    }

    fn day(&self, from_now: i64) -> NaiveDate {
        self.zone.date(self.now.plus(from_now * DAY))
    }

    /// A delivery so many days ago, good until so many days from now.
    fn came(
        &self,
        tx: &mut Tx<'_>,
        place: usize,
        (ago, until): (i64, Option<i64>),
        (lot, count): (&str, i64),
    ) -> Result<Vec<i64>, Error> {
        let product = shelf::product(tx, self.product(place)?)?;
        let new = Delivery {
            product: product.id,
            lot: lot.to_owned(),
            expires: until.map(|days| self.day(days)),
            count,
            size: product.of.size,
            price: product.of.price,
        };
        shelf::take_in(tx, self.now.plus(-ago * DAY), &new)
    }
}

/// Puts the products on the list and what is left of this year's deliveries on the shelf.
pub(super) fn stock(
    tx: &mut Tx<'_>,
    (now, zone): (Moment, Zone),
    lead: i64,
) -> Result<Shelf, Error> {
    let developers = recipes::developers(tx)?;
    let mut products = Vec::new();
    for ((name, purpose, form, chart), (water, grams, rolls), keeps, amounts, hazards) in PRODUCTS {
        let (size, reorder_at, price) = amounts;
        let new = NewProduct {
            name: name.to_owned(),
            purpose,
            form,
            developer_id: developers.iter().find(|d| Some(d.name.as_str()) == chart).map(|d| d.id),
            // Beside its first part, a developer has its second.
            developer_part: if name.ends_with(" B") { 2 } else { 1 },
            water_parts: water,
            mg_per_litre: grams.map(|g| g * 1000),
            rolls_per_litre_milli: rolls.map(|r| r * 1000),
            working_keeps_days: keeps.0,
            opened_keeps_days: keeps.1,
            size: size * 1000,
            reorder_at: reorder_at * 1000,
            price,
            sheet: sheet_of(hazards)?,
            note: String::new(),
        };
        products.push(shelf::add_product(tx, &new)?);
    }
    let shelf = Shelf { products, zone, now, lead };
    shelf.came(tx, 0, (372, Some(200)), ("ST-0931", 3))?;
    shelf.came(tx, 0, (60, Some(400)), ("ST-1022", 1))?;
    shelf.came(tx, 1, (60, Some(300)), ("BW-118", 2))?;
    shelf.came(tx, 2, (372, Some(500)), ("SW-77", 2))?;
    shelf.came(tx, 3, (200, Some(12)), ("CW-20", 2))?;
    shelf.came(tx, 4, (150, None), ("RD-3", 1))?;
    let opened = shelf.came(tx, 5, (110, Some(240)), ("SM-412", 2))?;
    shelf.came(tx, 6, (90, Some(500)), ("FP-8", 2))?;
    shelf.came(tx, 7, (300, Some(-9)), ("LL-55", 1))?;
    shelf.came(tx, 7, (40, Some(320)), ("LL-61", 1))?;
    shelf.came(tx, 8, (30, Some(700)), ("TA-7", 1))?;
    shelf.came(tx, 9, (30, Some(700)), ("TB-4", 1))?;
    if let Some(last) = opened.last() {
        let why = "The cap had come loose; it has turned brown.";
        shelf::set_aside(tx, (now.plus(-3 * DAY), lead), *last, why)?;
    }
    if let Some(first) = opened.first() {
        shelf::open_bottle(tx, now.plus(-75 * DAY), *first)?;
        shelf::count(tx, (now.plus(-3 * DAY), lead), *first, 310_000, "Measured on Saturday.")?;
    }
    Ok(shelf)
}

/// Containers for waste.
pub(super) fn containers(tx: &mut Tx<'_>) -> Result<i64, Error> {
    let mut first = 0;
    for (name, accepts, litres) in [
        ("Grey drum", Waste::Fixer, 20),
        ("Developer drum", Waste::Developer, 20),
        ("Stop can", Waste::Stop, 10),
        ("Wash aid can", Waste::WashAid, 10),
        ("First rinse drum", Waste::Rinse, 20),
    ] {
        let new = NewContainer {
            name: name.to_owned(),
            accepts,
            holds_ul: litres * 1_000_000,
            contact: "Maren Ostervald".to_owned(),
            note: String::new(),
        };
        let id = waste::add_container(tx, &new)?;
        if first == 0 {
            first = id;
        }
    }
    Ok(first)
}

/// A bath of a product as the demonstration mixes it.
fn mixing(product: i64, place: Place, litres_ml: i64) -> Mixing {
    Mixing {
        product,
        water_parts: 4,
        volume_ul: litres_ml * 1000,
        label: String::new(),
        place,
        material: Material::Film,
        way: Way::Shared,
        per_litre_milli: 20_000,
        margin_percent: 75,
        least_ul: 300_000,
        fix_s: 300,
        keeps_days: 60,
        half_keeps_days: None,
        growth: None,
        replenish_ul: None,
        replenisher: None,
        promotions: 0,
    }
}

/// Draws like the tide: the same on every machine, and uneven.
fn uneven(seed: i64) -> i64 {
    (seed.wrapping_mul(1_103_515_245).wrapping_add(12_345) >> 16) & 0x7fff
}

/// Some film through a bath, so many days ago, as it was written down then.
fn went_through(
    tx: &mut Tx<'_>,
    (bath, by): (i64, i64),
    at: Moment,
    (milli, note): (i64, &str),
) -> Result<(), Error> {
    let entry = Entry {
        by: Some(by),
        milli,
        film_milli: milli,
        volume_ul: -milli * 15,
        note: note.to_owned(),
        ..Entry::of(EntryKind::Use, at)
    };
    baths::remember(tx, bath, &entry)
}

fn cleared(tx: &mut Tx<'_>, (bath, by): (i64, i64), at: Moment, s: i64) -> Result<(), Error> {
    let entry = Entry {
        by: Some(by),
        seconds: Some(s),
        film: "Gannet 400".to_owned(),
        temperature_mc: Some(20_000),
        ..Entry::of(EntryKind::ClipTest, at)
    };
    baths::remember(tx, bath, &entry)
}

/// Seven fixers one after another over a year, two stop baths and two of wash aid, each retired
/// when it was spent.
pub(super) fn year(tx: &mut Tx<'_>, shelf: &Shelf, ids: &Ids, drum: i64) -> Result<(), Error> {
    let lead = shelf.lead;
    for n in 0..7 {
        let begun = shelf.now.plus(-(371 - n * 50) * DAY);
        let wish = mixing(shelf.product(0)?, Place::Working, 2000);
        let bath = baths::mix_from_shelf(tx, (begun.plus(9 * 3600), lead), &wish)?;
        cleared(tx, (bath, lead), begun.plus(10 * 3600), 58 + uneven(n) % 5)?;
        let mut taken = 0;
        let mut day = 1;
        while taken < 29_000 && day < 50 {
            let some = uneven(n * 97 + day);
            if some % 7 < 3 {
                let who = usize::try_from(some).unwrap_or(0) % ids.members.len().max(1);
                let by = ids.members.get(who).copied().unwrap_or(lead);
                let milli = 500 + some % 4 * 500;
                let at = begun.plus(day * DAY + 15 * 3600);
                went_through(tx, (bath, by), at, (milli, ""))?;
                taken += milli;
            }
            day += 1;
        }
        cleared(tx, (bath, lead), begun.plus(25 * DAY), 78 + uneven(n + 40) % 8)?;
        let end = begun.plus((day - 1) * DAY + 17 * 3600);
        let into = Poured { container: drum, volume_ul: 1_560_000, note: String::new() };
        baths::retire(tx, (end, lead), bath, &into)?;
        if n == 4 {
            let who = ("Harbour waste depot", "Slip 2204");
            waste::pick_up(tx, (end.plus(3600), lead), drum, who)?;
        }
    }
    others(tx, shelf, drum)
}

/// The lesser baths of the year.
fn others(tx: &mut Tx<'_>, shelf: &Shelf, drum: i64) -> Result<(), Error> {
    let lead = shelf.lead;
    for (n, (place, water, per_litre, into)) in
        [(2, 19, 12_000, 2), (3, 19, 30_000, 3), (2, 19, 12_000, 2), (3, 19, 30_000, 3)]
            .into_iter()
            .enumerate()
    {
        let begun = shelf.now.plus(-(200 - i64::try_from(n).unwrap_or(0) * 40) * DAY);
        let wish = Mixing {
            water_parts: water,
            per_litre_milli: per_litre,
            margin_percent: 100,
            fix_s: 60,
            keeps_days: 90,
            ..mixing(shelf.product(place)?, Place::Working, 1000)
        };
        let bath = baths::mix_from_shelf(tx, (begun, lead), &wish)?;
        went_through(tx, (bath, lead), begun.plus(9 * DAY), (6000, "Six rolls, lead-run day"))?;
        let poured = Poured { container: drum + into, volume_ul: 880_000, note: String::new() };
        baths::retire(tx, (begun.plus(35 * DAY), lead), bath, &poured)?;
    }
    Ok(())
}

/// The baths in use today: the fixer of the walk, a stop bath, a paper fixer, stock mixed ahead.
pub(super) fn in_use(tx: &mut Tx<'_>, shelf: &Shelf, drum: i64) -> Result<(), Error> {
    let (now, lead) = (shelf.now, shelf.lead);
    let begun = now.plus(-21 * DAY);
    let wish = Mixing {
        label: "Fixer 12, working bottle".to_owned(),
        ..mixing(shelf.product(0)?, Place::Working, 2000)
    };
    let fixer = baths::mix_from_shelf(tx, (begun, lead), &wish)?;
    cleared(tx, (fixer, lead), begun.plus(3600), 60)?;
    for (days, rolls) in [(20, 4), (13, 6), (6, 5), (2, 4)] {
        let note = "Lead-run day";
        went_through(tx, (fixer, lead), now.plus(-days * DAY), (rolls * 1000, note))?;
    }
    cleared(tx, (fixer, lead), now.plus(-2 * DAY + 3600), 81)?;
    let stop = Mixing {
        water_parts: 19,
        per_litre_milli: 12_000,
        margin_percent: 100,
        fix_s: 60,
        keeps_days: 90,
        ..mixing(shelf.product(2)?, Place::Working, 1000)
    };
    let stop = baths::mix_from_shelf(tx, (now.plus(-30 * DAY), lead), &stop)?;
    went_through(tx, (stop, lead), now.plus(-13 * DAY), (5000, "Lead-run day"))?;
    let paper = Mixing {
        water_parts: 9,
        per_litre_milli: 12_000,
        material: Material::Paper,
        keeps_days: 30,
        ..mixing(shelf.product(1)?, Place::First, 2000)
    };
    let second = Mixing { place: Place::Second, ..paper.clone() };
    let first = baths::mix_from_shelf(tx, (now.plus(-10 * DAY), lead), &paper)?;
    baths::mix_from_shelf(tx, (now.plus(-10 * DAY), lead), &second)?;
    went_through(tx, (first, lead), now.plus(-8 * DAY), (6000, "6 of paper 8x10"))?;
    let stock = Mixing {
        way: Way::Stock,
        per_litre_milli: 10_000,
        margin_percent: 100,
        least_ul: 0,
        fix_s: 60,
        keeps_days: 180,
        half_keeps_days: Some(60),
        ..mixing(shelf.product(6)?, Place::Working, 5000)
    };
    baths::mix_from_shelf(tx, (now.plus(-DAY), lead), &stock)?;
    used_again(tx, shelf)?;
    let rinse = Pour {
        container: drum + 4,
        what: "Lead-run day, first rinse".to_owned(),
        volume_ul: 3_200_000,
        ..Pour::default()
    };
    waste::pour(tx, (now.plus(-2 * DAY), Some(lead)), Waste::Rinse, &rinse)
}

/// A bottle of developer that is poured back after each run, its times growing.
fn used_again(tx: &mut Tx<'_>, shelf: &Shelf) -> Result<(), Error> {
    let (mixed, lead) = (shelf.now.plus(-6 * DAY), shelf.lead);
    let wish = Mixing {
        label: "Fathom, used again".to_owned(),
        way: Way::ReUsed,
        per_litre_milli: 4000,
        margin_percent: 100,
        least_ul: 300_000,
        fix_s: 60,
        keeps_days: 90,
        growth: Some(Growth { permille: 100, every_milli: 4000 }),
        ..mixing(shelf.product(6)?, Place::Working, 2000)
    };
    let bath = baths::mix_from_shelf(tx, (mixed, lead), &wish)?;
    went_through(tx, (bath, lead), mixed.plus(DAY), (3500, "Lead-run day"))
}
