//! Recipes in and out as a table.

use actix_web::http::{StatusCode, header};
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::recipes::bring_in::{self, Outcome};
use crate::recipes::csv::{self, Fault, Row};
use crate::recipes::{Search, store};
use crate::web::{Filled, Flash, Form, Lead, Member, Routes, Upload, Who, csv_file, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/chart/recipes.csv", Who::Member, table);
    open.get("/chart/bring-in", Who::Lead, ask);
    open.post("/chart/bring-in", Who::Lead, look);
    open.post("/chart/bring-in/{id}", Who::Lead, take);
}

/// Every recipe of the chart as a table.
async fn table(app: web::Data<App>, _member: Member) -> Result<HttpResponse, Error> {
    let recipes = app.db.read(|conn| store::found(conn, &Search::default())).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header((header::CONTENT_DISPOSITION, "attachment; filename=\"recipes.csv\""))
        .body(csv::write(&recipes)?))
}

#[derive(Serialize)]
struct BringInPage {
    form: Form,
    columns: String,
    faults: Vec<Fault>,
    count: usize,
    ready: Option<Ready>,
}

/// A file without a fault, and what taking it in would do.
#[derive(Serialize)]
struct Ready {
    outcome: Outcome,
    form: Form,
}

/// Faults that one page shows; the others are given as a table.
const SHOWN: usize = 500;

/// Every fault of a file as a table, for one with more of them than a page holds.
fn faults_as_table(faults: Vec<Fault>) -> Result<HttpResponse, Error> {
    let head = ["row", "column", "what_is_wrong"].map(ToOwned::to_owned);
    let row = |f: Fault| vec![f.row.to_string(), f.column, f.sentence];
    let rows: Vec<Vec<String>> =
        [head.to_vec()].into_iter().chain(faults.into_iter().map(row)).collect();
    csv_file("faults.csv", &rows)
}

fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    mut faults: Vec<Fault>,
    ready: Option<Ready>,
) -> Result<HttpResponse, Error> {
    let mut form = Form::new("/chart/bring-in");
    let count = faults.len();
    if count > 0 {
        form.status = StatusCode::UNPROCESSABLE_ENTITY.as_u16();
    }
    faults.truncate(SHOWN);
    let page = BringInPage { form, columns: csv::COLUMNS.join(", "), faults, count, ready };
    let shown = page.form.clone();
    show_form(app, req, ("Recipes from a file", "recipes/bring_in.html"), &shown, &page)
}

async fn ask(app: web::Data<App>, req: HttpRequest, _lead: Lead) -> Result<HttpResponse, Error> {
    page(&app, &req, Vec::new(), None)
}

/// Reads a file through without changing anything.
async fn look(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    upload: Upload,
) -> Result<HttpResponse, Error> {
    let body = match upload.text() {
        Ok(body) => body,
        Err(sentence) => {
            let fault = Fault { row: 0, column: String::new(), sentence };
            return page(&app, &req, vec![fault], None);
        }
    };
    let text = body.clone();
    let read: Result<Outcome, Vec<Fault>> = app
        .db
        .read(move |conn| match csv::read(&text, &bring_in::known(conn)?) {
            Ok(rows) => Ok(Ok(bring_in::foresee(conn, &rows)?)),
            Err(faults) => Ok(Err(faults)),
        })
        .await?;
    let outcome = match read {
        Ok(outcome) => outcome,
        Err(faults) if upload.fields.raw("faults") == "table" => return faults_as_table(faults),
        Err(faults) => return page(&app, &req, faults, None),
    };
    let (now, by, once) = (app.clock.now(), lead.id, upload.once(&app, &lead)?);
    let id = app.db.write_once(once, move |tx| store::keep_file(tx, now, by, &body)).await?;
    let form = Form::new(&format!("/chart/bring-in/{id}"));
    page(&app, &req, Vec::new(), Some(Ready { outcome, form }))
}

/// Takes a file in that was read through.
async fn take(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, by, id) = (app.clock.now(), lead.id, id.into_inner());
    let once = filled.once(&app, Some(&lead))?;
    let done: Result<Outcome, Vec<Fault>> = app
        .db
        .write_once(once, move |tx| {
            let body = store::kept_file(tx, id, by)?;
            // The chart may have changed since it was looked at.
            let rows: Vec<Row> = match csv::read(&body, &bring_in::known(tx)?) {
                Ok(rows) => rows,
                Err(faults) => return Ok(Err(faults)),
            };
            Ok(Ok(bring_in::bring_in(tx, now, by, &rows)?))
        })
        .await?;
    match done {
        Err(faults) => page(&app, &req, faults, None),
        Ok(done) => {
            let word = format!(
                "Taken in: {} new, {} changed, {} as they were.",
                done.new, done.changed, done.same
            );
            Ok(go("/chart", Some(Flash::good(word))))
        }
    }
}
