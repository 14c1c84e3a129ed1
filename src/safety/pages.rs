use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{markdown, store};
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::web::{Routes, Visitor, Who, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/notes", Who::Anyone, list);
    open.get("/notes/{slug}", Who::Anyone, one);
}

#[derive(Serialize)]
struct Line {
    href: String,
    title: String,
    summary: String,
}

#[derive(Serialize)]
struct ListPage {
    notes: Vec<Line>,
}

async fn list(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let notes = app.db.read(store::current).await?;
    let notes = notes
        .into_iter()
        .map(|n| Line { href: format!("/notes/{}", n.slug), title: n.title, summary: n.summary })
        .collect();
    show(&app, &req, "Safety notes", "safety/list.html", &ListPage { notes })
}

#[derive(Serialize)]
struct NotePage {
    title: String,
    html: String,
    number: i64,
    posted: String,
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    slug: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let slug = slug.into_inner();
    let note = app.db.read(move |conn| store::by_slug(conn, &slug)).await?;
    let page = NotePage {
        html: markdown::to_html(&note.body),
        number: note.number,
        posted: app.words(visitor.0.as_ref()).moment(Moment(note.published_s)),
        title: note.title,
    };
    show(&app, &req, &page.title, "safety/one.html", &page)
}
