//! Mixing: a bath comes out of the shelf in one act, with a number and a label.

use super::rules::{Bath, Growth, Kind, Material, NewBath, Place, Replenisher, Way};
use super::store;
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::shelf::{self, Form, Product, Purpose, Wanted};
use crate::units::{Millilitres, Percent, RollsPerLitre};

/// Mixes a bath without drawing from the shelf: from now on it is in use with an empty ledger.
///
/// # Errors
/// A refusal when another bath carries that label, or stands in that place.
pub fn mix(tx: &mut Tx<'_>, new: &NewBath) -> Result<i64, Error> {
    if store::has_label(tx, &new.label)? {
        return Err(Error::field(
            "label",
            format!("There is a bath called “{}” already; give this one its own label.", new.label),
        ));
    }
    if let Some(there) = standing_at(tx, new.kind, new.material, new.place)? {
        return Err(Error::field("place", taken(&there)));
    }
    let number = store::next_number(tx)?;
    store::insert(tx, new, number)
}

/// What is said when a place of two is taken.
pub(super) fn taken(there: &Bath) -> String {
    format!(
        "“{}” stands as {} already. Rotate the two, or retire it first.",
        there.label,
        there.place.name()
    )
}

/// The bath that stands as the first or second of two, of which there is only one each.
pub(super) fn standing_at(
    conn: &mut Conn,
    kind: Kind,
    material: Material,
    place: Place,
) -> Result<Option<Bath>, Error> {
    if !matches!(place, Place::First | Place::Second) {
        return Ok(None);
    }
    let all = store::active(conn)?;
    Ok(all.into_iter().find(|b| (b.kind, b.material, b.place) == (kind, material, place)))
}

/// What a lead says when a bath is mixed from the shelf.
#[derive(Clone, Debug)]
pub struct Mixing {
    /// The product.
    pub product: i64,
    /// Parts of water to one of concentrate, for a concentrate.
    pub water_parts: i64,
    /// How much is made, in microlitres.
    pub volume_ul: i64,
    /// What its label says; empty: its kind and number.
    pub label: String,
    /// Where it stands.
    pub place: Place,
    /// What goes through it.
    pub material: Material,
    /// How it is kept.
    pub way: Way,
    /// Rolls' worth a litre takes, in thousandths.
    pub per_litre_milli: i64,
    /// Share of it that the studio uses, in percent.
    pub margin_percent: i64,
    /// Volume that covers the film, in microlitres.
    pub least_ul: i64,
    /// How long film stays in it until a clip test says better, in seconds.
    pub fix_s: i64,
    /// How many days it keeps.
    pub keeps_days: i64,
    /// How many days it keeps once half empty.
    pub half_keeps_days: Option<i64>,
    /// How its times grow.
    pub growth: Option<Growth>,
    /// Replenisher for a roll's worth, in microlitres.
    pub replenish_ul: Option<i64>,
    /// What it is replenished with, where that comes off the shelf.
    pub replenisher: Option<Replenisher>,
    /// How often a second bath has become the first since both were fresh.
    pub promotions: i64,
}

/// What a volume of working solution takes from the shelf: microlitres or milligrams, to the
/// nearest.
///
/// # Errors
/// A sentence when a powder's grams for a litre are not known.
pub(super) fn from_the_shelf(
    product: &Product,
    volume_ul: i64,
    water_parts: i64,
) -> Result<i64, Error> {
    let nearest = |n: i128, of: i128| i64::try_from((2 * n + of) / (2 * of)).unwrap_or(i64::MAX);
    match product.of.form {
        Form::Ready => Ok(volume_ul),
        Form::Concentrate => Ok(nearest(i128::from(volume_ul), i128::from(water_parts) + 1)),
        Form::Powder => {
            let per_litre = product.of.mg_per_litre.ok_or_else(|| {
                Error::field(
                    "product",
                    format!(
                        "How many grams of {} make a litre is not typed in. Change the product \
                         first.",
                        product.of.name
                    ),
                )
            })?;
            Ok(nearest(i128::from(volume_ul) * i128::from(per_litre), 1_000_000))
        }
    }
}

/// Volume x rolls' worth per litre x the studio's margin, rounded down, in thousandths.
pub(super) fn capacity_milli(
    volume_ul: i64,
    per_litre_milli: i64,
    margin_percent: i64,
) -> Result<i64, Error> {
    let wrong = |e: crate::units::OutOfRange| Error::field("volume_ml", e.to_string());
    let volume = Millilitres::from_microlitres(u64::try_from(volume_ul).unwrap_or_default())
        .map_err(wrong)?;
    let per_litre = RollsPerLitre::new(crate::web::thousandths(per_litre_milli)).map_err(wrong)?;
    let percent = u8::try_from(margin_percent).unwrap_or(100);
    let margin = Percent::new(f64::from(percent)).map_err(wrong)?;
    let capacity = crate::chemistry::FixerCapacity { per_litre, margin };
    let milli = capacity.of_volume(volume).millionths() / 1000;
    i64::try_from(milli).ok().filter(|m| *m > 0).ok_or_else(|| {
        Error::field("volume_ml", "That little takes no film at all. Mix more of it.")
    })
}

