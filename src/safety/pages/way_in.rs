//! One's own way in: what is read, what is signed, what is missing before a booking.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::members;
use crate::safety::{learning, rules::Missing, store};
use crate::web::{Newcomer, Routes, Who, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/way-in", Who::Newcomer, way_in);
}

#[derive(Serialize)]
struct NoteLine {
    href: String,
    title: String,
    word: &'static str,
    tone: &'static str,
    when: Option<String>,
}

#[derive(Serialize)]
struct PointLine {
    text: String,
    signed: Option<String>,
}

#[derive(Serialize)]
struct WayInPage {
    missing: Vec<String>,
    next: Option<(String, String)>,
    notes: Vec<NoteLine>,
    points: Vec<PointLine>,
    may_book: bool,
    alone: bool,
}

async fn way_in(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    let asked = person.0.clone();
    let (notes, read, items, signed, names, missing) = app
        .db
        .read(move |conn| {
            let signed = store::signatures(conn, asked.id)?;
            let leads: Vec<i64> = signed.values().map(|(by, _)| *by).collect();
            Ok((
                store::current(conn)?,
                store::acknowledged(conn, asked.id)?,
                store::items(conn)?,
                signed,
                members::names(conn, &leads)?,
                learning::missing_before_booking(conn, &asked)?,
            ))
        })
        .await?;
    let words = app.words(Some(&person));
    let line = |n: store::Note| {
        let (word, tone, when) = match read.get(&n.slug) {
            Some((number, at)) if *number == n.number => {
                ("Acknowledged", "good", Some(words.moment(*at)))
            }
            Some(_) => ("Changed since you read it", "note", None),
            None => ("To be read", "wait", None),
        };
        NoteLine { href: format!("/notes/{}", n.slug), title: n.title, word, tone, when }
    };
    let point = |i: store::Item| PointLine {
        signed: signed.get(&i.id).map(|(by, at)| {
            let name = names.get(by).map_or("a lead", String::as_str);
            format!("{name}, {}", words.moment(*at))
        }),
        text: i.text,
    };
    let next = missing.iter().find_map(|m| match m {
        Missing::Notes(notes) => {
            notes.first().map(|(slug, title)| (format!("/notes/{slug}"), format!("Read “{title}”")))
        }
        _ => None,
    });
    let page = WayInPage {
        may_book: !missing.iter().any(Missing::bars_every_booking),
        alone: missing.is_empty(),
        missing: missing.iter().map(Missing::sentence).collect(),
        next,
        notes: notes.into_iter().filter(|n| n.essential).map(line).collect(),
        points: items.into_iter().map(point).collect(),
    };
    show(&app, &req, "Your way in", "safety/way_in.html", &page)
}
