use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::list::{forms, purposes};
use super::sheet::{
    SheetLine, StrengthFields, read_sheet, sheet_lines, strength_fields, with_sheet,
};
use super::{Choice, Fact};
use crate::app::App;
use crate::error::Error;
use crate::hazards::Strength;
use crate::recipes::{self, Developer, DeveloperPart};
use crate::sessions::Role;
use crate::shelf::{self, Delivery, Drawn, NewProduct, Product, Purpose, Stock, figure, money};
use crate::web::{Fields, Filled, Flash, Form, Lead, Member, Words, counted, go, show_form};

#[derive(Serialize)]
struct EditPage {
    title: String,
    form: Form,
    purposes: Vec<Choice>,
    forms: Vec<Choice>,
    developers: Vec<Choice>,
    signals: Vec<Choice>,
    strengths: Vec<StrengthFields>,
    back: String,
}

/// A developer of the time chart to choose, or each of its parts.
fn on_the_chart(d: &Developer) -> Vec<Choice> {
    let parts = d.parts();
    if parts.is_empty() {
        return vec![Choice::new(&d.id, d.name.clone())];
    }
    let choice = |(part, place): (DeveloperPart, i64)| {
        Choice::new(&made_as(d.id, place), format!("{}: {}", d.name, part.name))
    };
    parts.into_iter().zip(1..).map(choice).collect()
}

/// A developer and which of its parts, as the form has it: `12`, or `12.2` for its second.
fn made_as(developer: i64, part: i64) -> String {
    if part == 1 { developer.to_string() } else { format!("{developer}.{part}") }
}

fn read_made_as(typed: &str) -> (Option<i64>, i64) {
    let (developer, part) = typed.split_once('.').unwrap_or((typed, "1"));
    match (developer.parse(), part.parse()) {
        (Ok(developer), Ok(part @ 1..=6)) => (Some(developer), part),
        _ => (None, 1),
    }
}

async fn edit_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    form: Form,
    (title, back): (String, String),
) -> Result<HttpResponse, Error> {
    let developers = app.db.read(recipes::developers).await?;
    let page = EditPage {
        title,
        purposes: purposes(),
        forms: forms(),
        developers: developers.iter().flat_map(on_the_chart).collect(),
        signals: ["Warning", "Danger"].map(|w| Choice::new(&w, w)).into(),
        strengths: Strength::ALL.map(strength_fields).into(),
        back,
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, ("A product", "shelf/product_form.html"), &shown, &page)
}

pub(super) async fn new(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let form = Form::new("/shelf/products/new").with("reorder_at", 0).with("price", "0");
    edit_page(&app, &req, form, ("Add a product".to_owned(), "/shelf".to_owned())).await
}

/// Most of one bottle: a hundred litres or kilograms, in thousandths of ml or g.
const MOST: i64 = 100_000_000;

/// An optional whole number of days.
fn days(f: &mut Fields, name: &str, what: &str) -> Option<Option<i64>> {
    if f.raw(name).trim().is_empty() {
        return Some(None);
    }
    f.number(name, what, 1..=3650).map(Some)
}

/// A price as typed, in the smallest coin.
fn price(f: &mut Fields, name: &str) -> Option<i64> {
    f.decimal(name, "a price", 0..=100_000_000).map(|n| n / 10)
}

fn read(f: &mut Fields) -> Result<NewProduct, Error> {
    let words: Vec<&str> = Purpose::ALL.iter().map(|p| p.1).collect();
    let name = f.text("name", "a name", 1..=80);
    let purpose = f.choice("purpose", "what it is for", &words);
    let kinds: Vec<&str> = shelf::Form::ALL.iter().map(|p| p.1).collect();
    let form = f.choice("form", "how it comes", &kinds);
    let (developer, developer_part) = read_made_as(f.raw("developer"));
    let water = f.decimal_or_none("water_parts", "parts of water", 0..=1_000_000);
    if f.raw("water_parts").contains(['.', ',']) {
        f.fault("water_parts", "Write whole parts of water to one of concentrate, such as 4.");
    }
    let per_litre = f.decimal_or_none("g_per_litre", "grams for a litre", 1..=2_000_000);
    let rolls = f.decimal_or_none("rolls_per_litre", "rolls' worth per litre", 1..=1_000_000);
    let working = days(f, "working_keeps_days", "how many days it keeps when mixed");
    let opened = days(f, "opened_keeps_days", "how many days it keeps once open");
    let size = f.decimal("size", "what one holds", 1..=MOST);
    let reorder = f.decimal("reorder_at", "the stock at which to buy", 0..=MOST);
    let price = price(f, "price");
    let sheet = read_sheet(f);
    let note = f.text("note", "a note", 0..=500);
    f.done()?;
    let (Some(name), Some(purpose), Some(form), Some(sheet), Some(note)) =
        (name, purpose, form, sheet, note)
    else {
        return Err(f.faults());
    };
    let (Some(size), Some(reorder_at), Some(price)) = (size, reorder, price) else {
        return Err(f.faults());
    };
    let (Some(purpose), Some(form)) = (Purpose::from_word(&purpose), shelf::Form::from_word(&form))
    else {
        return Err(f.faults());
    };
    Ok(NewProduct {
        name,
        purpose,
        form,
        developer_id: developer,
        developer_part,
        water_parts: water.flatten().map(|n| n / 1000),
        mg_per_litre: per_litre.flatten(),
        rolls_per_litre_milli: rolls.flatten(),
        working_keeps_days: working.flatten(),
        opened_keeps_days: opened.flatten(),
        size,
        reorder_at,
        price,
        sheet,
        note,
    })
}

