use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::Choice;
use crate::app::App;
use crate::baths;
use crate::baths::mixing::{Mixing, from_the_shelf, kind_of};
use crate::baths::rules::{Growth, Kind, Material, Place, Replenisher, Way};
use crate::db::Conn;
use crate::error::Error;
use crate::hazards::Strength;
use crate::shelf::{self, Product, Purpose, Settings, Stock, figure};
use crate::sinks;
use crate::web::{Asked, Fields, Filled, Flash, Form, Lead, go, show_form};

#[derive(Serialize)]
struct MixPage {
    products: Vec<Choice>,
    chosen: Option<Chosen>,
    /// How much of each goes in, where it was asked for.
    parts: Option<String>,
    form: Form,
}

/// The product a bath is to be mixed from.
#[derive(Serialize)]
struct Chosen {
    id: i64,
    name: String,
    kind: &'static str,
    hazards: String,
    stock: String,
    form: String,
    concentrate: bool,
    developer: bool,
    fixer: bool,
    places: Vec<Choice>,
    materials: Vec<Choice>,
    ways: Vec<Choice>,
    replenishers: Vec<Choice>,
    capacity_source: &'static str,
}

struct Facts {
    products: Vec<Product>,
    stock: Option<Stock>,
    settings: Settings,
    least_ml: i64,
}

fn facts(conn: &mut Conn, now: crate::clock::Moment, product: Option<i64>) -> Result<Facts, Error> {
    let products = shelf::products(conn)?;
    let stock = product.map(|p| shelf::stock_of_product(conn, now, p)).transpose()?;
    let tanks = sinks::tanks(conn)?;
    Ok(Facts {
        products,
        stock,
        settings: shelf::settings(conn)?,
        least_ml: tanks.iter().map(|t| t.min_ml).min().unwrap_or(0),
    })
}

/// Rolls' worth a litre takes where the maker's sheet was not typed in, and where that is from.
fn usual_capacity(purpose: Purpose) -> (&'static str, &'static str) {
    match purpose {
        Purpose::Fixer => (
            "20",
            "20 is a safe figure for an acid film fixer where it is not known (Anchell 2008, \
             p. 108).",
        ),
        Purpose::Stop => ("12", "12 for a stop bath like SB-5 (Anchell 2008, p. 268)."),
        _ => ("", "From the maker's sheet; there is no usual figure."),
    }
}

fn filled_in(f: &Facts) -> Form {
    let Some(stock) = &f.stock else { return Form::new("/baths") };
    let of = &stock.product.of;
    let (usual, _) = usual_capacity(of.purpose);
    let per_litre = of.rolls_per_litre_milli.map_or_else(|| usual.to_owned(), figure);
    let keeps = of.working_keeps_days.or((of.purpose == Purpose::Fixer).then_some(60));
    Form::new("/baths")
        .with("product", stock.product.id)
        .with("water_parts", of.water_parts.unwrap_or(0))
        .with("rolls_per_litre", per_litre)
        .with("margin", f.settings.margin_percent)
        .with("place", Place::Working.word())
        .with("material", Material::Film.word())
        .with("way", Way::Shared.word())
        .with("keeps_days", keeps.map(|d| d.to_string()).unwrap_or_default())
        .with("minutes", if of.purpose == Purpose::Fixer { "5" } else { "1" })
        .with("least_ml", f.least_ml)
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    (product, form): (Option<i64>, Option<Form>),
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let f = app.db.read(move |conn| facts(conn, now, product)).await?;
    let form = form.unwrap_or_else(|| filled_in(&f));
    let mixed = |p: &&Product| kind_of(p.of.purpose).is_ok();
    let page = MixPage {
        products: f
            .products
            .iter()
            .filter(mixed)
            .map(|p| Choice::new(&p.id, p.of.name.clone()))
            .collect(),
        chosen: f.stock.as_ref().and_then(|stock| chosen(stock, &f.products)),
        parts: f.stock.as_ref().and_then(|stock| parts(stock, &form)),
        form,
    };
    let status = page.form.clone();
    show_form(app, req, ("Mix a bath", "baths/mix.html"), &status, &page)
}

