//! One's own bookings: what comes and what was of late.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::bookings::{self, Booking};
use crate::clock::Span;
use crate::error::Error;
use crate::sinks;
use crate::web::{Newcomer, show};

#[derive(Serialize)]
struct OwnPage {
    coming: Vec<Line>,
    past: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    href: String,
    sink: String,
    when: String,
    note: String,
}

/// How far back the list goes, in seconds.
const BACK_S: i64 = 60 * 86_400;
/// How far ahead: as far as one may book, and further.
const AHEAD_S: i64 = 740 * 86_400;

pub(super) async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    let (now, id) = (app.clock.now(), person.id);
    let span = Span { from: now.plus(-BACK_S), to: now.plus(AHEAD_S) };
    let (all, names) =
        app.db.read(move |c| Ok((bookings::of_member(c, id, span)?, sinks::all_sinks(c)?))).await?;
    let words = app.words(Some(&person));
    let line = |b: &Booking| Line {
        href: format!("/bookings/{}", b.id),
        sink: names.iter().find(|s| s.id == b.sink_id).map(|s| s.name.clone()).unwrap_or_default(),
        when: words.span(b.span.from, b.span.to),
        note: b.note.clone(),
    };
    let (coming, past): (Vec<&Booking>, Vec<&Booking>) = all.iter().partition(|b| b.span.to > now);
    let page = OwnPage {
        coming: coming.into_iter().map(line).collect(),
        past: past.into_iter().rev().map(line).collect(),
    };
    show(&app, &req, "Your bookings", "bookings/own.html", &page)
}
