//! The versions of a note: who posted which when, what it said, and what changed.

use super::SHELF_PLACE;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::members;
use crate::safety::changes::{self, Piece};
use crate::safety::{markdown, store};
use crate::sessions::Role;
use crate::web::{Asked, Routes, Visitor, Who, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/notes/{slug}/versions", Who::Anyone, list);
    open.get("/notes/{slug}/versions/{number}", Who::Anyone, one);
    open.get("/notes/{slug}/changes", Who::Anyone, difference);
}

#[derive(Serialize)]
struct Line {
    number: i64,
    posted: String,
    by: Option<String>,
    change_note: String,
    essential: bool,
    withdrawn: bool,
    earlier: i64,
}

#[derive(Serialize)]
struct ListPage {
    title: String,
    slug: String,
    versions: Vec<Line>,
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    slug: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let slug = slug.into_inner();
    let asked = slug.clone();
    let (versions, names) = app
        .db
        .read(move |conn| {
            let versions = store::versions(conn, &asked)?;
            let ids: Vec<i64> = versions.iter().filter_map(|n| n.published_by).collect();
            Ok((versions, members::names(conn, &ids)?))
        })
        .await?;
    let Some(title) = versions.first().map(|n| n.title.clone()) else {
        return Err(Error::NotFound);
    };
    let words = app.words(visitor.0.as_ref());
    // Names of people are for people of the studio.
    let inside = visitor.0.is_some();
    let line = |n: store::Note| Line {
        number: n.number,
        posted: words.moment(Moment(n.published_s)),
        by: match n.published_by {
            None => Some("came with the program".to_owned()),
            Some(id) if inside => names.get(&id).cloned(),
            Some(_) => None,
        },
        change_note: n.change_note,
        essential: n.essential,
        withdrawn: n.withdrawn,
        earlier: n.number - 1,
    };
    let page = ListPage { versions: versions.into_iter().map(line).collect(), slug, title };
    show(&app, &req, &format!("{}: versions", page.title), "safety/versions.html", &page)
}

#[derive(Serialize)]
struct OldPage {
    title: String,
    slug: String,
    number: i64,
    posted: String,
    html: String,
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    path: web::Path<(String, i64)>,
) -> Result<HttpResponse, Error> {
    let (slug, number) = path.into_inner();
    let asked = slug.clone();
    let (note, fillings) = app
        .db
        .read(move |conn| Ok((store::version(conn, &asked, number)?, store::fillings(conn)?)))
        .await?;
    let page = OldPage {
        posted: app.words(visitor.0.as_ref()).moment(Moment(note.published_s)),
        html: markdown::with_shelf(markdown::to_html(&note.body, &fillings), SHELF_PLACE),
        title: note.title,
        slug,
        number,
    };
    show(&app, &req, &format!("{}, version {number}", page.title), "safety/old.html", &page)
}

#[derive(Serialize)]
struct ChangesPage {
    title: String,
    slug: String,
    from: i64,
    to: i64,
    change_note: String,
    retitled: Option<String>,
    changes: Vec<Vec<Piece>>,
    lead: bool,
}

async fn difference(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    slug: web::Path<String>,
    Asked(mut asked): Asked,
) -> Result<HttpResponse, Error> {
    let slug = slug.into_inner();
    let to = asked.number("to", "a version", 1..=i64::MAX);
    let from = asked.number("from", "a version", 1..=i64::MAX);
    asked.done()?;
    let (Some(from), Some(to)) = (from, to) else { return Err(asked.faults()) };
    let of = slug.clone();
    let (old, new) = app
        .db
        .read(move |conn| Ok((store::version(conn, &of, from)?, store::version(conn, &of, to)?)))
        .await?;
    let page = ChangesPage {
        changes: changes::between(&old.body, &new.body),
        retitled: (old.title != new.title).then_some(old.title),
        title: new.title,
        change_note: new.change_note,
        lead: visitor.0.as_ref().is_some_and(|p| p.role == Role::Lead),
        slug,
        from,
        to,
    };
    show(&app, &req, &format!("{}: what changed", page.title), "safety/changes.html", &page)
}
