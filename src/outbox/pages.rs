use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{LetterRow, compose, store};
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::web::{Filled, Flash, Form, Lead, Routes, Who, Words, go, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/letters", Who::Lead, list);
    open.post("/letters/{id}/retry", Who::Lead, retry);
    open.get("/letters/unwanted/{member}/{kind}/{seal}", Who::Anyone, ask_unwanted);
    open.post("/letters/unwanted/{member}/{kind}/{seal}", Who::Anyone, unwanted);
    open.get("/demo/letters", Who::Anyone, demo_list);
    open.get("/demo/letters/{id}", Who::Anyone, demo_one);
}

#[derive(Serialize)]
struct Line {
    id: i64,
    to: String,
    subject: String,
    written: String,
    attempts: i64,
    said: String,
    sent: bool,
    retry: Form,
}

impl Line {
    fn of(row: LetterRow, words: &Words) -> Line {
        Line {
            id: row.id,
            to: format!("{} <{}>", row.to_name, row.to_address),
            written: words.moment(Moment(row.created_s)),
            subject: row.subject,
            attempts: row.attempts,
            said: row.last_error.unwrap_or_default(),
            sent: row.sent_s.is_some(),
            retry: Form::new(&format!("/letters/{}/retry", row.id)),
        }
    }
}

#[derive(Serialize)]
struct ListPage {
    parked: Vec<Line>,
    waiting: Vec<Line>,
}

async fn list(app: web::Data<App>, req: HttpRequest, lead: Lead) -> Result<HttpResponse, Error> {
    let words = app.words(Some(&lead));
    let (parked, waiting) =
        app.db.read(|conn| Ok((store::parked(conn)?, store::waiting(conn)?))).await?;
    let lines = |rows: Vec<LetterRow>| rows.into_iter().map(|r| Line::of(r, &words)).collect();
    let page = ListPage { parked: lines(parked), waiting: lines(waiting) };
    show(&app, &req, "Letters", "letters/list.html", &page)
}

async fn retry(
    app: web::Data<App>,
    _lead: Lead,
    id: web::Path<i64>,
    _filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, now) = (id.into_inner(), app.clock.now());
    match app.db.write(move |tx| store::unpark(tx, now, id)).await {
        // A second press finds it no longer parked, which is what was wanted.
        Ok(()) | Err(Error::NotFound) => {}
        Err(e) => return Err(e),
    }
    Ok(go("/letters", Some(Flash::good("The letter is on its way again."))))
}

#[derive(Serialize)]
struct UnwantedPage {
    form: Form,
    kind: String,
    done: bool,
}

type Sealed = web::Path<(i64, String, String)>;

fn checked(app: &App, path: Sealed) -> Result<(i64, String), Error> {
    let (member, kind, seal) = path.into_inner();
    let good = app.key.is_seal(&compose::unwanted_text(member, &kind), &seal);
    if good { Ok((member, kind)) } else { Err(Error::NotFound) }
}

async fn ask_unwanted(
    app: web::Data<App>,
    req: HttpRequest,
    path: Sealed,
) -> Result<HttpResponse, Error> {
    let (_, kind) = checked(&app, path)?;
    let page =
        UnwantedPage { form: Form::new(req.path()), kind: kind.replace('_', " "), done: false };
    show(&app, &req, "Letters you can do without", "letters/unwanted.html", &page)
}

/// Mail programs send this by themselves (RFC 8058), so it takes any body and needs no session.
async fn unwanted(
    app: web::Data<App>,
    req: HttpRequest,
    path: Sealed,
) -> Result<HttpResponse, Error> {
    let (member, kind) = checked(&app, path)?;
    let name = kind.clone();
    app.db.write(move |tx| super::want(tx, member, &name, false)).await?;
    let page =
        UnwantedPage { form: Form::new(req.path()), kind: kind.replace('_', " "), done: true };
    show(&app, &req, "Letters you can do without", "letters/unwanted.html", &page)
}

#[derive(Serialize)]
struct DemoList {
    letters: Vec<Line>,
}

async fn demo_list(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    only_in_demo(&app)?;
    let words = app.words(None);
    let rows = app.db.read(|conn| store::latest(conn, 100)).await?;
    let letters = rows.into_iter().map(|r| Line::of(r, &words)).collect();
    show(&app, &req, "Demo post", "letters/demo_list.html", &DemoList { letters })
}

#[derive(Serialize)]
struct DemoOne {
    line: Line,
    text: String,
}

async fn demo_one(
    app: web::Data<App>,
    req: HttpRequest,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    only_in_demo(&app)?;
    let id = id.into_inner();
    let shared = app.clone();
    let (row, text) = app
        .db
        .read(move |conn| {
            let row = store::one(conn, id)?;
            let text = compose::text(&shared, conn, &row)?;
            Ok((row, text))
        })
        .await?;
    let page = DemoOne { line: Line::of(row, &app.words(None)), text };
    show(&app, &req, "A letter", "letters/demo_one.html", &page)
}

/// Letters hold secret links; only the invented studio shows them to everyone.
fn only_in_demo(app: &App) -> Result<(), Error> {
    if app.config.demo { Ok(()) } else { Err(Error::NotFound) }
}