/// What is measured for the volume that stands in the form, in the order in which it is poured:
/// three quarters of the water first (DIL-16, DIL-17), chemical into water. Nothing where no volume
/// is typed yet.
fn parts(stock: &Stock, form: &Form) -> Option<String> {
    let typed = |name: &str| form.values.get(name).map_or("", |v| v.trim());
    let mut fields = Fields::parse(
        serde_urlencoded::to_string([("v", typed("volume_ml")), ("w", typed("water_parts"))])
            .unwrap_or_default()
            .as_bytes(),
    )
    .ok()?;
    let volume_ul = fields.decimal("v", "a volume in ml", 50_000..=100_000_000)?;
    let water =
        if typed("water_parts").is_empty() { 0 } else { fields.number("w", "", 0..=1000)? };
    let of = &stock.product.of;
    let needed = from_the_shelf(&stock.product, volume_ul, water).ok()?;
    let (name, amount) = (&of.name, of.form.amount(needed));
    let ml = |ul: i64| format!("{}\u{202f}ml", figure(ul));
    let said = match of.form {
        shelf::Form::Ready => format!("{amount} of {name}, as it is."),
        shelf::Form::Concentrate if water == 0 => format!("{amount} of {name}, as it is."),
        shelf::Form::Concentrate => format!(
            "{amount} of {name} and {} of water make {}. Three quarters of the water first, then \
             {name} into it, then the rest of the water.",
            ml(volume_ul - needed),
            ml(volume_ul)
        ),
        shelf::Form::Powder => format!(
            "{amount} of {name}. Three quarters of the water first, then the powder into it, \
             stirred until it is clear, then water up to {}.",
            ml(volume_ul)
        ),
    };
    let short = needed > stock.usable;
    let short =
        short.then(|| format!(" Only {} stand on the shelf.", of.form.amount(stock.usable)));
    Some(format!("{said}{}", short.unwrap_or_default()))
}

fn chosen(stock: &Stock, all: &[Product]) -> Option<Chosen> {
    let of = &stock.product.of;
    let kind = kind_of(of.purpose).ok()?;
    Some(Chosen {
        id: stock.product.id,
        name: of.name.clone(),
        kind: kind.name(),
        hazards: of.sheet.told(Strength::Concentrate),
        stock: of.form.amount(stock.usable),
        form: of.form.name().to_lowercase(),
        concentrate: of.form == shelf::Form::Concentrate,
        developer: kind == Kind::Developer,
        fixer: kind == Kind::Fixer,
        places: Place::ALL.iter().map(|p| Choice::new(&p.1, p.2)).collect(),
        materials: Material::ALL.iter().map(|p| Choice::new(&p.1, p.2)).collect(),
        ways: Way::ALL.iter().map(|p| Choice::new(&p.1, p.2)).collect(),
        replenishers: all
            .iter()
            .filter(|p| p.of.purpose == Purpose::Developer)
            .map(|p| Choice::new(&p.id, p.of.name.clone()))
            .collect(),
        capacity_source: usual_capacity(of.purpose).1,
    })
}

pub(super) async fn new(
    app: web::Data<App>,
    req: HttpRequest,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let product = asked.0.raw("product").parse().ok();
    // Asked how much of each goes in, with the form as far as it is filled in.
    let typed = !asked.0.raw("volume_ml").is_empty();
    let form = typed.then(|| Form { values: asked.0.values(), ..Form::new("/baths") });
    page(&app, &req, (product, form)).await
}

fn word<T>(
    f: &mut Fields,
    (name, what): (&str, &str),
    words: &[&str],
    from: impl Fn(&str) -> Option<T>,
) -> Option<T> {
    f.choice(name, what, words).and_then(|w| from(&w))
}

/// The figures only a kept developer has.
fn read_kept(f: &mut Fields) -> (Option<Option<i64>>, Option<Growth>, Option<i64>) {
    let half = f.decimal_or_none("half_keeps_days", "a number of days", 1000..=3_650_000);
    let percent = f.decimal_or_none("growth_percent", "a share in percent", 0..=200_000);
    let every = f.decimal_or_none("growth_every", "rolls' worth", 1..=200_000);
    let replenish = f.decimal_or_none("replenish_ml", "a volume in ml", 1..=1_000_000);
    let growth = match (percent.flatten(), every.flatten()) {
        (Some(percent), Some(every_milli)) => Some(Growth { permille: percent / 100, every_milli }),
        (None, None) => None,
        _ => {
            f.fault("growth_percent", "Give both: how much more time, and for each how much film.");
            None
        }
    };
    (half.map(|h| h.map(|days| days / 1000)), growth, replenish.flatten())
}

