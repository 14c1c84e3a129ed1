use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::Fact;
use super::product::{DrawLine, draw_line};
use crate::app::App;
use crate::error::Error;
use crate::sessions::Role;
use crate::shelf::{self, Purpose, Standing, figure, money};
use crate::web::{Filled, Flash, Form, Lead, Member, go, show_form};

#[derive(Serialize)]
struct OnePage {
    id: i64,
    product_id: i64,
    product: String,
    vessel: &'static str,
    unit: &'static str,
    word: &'static str,
    tone: &'static str,
    why: String,
    asks_test: bool,
    facts: Vec<Fact>,
    history: Vec<DrawLine>,
    lead: bool,
    sealed: bool,
    developer: bool,
    set_aside: bool,
    open_form: Form,
    test_form: Form,
    count_form: Form,
    aside_form: Form,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    (id, shown): (i64, Option<Form>),
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let ((bottle, product), history, settings) = app
        .db
        .read(move |conn| {
            let found = shelf::bottle(conn, id)?;
            let history = shelf::history(conn, found.1.id, Some(id))?;
            Ok((found, history, shelf::settings(conn)?))
        })
        .await?;
    let (words, zone) = (app.words(Some(member)), app.zone());
    let of = &product.of;
    let known = bottle.facts(zone, of.opened_keeps_days);
    let standing = known.standing(zone.date(now));
    let day = |d: Option<chrono::NaiveDate>| d.map_or_else(|| "none".to_owned(), |d| words.date(d));
    let moment = |m: Option<_>| m.map_or_else(|| "not yet".to_owned(), |m| words.moment(m));
    let form = |action: &str| match &shown {
        Some(f) if f.action == action => f.clone(),
        _ => Form::new(action),
    };
    let at = |what: &str| format!("/shelf/bottles/{id}/{what}");
    let page = OnePage {
        id,
        product_id: product.id,
        product: of.name.clone(),
        vessel: of.form.vessel(),
        unit: of.form.unit(),
        word: standing.name(),
        tone: standing.tone(),
        why: bottle.set_aside_why.clone(),
        asks_test: shelf::asks_scrap_test(&product, &bottle, (now, settings.opened_long_days)),
        facts: vec![
            Fact { term: "Left in it", text: of.form.amount(bottle.held) },
            Fact { term: "Full", text: of.form.amount(bottle.size) },
            Fact { term: "Lot", text: bottle.lot.clone() },
            Fact { term: "Date on it", text: day(bottle.expires) },
            Fact { term: "Good until", text: day(known.good_until()) },
            Fact { term: "Came", text: words.moment(bottle.received) },
            Fact { term: "Opened", text: moment(bottle.opened) },
            Fact { term: "Price", text: format!("{} {}", money(bottle.price), settings.currency) },
        ],
        history: history.into_iter().map(|d| draw_line(d, of.form, &words)).collect(),
        lead: member.role == Role::Lead,
        sealed: standing == Standing::Sealed,
        developer: of.purpose == Purpose::Developer,
        set_aside: standing == Standing::SetAside,
        open_form: form(&at("open")),
        test_form: form(&at("scrap-tests")),
        count_form: match form(&at("count")) {
            f if f.values.is_empty() => f.with("actual", figure(bottle.held)),
            f => f,
        },
        aside_form: form(&at("set-aside")),
    };
    let status = shown.unwrap_or_else(|| Form::new(""));
    let title = format!("{}, {} {id}", page.product, page.vessel);
    show_form(app, req, (&title, "shelf/bottle.html"), &status, &page)
}

pub(super) async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    page(&app, &req, &member, (id.into_inner(), None)).await
}

/// Goes back to the bottle, or shows its page again with what was wrong.
async fn answer(
    app: &web::Data<App>,
    req: &HttpRequest,
    (lead, id): (&Lead, i64),
    filled: &Filled,
    (done, said): (Result<(), Error>, &str),
) -> Result<HttpResponse, Error> {
    match done {
        Ok(()) => Ok(go(&format!("/shelf/bottles/{id}"), Some(Flash::good(said)))),
        Err(e) => {
            let form = filled.again(e)?;
            page(app, req, &Member(lead.0.clone()), (id, Some(form))).await
        }
    }
}

pub(super) async fn open(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, now) = (id.into_inner(), app.clock.now());
    let once = filled.once(&app, Some(&lead))?;
    let done = app.db.write_once(once, move |tx| shelf::open_bottle(tx, now, id)).await;
    let said = "It is open from now on. Write the date on it.";
    answer(&app, &req, (&lead, id), &filled, (done, said)).await
}

pub(super) async fn count(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let actual = filled.fields.decimal("actual", "what is left in it", 0..=100_000_000);
    let why = filled.fields.text("why", "why it differs", 1..=200);
    let counted = filled.fields.whole(actual.zip(why));
    let done = filled
        .keep(&app, &lead, counted, move |tx, (actual, why)| shelf::count(tx, at, id, *actual, why))
        .await;
    answer(&app, &req, (&lead, id), &filled, (done, "The stock is corrected.")).await
}

pub(super) async fn scrap_test(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let result = filled.fields.choice("result", "what the scrap did", &["black", "pale"]);
    let result = filled.fields.whole(result);
    let done = filled
        .keep(&app, &lead, result, move |tx, said| shelf::scrap_test(tx, at, id, said == "black"))
        .await;
    answer(&app, &req, (&lead, id), &filled, (done, "The test is recorded.")).await
}

pub(super) async fn set_aside(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, at) = (id.into_inner(), (app.clock.now(), lead.id));
    let why = filled.fields.text("reason", "a reason", 1..=300);
    let why = filled.fields.whole(why);
    let done =
        filled.keep(&app, &lead, why, move |tx, why| shelf::set_aside(tx, at, id, why)).await;
    let said = "Set aside. Nothing more is drawn from it; see below which films it went to.";
    answer(&app, &req, (&lead, id), &filled, (done, said)).await
}
