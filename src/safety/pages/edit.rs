//! A lead writes a note: preview first, then post; or takes one down.

use super::SHELF_PLACE;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::safety::blanks::BLANKS;
use crate::safety::posting::{self, Draft};
use crate::safety::{markdown, store};
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/notes/new", Who::Lead, new);
    open.post("/notes/new", Who::Lead, post);
    open.get("/notes/{slug}/edit", Who::Lead, edit);
    open.post("/notes/{slug}/edit", Who::Lead, post_version);
    open.post("/notes/{slug}/take-down", Who::Lead, take_down);
}

#[derive(Serialize)]
struct Key {
    key: &'static str,
    label: &'static str,
}

#[derive(Serialize)]
struct EditPage {
    form: Form,
    slug: Option<String>,
    number: Option<i64>,
    preview: Option<String>,
    keys: Vec<Key>,
    longest: usize,
    take_down: Option<Form>,
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    form: Form,
    (slug, preview): (Option<String>, Option<String>),
) -> Result<HttpResponse, Error> {
    let number = form.version.parse().ok();
    let page = EditPage {
        take_down: slug.as_ref().map(|s| {
            Form::new(&format!("/notes/{s}/take-down")).of_version(number.unwrap_or_default())
        }),
        keys: BLANKS.iter().map(|b| Key { key: b.key, label: b.label }).collect(),
        number,
        preview,
        longest: markdown::LONGEST,
        slug,
        form,
    };
    let title = if page.slug.is_some() { "Change a note" } else { "A new note" };
    show_form(app, req, (title, "safety/edit.html"), &page.form, &page)
}

fn read(f: &mut Fields) -> Result<Draft, Error> {
    let title = f.text("title", "a title", 1..=80);
    let summary = f.text("summary", "a sentence about it", 1..=200);
    let body = f.text("body", "the text", 1..=markdown::LONGEST);
    let position = f.number("position", "a place in the order", 1..=100_000);
    let change_note = f.text("change_note", "what changed", 0..=300);
    let essential = f.ticked("essential");
    if let Some(sentence) = body.as_deref().and_then(markdown::fault) {
        f.fault("body", sentence);
    }
    f.done()?;
    match (title, summary, body, position, change_note) {
        (Some(title), Some(summary), Some(body), Some(position), Some(change_note)) => {
            Ok(Draft { title, summary, body, position, essential, change_note })
        }
        _ => Err(f.faults()),
    }
}

/// The form as it was sent, and its text as it would look.
async fn previewed(
    app: &App,
    req: &HttpRequest,
    (filled, slug): (&Filled, Option<String>),
) -> Result<HttpResponse, Error> {
    let fillings = app.db.read(store::fillings).await?;
    let body = filled.fields.raw("body").to_owned();
    let mut form = match markdown::fault(&body) {
        Some(sentence) => filled.again(Error::field("body", sentence))?,
        None => filled.again(Error::Invalid(crate::error::Faults::new()))?,
    };
    if form.faults.is_empty() {
        form.status = 200;
    }
    let html = markdown::with_shelf(markdown::to_html(&body, &fillings), SHELF_PLACE);
    shown(app, req, form, (slug, Some(html))).await
}

async fn new(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let notes = app.db.read(store::current).await?;
    let last = notes.last().map_or(0, |n| n.position);
    let form = Form::new("/notes/new").with("position", last + 10);
    shown(&app, &req, form, (None, None)).await
}

async fn post(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    if filled.fields.raw("then") == "preview" {
        return previewed(&app, &req, (&filled, None)).await;
    }
    let (now, by) = (app.clock.now(), lead.id);
    let draft = read(&mut filled.fields);
    let done =
        filled.keep(&app, &lead, draft, move |tx, draft| posting::post(tx, now, by, draft)).await;
    match done {
        Ok(slug) => Ok(go(&format!("/notes/{slug}"), Some(Flash::good("The note is posted.")))),
        Err(e) => shown(&app, &req, filled.again(e)?, (None, None)).await,
    }
}

async fn edit(
    app: web::Data<App>,
    req: HttpRequest,
    slug: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let slug = slug.into_inner();
    let asked = slug.clone();
    let note = app.db.read(move |conn| store::latest(conn, &asked)).await?;
    let form = Form::new(&format!("/notes/{slug}/edit"))
        .with("title", &note.title)
        .with("summary", &note.summary)
        .with("body", &note.body)
        .with("position", note.position)
        .with("essential", if note.essential { "yes" } else { "" })
        .of_version(note.number);
    shown(&app, &req, form, (Some(slug), None)).await
}

async fn post_version(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    slug: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let slug = slug.into_inner();
    if filled.fields.raw("then") == "preview" {
        return previewed(&app, &req, (&filled, Some(slug))).await;
    }
    let (now, by, based_on) = (app.clock.now(), lead.id, filled.version());
    let (draft, of) = (read(&mut filled.fields), slug.clone());
    let done = filled
        .keep(&app, &lead, draft, move |tx, draft| {
            posting::post_version(tx, now, by, (&of, based_on), draft)
        })
        .await;
    match done {
        Ok(number) => {
            let word = format!("Version {number} is posted.");
            Ok(go(&format!("/notes/{slug}"), Some(Flash::good(word))))
        }
        Err(e) => shown(&app, &req, filled.again(e)?, (Some(slug), None)).await,
    }
}

async fn take_down(
    app: web::Data<App>,
    lead: Lead,
    slug: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (slug, now, by) = (slug.into_inner(), app.clock.now(), lead.id);
    let based_on = filled.version();
    app.db
        .write_once(filled.once(&app, Some(&lead))?, move |tx| {
            posting::take_down(tx, now, by, (&slug, based_on))
        })
        .await?;
    Ok(go("/notes", Some(Flash::good("The note is taken down; its versions stay on record."))))
}