/// Mixes a bath and draws what it takes from the shelf: both, or neither.
///
/// # Errors
/// A sentence beside `volume_ml` when the shelf does not hold that much; as [`mix`].
pub fn mix_from_shelf(
    tx: &mut Tx<'_>,
    (now, by): (Moment, i64),
    wish: &Mixing,
) -> Result<i64, Error> {
    let product = shelf::product(tx, wish.product)?;
    let kind = kind_of(product.of.purpose)?;
    let diluted = product.of.form == Form::Concentrate;
    let number = store::next_number(tx)?;
    let label = match wish.label.trim() {
        "" => format!("{} {number}, {}", kind.name(), wish.place.name()),
        said => said.to_owned(),
    };
    let capacity_milli = capacity_milli(wish.volume_ul, wish.per_litre_milli, wish.margin_percent)?;
    let new = NewBath {
        place: wish.place,
        material: wish.material,
        way: if kind == Kind::Developer { wish.way } else { Way::Shared },
        product_id: Some(product.id),
        water_parts: diluted.then_some(wish.water_parts),
        volume_ul: wish.volume_ul,
        least_ul: wish.least_ul,
        capacity_milli,
        fix_s: wish.fix_s,
        mixed_by: Some(by),
        keeps_days: wish.keeps_days,
        half_keeps_days: wish.half_keeps_days,
        growth: wish.growth,
        replenish_ul: wish.replenish_ul,
        promotions: wish.promotions,
        replenisher: wish.replenisher,
        ..NewBath::of(kind, label.clone(), now)
    };
    let bath = mix(tx, &new)?;
    let amount = from_the_shelf(&product, wish.volume_ul, wish.water_parts)?;
    let wanted = Wanted { amount, bath: Some(bath), run: None, why: label };
    shelf::draw(tx, now, Some(by), product.id, &wanted).map_err(|e| match e {
        Error::Invalid(faults) => {
            Error::field("volume_ml", faults.into_values().collect::<Vec<_>>().join(" "))
        }
        other => other,
    })?;
    Ok(bath)
}

/// The kind of bath a product becomes.
pub(super) fn kind_of(purpose: Purpose) -> Result<Kind, Error> {
    match purpose {
        Purpose::Fixer => Ok(Kind::Fixer),
        Purpose::Stop => Ok(Kind::Stop),
        Purpose::WashAid => Ok(Kind::WashAid),
        Purpose::WettingAgent => Ok(Kind::WettingAgent),
        Purpose::Developer => Ok(Kind::Developer),
        Purpose::Bleach | Purpose::Other => Err(Error::field(
            "product",
            "No shared bath is made of that. Choose a fixer, stop bath, wash aid, wetting agent or \
             developer.",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hazards::Sheet;
    use crate::shelf::NewProduct;

    fn product(form: Form, mg_per_litre: Option<i64>) -> Product {
        Product {
            id: 1,
            version: 1,
            of: NewProduct {
                name: "Invented".to_owned(),
                purpose: Purpose::Fixer,
                form,
                developer_id: None,
                developer_part: 1,
                water_parts: None,
                mg_per_litre,
                rolls_per_litre_milli: None,
                working_keeps_days: None,
                opened_keeps_days: None,
                size: 1000,
                reorder_at: 0,
                price: 0,
                sheet: Sheet::default(),
                note: String::new(),
            },
        }
    }

    #[test]
    fn a_dilution_of_1_plus_32_is_33_parts() {
        // Common practice, no source: a 485 ml tank at 1+32 takes 14.7 ml.
        let taken = from_the_shelf(&product(Form::Concentrate, None), 485_000, 32).unwrap();
        assert_eq!(taken, 14_697);
        assert_eq!(from_the_shelf(&product(Form::Ready, None), 485_000, 32).unwrap(), 485_000);
        let powder = product(Form::Powder, Some(100_000));
        assert_eq!(from_the_shelf(&powder, 5_000_000, 0).unwrap(), 500_000);
        assert!(from_the_shelf(&product(Form::Powder, None), 1, 0).is_err());
    }

    #[test]
    fn capacity_is_volume_times_rate_times_margin() {
        // S. Anchell, The Darkroom Cookbook, 3rd ed. 2008, p. 108: 20 rolls of 80 in2 a litre for
        // an acid fixer, 25 for an alkaline one; the studio's margin is common practice.
        assert_eq!(capacity_milli(1_000_000, 20_000, 100).unwrap(), 20_000);
        assert_eq!(capacity_milli(1_000_000, 25_000, 100).unwrap(), 25_000);
        assert_eq!(capacity_milli(2_000_000, 20_000, 75).unwrap(), 30_000);
        // SB-5 stop bath: about 12 rolls a litre (the same, p. 268).
        assert_eq!(capacity_milli(1_000_000, 12_000, 100).unwrap(), 12_000);
        assert!(capacity_milli(1, 20_000, 75).is_err());
    }
}
