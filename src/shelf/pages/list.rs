use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::sessions::Role;
use crate::shelf::{self, Bottle, Form, Purpose, Standing, Stock, money, rules};
use crate::web::{Member, Words, counted, csv_file, show};

#[derive(Serialize)]
struct Line {
    id: i64,
    name: String,
    purpose: &'static str,
    usable: String,
    vessels: String,
    planned: Option<String>,
    until: String,
    word: &'static str,
    tone: &'static str,
}

#[derive(Serialize)]
struct Attention {
    href: String,
    text: String,
    word: &'static str,
    tone: &'static str,
}

#[derive(Serialize)]
struct Buy {
    count: String,
    name: String,
    price: String,
}

#[derive(Serialize)]
struct ListPage {
    lines: Vec<Line>,
    attention: Vec<Attention>,
    shopping: Vec<Buy>,
    sum: String,
    currency: String,
    lead: bool,
}

/// How a product stands, in one word.
fn standing(stock: &Stock) -> (&'static str, &'static str) {
    if stock.usable < stock.planned {
        ("Too little for the plans", "bad")
    } else if stock.usable == 0 && stock.product.of.reorder_at > 0 {
        ("None left", "bad")
    } else if stock.to_buy > 0 {
        ("Time to buy", "note")
    } else if stock.usable == 0 {
        ("None", "off")
    } else {
        ("Enough", "good")
    }
}

fn line(stock: &Stock) -> Line {
    let of = &stock.product.of;
    let (word, tone) = standing(stock);
    let first = stock.bottles.iter().find(|b| matches!(b.1, Standing::Opened | Standing::Sealed));
    let count = |s| stock.bottles.iter().filter(|b| b.1 == s).count();
    Line {
        id: stock.product.id,
        name: of.name.clone(),
        purpose: of.purpose.name(),
        usable: of.form.amount(stock.usable),
        vessels: format!("{} opened, {} sealed", count(Standing::Opened), count(Standing::Sealed)),
        planned: (stock.planned > 0).then(|| of.form.amount(stock.planned)),
        until: first
            .and_then(|b| b.2)
            .map_or_else(|| "no date".to_owned(), |d| d.format("%-d %b %Y").to_string()),
        word,
        tone,
    }
}

/// Why a bottle wants to be looked at, if it does.
fn wants(
    stock: &Stock,
    (bottle, standing, until): &(Bottle, Standing, Option<chrono::NaiveDate>),
    (today, long): (chrono::NaiveDate, bool),
    words: &Words,
) -> Option<Attention> {
    let of = &stock.product.of;
    let name = format!("{}, {} {}", of.name, of.form.vessel(), bottle.id);
    let left = of.form.amount(bottle.held);
    let (text, word, tone) = match (standing, until) {
        (Standing::Expired, Some(day)) => {
            (format!("{name}: {left}, good until {}", words.date(*day)), "Past its date", "bad")
        }
        (Standing::SetAside, _) => {
            (format!("{name}: {}", bottle.set_aside_why), "Set aside", "bad")
        }
        (_, Some(day)) if rules::is_expiring(Some(*day), today) => (
            format!("{name}: {left}, good until {}; use it first", words.date(*day)),
            "Expires soon",
            "note",
        ),
        (Standing::Opened, _) if long => (
            format!("{name}: open for a long time; try a scrap of leader before the first run"),
            "Test it first",
            "note",
        ),
        _ => return None,
    };
    Some(Attention { href: format!("/shelf/bottles/{}", bottle.id), text, word, tone })
}

pub(super) async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let (stock, settings) =
        app.db.read(move |conn| Ok((shelf::stock(conn, now)?, shelf::settings(conn)?))).await?;
    let words = app.words(Some(&member));
    let today = app.zone().date(now);
    let mut attention = Vec::new();
    for s in &stock {
        for b in &s.bottles {
            let long = shelf::asks_scrap_test(&s.product, &b.0, (now, settings.opened_long_days));
            attention.extend(wants(s, b, (today, long), &words));
        }
    }
    attention.sort_by_key(|a| a.tone != "bad");
    let bought: Vec<&Stock> = stock.iter().filter(|s| s.to_buy > 0).collect();
    let sum: i64 = bought.iter().map(|s| s.to_buy * s.product.of.price).sum();
    let page = ListPage {
        lines: stock.iter().map(line).collect(),
        attention,
        shopping: bought.iter().map(|s| buy(s)).collect(),
        sum: money(sum),
        currency: settings.currency,
        lead: member.role == Role::Lead,
    };
    show(&app, &req, "The shelf", "shelf/list.html", &page)
}

fn buy(s: &Stock) -> Buy {
    let of = &s.product.of;
    let (vessel, vessels) = of.form.vessels();
    let count = counted(s.to_buy, vessel, vessels);
    Buy {
        count: format!("{count} of {}", of.form.amount(of.size)),
        name: of.name.clone(),
        price: money(s.to_buy * of.price),
    }
}

pub(super) async fn shopping(app: web::Data<App>, _member: Member) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let stock = app.db.read(move |conn| shelf::stock(conn, now)).await?;
    let mut rows = vec![
        [
            "product",
            "for",
            "how many",
            "size",
            "unit",
            "in stock",
            "plans will draw",
            "price each",
            "price",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    for s in stock.iter().filter(|s| s.to_buy > 0) {
        let of = &s.product.of;
        rows.push(vec![
            of.name.clone(),
            of.purpose.name().to_owned(),
            s.to_buy.to_string(),
            shelf::figure(of.size),
            of.form.unit().to_owned(),
            shelf::figure(s.usable),
            shelf::figure(s.planned),
            money(of.price),
            money(s.to_buy * of.price),
        ]);
    }
    csv_file("shopping-list.csv", &rows)
}

/// The choices of a product's form.
pub(super) fn purposes() -> Vec<super::Choice> {
    Purpose::ALL.iter().map(|p| super::Choice::new(&p.1, p.2)).collect()
}

/// The ways a product can come.
pub(super) fn forms() -> Vec<super::Choice> {
    Form::ALL.iter().map(|f| super::Choice::new(&f.1, f.2)).collect()
}