/// What a developer is replenished with, where that comes off the shelf.
fn read_replenisher(f: &mut Fields) -> Option<Replenisher> {
    let product = f.raw("replenisher").trim().parse::<i64>().ok()?;
    let water_parts = if f.raw("replenisher_water").trim().is_empty() {
        0
    } else {
        f.number("replenisher_water", "parts of water to the replenisher", 0..=1000)?
    };
    Some(Replenisher { product, water_parts })
}

fn read(f: &mut Fields) -> Result<Mixing, Error> {
    let product = f.number("product", "a product", 1..=i64::MAX);
    let volume = f.decimal("volume_ml", "its volume in ml", 50_000..=100_000_000);
    let water = if f.raw("water_parts").trim().is_empty() {
        Some(0)
    } else {
        f.number("water_parts", "parts of water", 0..=1000)
    };
    let label = f.text("label", "what its label says", 0..=60);
    let places: Vec<&str> = Place::ALL.iter().map(|p| p.1).collect();
    let place = word(f, ("place", "where it stands"), &places, Place::from_word);
    let materials: Vec<&str> = Material::ALL.iter().map(|p| p.1).collect();
    let material = word(f, ("material", "film or paper"), &materials, Material::from_word);
    let ways: Vec<&str> = Way::ALL.iter().map(|p| p.1).collect();
    let way = word(f, ("way", "how it is kept"), &ways, Way::from_word);
    let per_litre =
        f.decimal("rolls_per_litre", "how many rolls' worth a litre takes", 1..=200_000);
    let margin = f.number("margin", "the share of it the studio uses, in percent", 10..=100);
    let least = f.decimal("least_ml", "the volume that covers the film", 0..=100_000_000);
    let minutes = f.decimal("minutes", "how many minutes film stays in it", 100..=60_000);
    let keeps = f.number("keeps_days", "how many days it keeps", 1..=3650);
    let (half, growth, replenish_ul) = read_kept(f);
    let replenisher = read_replenisher(f);
    f.done()?;
    let (Some(product), Some(volume_ul), Some(water_parts), Some(label)) =
        (product, volume, water, label)
    else {
        return Err(f.faults());
    };
    let (Some(place), Some(material), Some(way), Some(per_litre_milli), Some(margin_percent)) =
        (place, material, way, per_litre, margin)
    else {
        return Err(f.faults());
    };
    let (Some(least_ul), Some(minutes), Some(keeps_days)) = (least, minutes, keeps) else {
        return Err(f.faults());
    };
    Ok(Mixing {
        product,
        water_parts,
        volume_ul,
        label,
        place,
        material,
        way,
        per_litre_milli,
        margin_percent,
        least_ul,
        fix_s: minutes * 60 / 1000,
        keeps_days,
        half_keeps_days: half.flatten(),
        growth,
        replenish_ul,
        replenisher,
        promotions: 0,
    })
}

pub(super) async fn mix(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let at = (app.clock.now(), lead.id);
    let wish = read(&mut filled.fields);
    let done =
        filled.keep(&app, &lead, wish, move |tx, wish| baths::mix_from_shelf(tx, at, wish)).await;
    match done {
        Ok(id) => Ok(go(
            &format!("/baths/{id}/label"),
            Some(Flash::good(
                "It is mixed, and drawn from the shelf. Print its label and stick it on.",
            )),
        )),
        Err(e) => {
            let product = filled.fields.raw("product").parse().ok();
            let known = match product {
                Some(p) => app.db.read(move |conn| shelf::product(conn, p)).await.is_ok(),
                None => false,
            };
            let form = filled.again(e)?;
            page(&app, &req, (product.filter(|_| known), Some(form))).await
        }
    }
}