fn filled_in(p: &Product) -> Form {
    let of = &p.of;
    let text = |n: Option<i64>| n.map(|n| n.to_string()).unwrap_or_default();
    with_sheet(Form::new(&format!("/shelf/products/{}/change", p.id)), &of.sheet)
        .of_version(p.version)
        .with("name", &of.name)
        .with("purpose", of.purpose.word())
        .with("form", of.form.word())
        .with(
            "developer",
            of.developer_id.map(|d| made_as(d, of.developer_part)).unwrap_or_default(),
        )
        .with("water_parts", text(of.water_parts))
        .with("g_per_litre", of.mg_per_litre.map(figure).unwrap_or_default())
        .with("rolls_per_litre", of.rolls_per_litre_milli.map(figure).unwrap_or_default())
        .with("working_keeps_days", text(of.working_keeps_days))
        .with("opened_keeps_days", text(of.opened_keeps_days))
        .with("size", figure(of.size))
        .with("reorder_at", figure(of.reorder_at))
        .with("price", money(of.price))
        .with("note", &of.note)
}

pub(super) async fn add(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let new = read(&mut filled.fields);
    let done = filled.keep(&app, &lead, new, shelf::add_product).await;
    match done {
        Ok(id) => Ok(go(
            &format!("/shelf/products/{id}"),
            Some(Flash::good("The product is on the list. Take in its first delivery below.")),
        )),
        Err(e) => {
            let form = filled.again(e)?;
            edit_page(&app, &req, form, ("Add a product".to_owned(), "/shelf".to_owned())).await
        }
    }
}

pub(super) async fn edit(
    app: web::Data<App>,
    req: HttpRequest,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let p = app.db.read(move |conn| shelf::product(conn, id)).await?;
    let back = format!("/shelf/products/{id}");
    edit_page(&app, &req, filled_in(&p), (p.of.name.clone(), back)).await
}

pub(super) async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let back = format!("/shelf/products/{id}");
    let known = app.db.read(move |conn| shelf::product(conn, id)).await?;
    let version = filled.version();
    let to = read(&mut filled.fields).map(|of| Product { id, of, version });
    let done = filled.keep(&app, &lead, to, shelf::change_product).await;
    match done {
        Ok(()) => Ok(go(&back, Some(Flash::good("The product is changed.")))),
        Err(e) => edit_page(&app, &req, filled.again(e)?, (known.of.name, back)).await,
    }
}

#[derive(Serialize)]
struct BottleLine {
    id: i64,
    lot: String,
    held: String,
    of: String,
    until: String,
    word: &'static str,
    tone: &'static str,
}

/// One line of a history in words.
#[derive(Serialize)]
pub(super) struct DrawLine {
    at: String,
    bottle: i64,
    what: &'static str,
    amount: String,
    who: String,
    why: String,
}

pub(super) fn draw_line(d: Drawn, form: shelf::Form, words: &Words) -> DrawLine {
    DrawLine {
        at: words.moment(d.at),
        bottle: d.bottle,
        what: d.kind.name(),
        amount: if d.amount == 0 { "none".to_owned() } else { form.amount(-d.amount) },
        who: d.by.unwrap_or_default(),
        why: d.why,
    }
}

#[derive(Serialize)]
struct OnePage {
    id: i64,
    name: String,
    hazards: Vec<SheetLine>,
    facts: Vec<Fact>,
    vessel: &'static str,
    bottles: Vec<BottleLine>,
    history: Vec<DrawLine>,
    unit: &'static str,
    form: Form,
    lead: bool,
    mixes: bool,
}

