//! Sheets of labels of the studio's own measures, and the style sheet that tells a printer how
//! large their paper is.

use std::borrow::Cow;

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::rolls::labels::{Sheet, millimetres};
use crate::rolls::store;
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/label-sheets", Who::Lead, sheets);
    open.post("/rolls/label-sheets", Who::Lead, add);
    open.post("/rolls/label-sheets/{id}/remove", Who::Lead, remove);
    open.get("/rolls/label-sheets/{word}.css", Who::Member, style);
}

#[derive(Serialize)]
struct SheetsPage {
    form: Form,
    sheets: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    text: String,
    word: Cow<'static, str>,
    remove: Form,
}

async fn page(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let sheets = app.db.read(store::sheets).await?;
    let line = |(id, sheet): (i64, Sheet)| Line {
        text: sheet.in_words(),
        word: sheet.word,
        remove: Form::new(&format!("/rolls/label-sheets/{id}/remove")),
    };
    let page = SheetsPage { sheets: sheets.into_iter().map(line).collect(), form };
    show_form(app, req, ("Sheets of labels", "rolls/label_sheets.html"), &page.form, &page)
}

async fn sheets(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let form = Form::new("/rolls/label-sheets")
        .with("page_width", 210)
        .with("page_height", 297)
        .with("across", 3)
        .with("down", 8);
    page(&app, &req, form).await
}

/// A measure in millimetres as tenths of one; finer is refused.
fn tenths(f: &mut Fields, name: &str, what: &str, (least, most): (i64, i64)) -> Option<i64> {
    let found = f.decimal(name, what, least * 100..=most * 100)?;
    if found % 100 != 0 {
        f.fault(name, "Give it to a tenth of a millimetre.");
        return None;
    }
    Some(found / 100)
}

fn read(f: &mut Fields) -> Result<Sheet, Error> {
    let name = f.text("name", "a name for it", 1..=60);
    let page = (
        tenths(f, "page_width", "the paper's width in mm", (500, 5000)),
        tenths(f, "page_height", "the paper's height in mm", (500, 5000)),
    );
    let grid = (
        f.number("across", "how many labels beside each other", 1..=20),
        f.number("down", "how many labels below each other", 1..=40),
    );
    let label = (
        tenths(f, "label_width", "a label's width in mm", (300, 5000)),
        tenths(f, "label_height", "a label's height in mm", (150, 5000)),
    );
    let margin = (
        tenths(f, "left_margin", "the margin in mm", (0, 5000)),
        tenths(f, "top_margin", "the margin in mm", (0, 5000)),
    );
    let gap = (
        tenths(f, "gap_across", "the gap in mm", (0, 1000)),
        tenths(f, "gap_down", "the gap in mm", (0, 1000)),
    );
    f.done()?;
    let missing = || f.faults();
    let both = |(a, b): (Option<i64>, Option<i64>)| a.zip(b).ok_or_else(missing);
    let sheet = Sheet {
        word: Cow::Borrowed(""),
        name: name.ok_or_else(missing)?,
        paper: "own",
        page: both(page)?,
        grid: both(grid)?,
        label: both(label)?,
        gap: both(gap)?,
        margin: both(margin)?,
    };
    match sheet.fault() {
        Some((field, sentence)) => Err(Error::field(field, sentence)),
        None => Ok(sheet),
    }
}

async fn add(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let sheet = read(&mut filled.fields);
    let done = filled
        .keep(&app, &lead, sheet, |tx, sheet| {
            if store::sheet_named(tx, &sheet.name)?.is_some() {
                return Err(Error::field("name", "There is one of that name. Take another."));
            }
            store::insert_sheet(tx, sheet)
        })
        .await;
    match done {
        Ok(_id) => {
            let word = "Kept. Print one sheet on plain paper and hold it against the labels.";
            Ok(go("/rolls/label-sheets", Some(Flash::good(word))))
        }
        Err(e) => page(&app, &req, filled.again(e)?).await,
    }
}

async fn remove(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let once = filled.once(&app, Some(&lead))?;
    app.db.write_once(once, move |tx| store::delete_sheet(tx, id)).await?;
    Ok(go("/rolls/label-sheets", Some(Flash::good("Removed."))))
}

/// How large the paper is, for the printer.
async fn style(app: web::Data<App>, word: web::Path<String>) -> Result<HttpResponse, Error> {
    let sheets = app.db.read(store::sheets).await?;
    let sheet = sheets.into_iter().map(|(_, s)| s).find(|s| s.word == word.as_str());
    let sheet = sheet.ok_or(Error::NotFound)?;
    let (width, height) = (millimetres(sheet.page.0), millimetres(sheet.page.1));
    // A hair less than the paper, so that rounding never begins another page.
    let within = millimetres(sheet.page.1 - 1);
    let text = format!(
        "@page label-own {{ size: {width}mm {height}mm; margin: 0; @bottom-right {{ content: none; }} }}\n\
         @media print {{ .label-sheet.own {{ page: label-own; width: {width}mm; height: {within}mm; }} }}\n"
    );
    Ok(HttpResponse::Ok()
        .insert_header((header::CONTENT_TYPE, "text/css; charset=utf-8"))
        .body(text))
}
