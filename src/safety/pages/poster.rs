//! Notes as posters: A4 or Letter, to be read at two metres, with the way to the live page.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::safety::store::{self, Note};
use crate::safety::{markdown, shelf_lines};
use crate::web::{Asked, Qr, Routes, Visitor, Who, qr, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/notes/poster", Who::Anyone, set);
    open.get("/notes/{slug}/poster", Who::Anyone, one);
}

#[derive(Serialize)]
struct Sheet {
    title: String,
    html: String,
    /// What stands after the heading "Sources", which nobody reads at two metres.
    foot: String,
    number: i64,
    posted: String,
    address: String,
    qr: Qr,
}

#[derive(Serialize)]
struct Choice {
    slug: String,
    title: String,
    chosen: bool,
}

#[derive(Serialize)]
struct PosterPage {
    sheets: Vec<Sheet>,
    choices: Vec<Choice>,
    letter: bool,
    back: String,
}

async fn poster(
    app: &App,
    req: &HttpRequest,
    (visitor, letter, back): (Visitor, bool, String),
    wanted: impl Fn(&Note) -> bool + Send + 'static,
) -> Result<HttpResponse, Error> {
    let (notes, fillings, shelf) = app
        .db
        .read(move |conn| {
            let all = store::current(conn)?;
            let bodies: String = all.iter().map(|n| n.body.as_str()).collect();
            let shelf = shelf_lines(conn, &bodies)?;
            let chosen: Vec<(Note, bool)> = all
                .into_iter()
                .map(|n| {
                    let w = wanted(&n);
                    (n, w)
                })
                .collect();
            Ok((chosen, store::fillings(conn)?, shelf))
        })
        .await?;
    if !notes.iter().any(|(_, chosen)| *chosen) {
        return Err(Error::NotFound);
    }
    let words = app.words(visitor.0.as_ref());
    let mut sheets = Vec::new();
    for (note, _) in notes.iter().filter(|(_, chosen)| *chosen) {
        let address = format!("{}/notes/{}", app.config.base_url, note.slug);
        let (main, foot) = note.body.split_once("\n## Sources").unwrap_or((&note.body, ""));
        let html = |text: &str| markdown::with_shelf(markdown::to_html(text, &fillings), &shelf);
        sheets.push(Sheet {
            title: note.title.clone(),
            html: html(main),
            foot: html(foot),
            number: note.number,
            posted: words.moment(Moment(note.published_s)),
            qr: qr(&address)?,
            address,
        });
    }
    let choices = notes
        .into_iter()
        .map(|(n, chosen)| Choice { slug: n.slug, title: n.title, chosen })
        .collect();
    let page = PosterPage { sheets, choices, letter, back };
    show(app, req, "Poster", "safety/poster.html", &page)
}

fn is_letter(asked: &Asked) -> bool {
    asked.0.raw("paper") == "letter"
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    slug: web::Path<String>,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let slug = slug.into_inner();
    let back = format!("/notes/{slug}");
    poster(&app, &req, (visitor, is_letter(&asked), back), move |n| n.slug == slug).await
}

/// A set: the notes ticked, or every essential one where none is ticked.
async fn set(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let ticked: Vec<String> = asked.0.all("note").into_iter().map(ToOwned::to_owned).collect();
    let wanted =
        move |n: &Note| if ticked.is_empty() { n.essential } else { ticked.contains(&n.slug) };
    poster(&app, &req, (visitor, is_letter(&asked), "/notes".to_owned()), wanted).await
}