fn facts(stock: &Stock, currency: &str) -> Vec<Fact> {
    let of = &stock.product.of;
    let mut all = vec![
        Fact { term: "For", text: of.purpose.name().to_owned() },
        Fact { term: "Comes as", text: of.form.name().to_owned() },
        Fact { term: "May be used now", text: of.form.amount(stock.usable) },
    ];
    let mut add = |term, text: Option<String>| {
        if let Some(text) = text {
            all.push(Fact { term, text });
        }
    };
    add("Published plans will draw", (stock.planned > 0).then(|| of.form.amount(stock.planned)));
    add("Usual dilution", of.water_parts.map(|w| format!("1+{w}")));
    add("Powder for a litre", of.mg_per_litre.map(|m| of.form.amount(m)));
    add(
        "A litre of working solution takes",
        of.rolls_per_litre_milli.map(|r| format!("{} rolls' worth", figure(r))),
    );
    add("Keeps when mixed", of.working_keeps_days.map(|d| counted(d, "day", "days")));
    add("Keeps once open", of.opened_keeps_days.map(|d| counted(d, "day", "days")));
    add("Buy at", (of.reorder_at > 0).then(|| of.form.amount(of.reorder_at)));
    add("Price", Some(format!("{} {currency} for {}", money(of.price), of.form.amount(of.size))));
    add("Note", (!of.note.is_empty()).then(|| of.note.clone()));
    all
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    (id, form): (i64, Option<Form>),
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let (stock, history, settings) = app
        .db
        .read(move |conn| {
            Ok((
                shelf::stock_of_product(conn, now, id)?,
                shelf::history(conn, id, None)?,
                shelf::settings(conn)?,
            ))
        })
        .await?;
    let words = app.words(Some(member));
    let of = stock.product.of.clone();
    let form = form.unwrap_or_else(|| {
        Form::new(&format!("/shelf/products/{id}/bottles"))
            .with("count", 1)
            .with("size", figure(of.size))
            .with("price", money(of.price))
    });
    let shape = of.form;
    let page = OnePage {
        id,
        facts: facts(&stock, &settings.currency),
        vessel: shape.vessel(),
        bottles: stock
            .bottles
            .iter()
            .map(|(b, standing, until)| BottleLine {
                id: b.id,
                lot: b.lot.clone(),
                held: shape.amount(b.held),
                of: shape.amount(b.size),
                until: until.map_or_else(|| "no date".to_owned(), |d| words.date(d)),
                word: standing.name(),
                tone: standing.tone(),
            })
            .collect(),
        history: history.into_iter().map(|d| draw_line(d, shape, &words)).collect(),
        unit: shape.unit(),
        lead: member.role == Role::Lead,
        mixes: !matches!(of.purpose, Purpose::Bleach | Purpose::Other),
        name: of.name,
        hazards: sheet_lines(&of.sheet),
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, (&page.name, "shelf/product.html"), &shown, &page)
}

pub(super) async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    page(&app, &req, &member, (id.into_inner(), None)).await
}

fn read_delivery(f: &mut Fields, product: i64) -> Result<Delivery, Error> {
    let lot = f.text("lot", "the lot's number", 1..=40);
    let dated = !f.raw("expires").trim().is_empty();
    let expires = if dated { f.date("expires", "the date on it") } else { None };
    let count = f.number("count", "how many came", 1..=60);
    let size = f.decimal("size", "what one holds", 1..=MOST);
    let price = price(f, "price");
    f.done()?;
    match (lot, count, size, price) {
        (Some(lot), Some(count), Some(size), Some(price)) => {
            Ok(Delivery { product, lot, expires, count, size, price })
        }
        _ => Err(f.faults()),
    }
}

pub(super) async fn take_in(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, now) = (id.into_inner(), app.clock.now());
    let new = read_delivery(&mut filled.fields, id);
    match filled.keep(&app, &lead, new, move |tx, new| shelf::take_in(tx, now, new)).await {
        Ok(bottles) => {
            let numbers: Vec<String> = bottles.iter().map(ToString::to_string).collect();
            let said = format!("On the shelf. Write on each its number: {}.", numbers.join(", "));
            Ok(go(&format!("/shelf/products/{id}"), Some(Flash::good(said))))
        }
        Err(e) => {
            let form = filled.again(e)?;
            page(&app, &req, &Member(lead.0.clone()), (id, Some(form))).await
        }
    }
}
