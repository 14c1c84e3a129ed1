//! The form in which a lead fills blanks in.

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::safety::blanks::{BLANKS, Filling, Fillings, Kind};
use crate::safety::{posting, store};
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/safety/blanks", Who::Lead, show);
    open.post("/safety/blanks", Who::Lead, fill);
}

#[derive(Serialize)]
struct Line {
    key: &'static str,
    label: &'static str,
    rule: bool,
}

#[derive(Serialize)]
struct BlanksPage {
    form: Form,
    blanks: Vec<Line>,
    open: usize,
}

async fn shown(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let is_open = |key: &str| form.values.get(key).is_none_or(|v| v.trim().is_empty());
    let page = BlanksPage {
        open: BLANKS.iter().filter(|b| is_open(b.key)).count(),
        blanks: BLANKS
            .iter()
            .map(|b| Line { key: b.key, label: b.label, rule: b.kind == Kind::Rule })
            .collect(),
        form,
    };
    show_form(app, req, ("Blanks in the notes", "safety/blanks.html"), &page.form, &page)
}

fn filled_form(fillings: &Fillings) -> Form {
    let mut form = Form::new("/safety/blanks");
    for (key, filling) in fillings {
        form = form
            .with(key, &filling.value)
            .with(&format!("{key}-authority"), &filling.authority)
            .with(
                &format!("{key}-date"),
                filling.ruled_on.map(|d| d.to_string()).unwrap_or_default(),
            );
    }
    form
}

async fn show(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let fillings = app.db.read(store::fillings).await?;
    shown(&app, &req, filled_form(&fillings)).await
}

fn read(f: &mut Fields) -> Result<Vec<(&'static str, Filling)>, Error> {
    let mut all = Vec::new();
    for blank in BLANKS {
        let value = f.text(blank.key, blank.label, 0..=300).unwrap_or_default();
        let mut filling = Filling { value, ..Filling::default() };
        if blank.kind == Kind::Rule {
            let (authority, date) =
                (format!("{}-authority", blank.key), format!("{}-date", blank.key));
            filling.authority = f.text(&authority, "the authority", 0..=120).unwrap_or_default();
            filling.ruled_on = read_date(f, &date);
        }
        all.push((blank.key, filling));
    }
    f.done()?;
    Ok(all)
}

fn read_date(f: &mut Fields, name: &str) -> Option<NaiveDate> {
    if f.raw(name).trim().is_empty() { None } else { f.date(name, "a date") }
}

async fn fill(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, by) = (app.clock.now(), lead.id);
    let wished = read(&mut filled.fields);
    let done = filled
        .keep(&app, &lead, wished, move |tx, wished| posting::fill_in(tx, now, Some(by), wished))
        .await;
    match done {
        Ok(_) => Ok(go("/safety/blanks", Some(Flash::good("The blanks are saved.")))),
        Err(e) => shown(&app, &req, filled.again(e)?).await,
    }
}
