//! Calling films back.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::baths::recall::Source;
use crate::baths::{self, Recall};
use crate::error::Error;
use crate::rolls;
use crate::web::{Filled, Flash, Form, Lead, Words, go, show_form};

#[derive(Serialize)]
struct FilmLine {
    at: String,
    what: String,
    href: Option<String>,
    owner: String,
    state: &'static str,
}

#[derive(Serialize)]
struct RecallPage {
    what: String,
    since: String,
    fixer: bool,
    before: i64,
    films: Vec<FilmLine>,
    back: String,
    form: Form,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    (recall, lead): (Recall, &Lead),
    (form, back): (Form, String),
) -> Result<HttpResponse, Error> {
    let words: Words = app.words(Some(lead));
    let page = RecallPage {
        since: recall.since.map_or_else(|| "it was mixed".to_owned(), |m| words.moment(m)),
        films: recall
            .films
            .into_iter()
            .map(|f| FilmLine {
                at: words.moment(f.at),
                href: f
                    .what
                    .strip_prefix("ticket ")
                    .filter(|_| f.roll.is_some())
                    .and_then(|t| t.split(',').next())
                    .map(|t| format!("/rolls/{t}")),
                owner: f.owner,
                state: f
                    .state
                    .and_then(|s| rolls::State::from_word(&s))
                    .map_or("not a ticket of ours", rolls::State::name),
                what: f.what,
            })
            .collect(),
        what: recall.what,
        fixer: recall.fixer,
        before: recall.before,
        back,
        form,
    };
    let status = page.form.clone();
    show_form(app, req, ("Call films back", "baths/recall.html"), &status, &page)
}

pub(super) async fn of_bath(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let recall = app.db.read(move |conn| baths::recall_of_bath(conn, id)).await?;
    let form = Form::new(&format!("/baths/{id}/recall"));
    page(&app, &req, (recall, &lead), (form, format!("/baths/{id}"))).await
}

pub(super) async fn of_bottle(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let recall = app.db.read(move |conn| baths::recall_of_bottle(conn, id)).await?;
    let form = Form::new(&format!("/recall/bottles/{id}"));
    page(&app, &req, (recall, &lead), (form, format!("/shelf/bottles/{id}"))).await
}

async fn call(
    app: &web::Data<App>,
    lead: &Lead,
    (source, back): (Source, String),
    filled: &Filled,
) -> Result<HttpResponse, Error> {
    let at = (app.clock.now(), lead.id);
    let once = filled.once(app, Some(lead))?;
    let done = app.db.write_once(once, move |tx| baths::call_back(tx, at, source)).await;
    match done {
        Ok(told) => {
            let people =
                if told == 1 { "1 person was".to_owned() } else { format!("{told} people were") };
            Ok(go(&back, Some(Flash::good(format!("Called back: {people} written to.")))))
        }
        Err(Error::Refused { sentence, .. }) => Ok(go(&back, Some(Flash::bad(sentence)))),
        Err(e) => Err(e),
    }
}

pub(super) async fn call_bath(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    call(&app, &lead, (Source::Bath(id), format!("/baths/{id}")), &filled).await
}

pub(super) async fn call_bottle(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let back = format!("/shelf/bottles/{id}");
    call(&app, &lead, (Source::Bottle(id), back), &filled).await
}
