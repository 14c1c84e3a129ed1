//! The week of all sinks: what is free, what is one's own.

use actix_web::{HttpRequest, HttpResponse};
use chrono::{Days, NaiveDate};
use serde::Serialize;

use super::board::View;
use crate::app::App;
use crate::bookings::{boards, grid};
use crate::clock::Span;
use crate::error::Error;
use crate::pulse;
use crate::sessions::Person;
use crate::sinks::Sink;
use crate::web::show;

#[derive(Serialize)]
struct WeekPage {
    monday: String,
    revision: i64,
    week: String,
    earlier: String,
    later: String,
    sinks: Vec<String>,
    days: Vec<WeekDay>,
}

#[derive(Serialize)]
struct WeekDay {
    day: String,
    href: String,
    closed: Option<String>,
    over: bool,
    cells: Vec<WeekCell>,
}

#[derive(Serialize)]
struct WeekCell {
    sink: String,
    own: Vec<String>,
    free: Vec<WeekFree>,
    taken: usize,
}

#[derive(Serialize)]
struct WeekFree {
    when: String,
    href: String,
}

pub(super) async fn week(
    app: &App,
    req: &HttpRequest,
    person: &Person,
    date: NaiveDate,
) -> Result<HttpResponse, Error> {
    let (now, zone) = (app.clock.now(), app.zone());
    let back = u64::from(chrono::Datelike::weekday(&date).num_days_from_monday());
    let monday = date.checked_sub_days(Days::new(back)).unwrap_or(date);
    let sunday = monday.checked_add_days(Days::new(6)).unwrap_or(monday);
    let whole = Span { from: zone.day(monday).from, to: zone.day(sunday).to };
    let (boards, revision) = app
        .db
        .read(move |conn| Ok((boards(conn, zone, (monday, 7))?, pulse::revision(conn, whole)?)))
        .await?;
    let words = app.words(Some(person));
    let days = boards.iter().map(|board| {
        let view = View::new((person, words.clone()), (now, zone), board);
        week_day(&view)
    });
    let page = WeekPage {
        monday: monday.to_string(),
        revision,
        week: format!("{} to {}", words.date(monday), words.date(sunday)),
        earlier: monday.checked_sub_days(Days::new(7)).unwrap_or(monday).to_string(),
        later: monday.checked_add_days(Days::new(7)).unwrap_or(monday).to_string(),
        days: days.collect(),
        sinks: boards
            .first()
            .map(|b| b.sinks.iter().map(|s| s.name.clone()).collect())
            .unwrap_or_default(),
    };
    show(app, req, "Sinks", "bookings/week.html", &page)
}

fn week_day(view: &View<'_>) -> WeekDay {
    let board = view.board;
    let cell = |sink: &Sink| {
        let here = || board.entries.iter().filter(|e| e.sink_id == sink.id);
        WeekCell {
            sink: sink.name.clone(),
            own: here().filter(|e| e.is_of(view.person.id)).map(|e| view.words_of(e).1).collect(),
            free: grid::free(board, sink, view.next_slot)
                .into_iter()
                .map(|s| WeekFree {
                    when: view.when(s),
                    href: view.new_href(sink, s.from.max(view.next_slot)),
                })
                .collect(),
            taken: here().filter(|e| !e.is_of(view.person.id)).count(),
        }
    };
    let closed = match (&board.special, board.open.is_empty()) {
        (Some(reason), true) => Some(format!("Closed: {reason}")),
        (None, true) => Some("Closed".to_owned()),
        (Some(reason), false) => Some(format!("{} {reason}", view.open())),
        (None, false) => None,
    };
    WeekDay {
        day: view.words.date(board.date),
        href: format!("/board?date={}", board.date),
        closed,
        over: board.open.last().is_some_and(|o| o.to <= view.now),
        cells: board.sinks.iter().map(cell).collect(),
    }
}
