//! The weekly run of the eyewash, written down.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::here;
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::incidents::{self, Eyewash, store};
use crate::members;
use crate::web::{Filled, Flash, Form, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/safety/eyewash", Who::Member, list);
    open.post("/safety/eyewash", Who::Member, record);
}

#[derive(Serialize)]
struct Line {
    when: String,
    by: String,
    works: bool,
    note: String,
}

#[derive(Serialize)]
struct EyewashPage {
    form: Form,
    word: &'static str,
    tone: &'static str,
    lines: Vec<Line>,
}

/// How the state of the eyewash is said.
fn said(state: Eyewash) -> (&'static str, &'static str) {
    match state {
        Eyewash::NeverRun => ("No run is on record", "bad"),
        Eyewash::Good(_) => ("Run this week", "good"),
        Eyewash::Overdue(_) => ("Due for its weekly run", "note"),
        Eyewash::Broken(_) => ("It did not work", "bad"),
    }
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    (member, form): (&Member, Form),
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let (state, checks, names) = app
        .db
        .read(move |conn| {
            let checks = store::checks(conn, 60)?;
            let ids: Vec<i64> = checks.iter().map(|c| c.by_id).collect();
            Ok((incidents::eyewash(conn, now)?, checks, members::names(conn, &ids)?))
        })
        .await?;
    let words = app.words(Some(member));
    let (word, tone) = said(state);
    let lines = checks
        .into_iter()
        .map(|c| Line {
            when: words.moment(Moment(c.at_s)),
            by: names.get(&c.by_id).cloned().unwrap_or_default(),
            works: c.works,
            note: c.note,
        })
        .collect();
    let page = EyewashPage { form, word, tone, lines };
    show_form(app, req, ("Eyewash", "incidents/eyewash.html"), &page.form, &page)
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, (&member, Form::new("/safety/eyewash"))).await
}

async fn record(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (here, by) = (here(&app), member.id);
    let works = filled.fields.choice("works", "how it ran", &["yes", "no"]);
    let note = filled.fields.text("note", "a note", 0..=300);
    let said = filled.fields.whole(works.zip(note));
    let done = filled
        .keep(&app, &member, said, move |tx, (works, note)| {
            incidents::record_eyewash(tx, &here, by, (works == "yes", note))
        })
        .await;
    match done {
        Ok(()) => Ok(go("/safety/eyewash", Some(Flash::good("The run is on record.")))),
        Err(e) => shown(&app, &req, (&member, filled.again(e)?)).await,
    }
}
