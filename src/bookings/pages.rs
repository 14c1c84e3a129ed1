use actix_web::{HttpRequest, HttpResponse, web};
use chrono::{NaiveDate, NaiveTime};
use serde::Serialize;

use super::{Board, Entry, Place, Wish, rules};
use crate::app::App;
use crate::clock::{Moment, Span};
use crate::error::Error;
use crate::sessions::{Person, Role};
use crate::sinks::Sink;
use crate::web::{
    Asked, Fields, Filled, Flash, Form, Newcomer, Routes, Who, Words, go, show, show_form,
};

pub(super) fn routes(open: &mut Routes) {
    open.get("/board", Who::Newcomer, board);
    open.get("/bookings/new", Who::Newcomer, new);
    open.post("/bookings", Who::Newcomer, book);
    open.post("/bookings/{id}/cancel", Who::Newcomer, cancel);
}

/// Where a change of this request happens.
pub(super) fn place(app: &App) -> Place {
    Place { now: app.clock.now(), zone: app.zone(), address: app.config.base_url.clone() }
}

#[derive(Serialize)]
struct BoardPage {
    day: String,
    open: String,
    earlier: String,
    later: String,
    sinks: Vec<String>,
    rows: Vec<Row>,
    list: Vec<Line>,
}

#[derive(Serialize)]
struct Row {
    time: String,
    cells: Vec<Cell>,
}

#[derive(Serialize)]
struct Cell {
    sink: String,
    entries: Vec<Line>,
    free: Option<String>,
    href: String,
    past: &'static str,
}

#[derive(Serialize)]
struct Line {
    sink: String,
    when: String,
    label: String,
    mine: bool,
    tone: &'static str,
    cancel: Option<Form>,
}

/// How one person sees one day.
struct View<'a> {
    app: &'a App,
    person: &'a Person,
    words: Words,
    date: NaiveDate,
    board: Board,
}

impl View<'_> {
    fn line(&self, e: &Entry) -> Line {
        let mine = e.member == Some(self.person.id);
        let may = mine || self.person.role == Role::Lead;
        let ahead = e.span.to > self.app.clock.now();
        let cancel = e.booking.filter(|_| may && ahead);
        let sink = self.board.sinks.iter().find(|s| s.id == e.sink_id);
        Line {
            sink: sink.map(|s| s.name.clone()).unwrap_or_default(),
            when: format!("{} to {}", self.words.time(e.span.from), self.words.time(e.span.to)),
            label: e.label.clone(),
            mine,
            tone: if mine {
                "own"
            } else if e.booking.is_some() {
                "other"
            } else {
                "run"
            },
            cancel: cancel.map(|id| Form::new(&format!("/bookings/{id}/cancel"))),
        }
    }

    fn cell(&self, sink: &Sink, hour: Span) -> Cell {
        let here = self.board.entries.iter().filter(|e| e.sink_id == sink.id);
        let here: Vec<&Entry> = here.filter(|e| e.span.meets(&hour)).collect();
        let taken: Vec<(i64, Span)> = here.iter().map(|e| (e.seat, e.span)).collect();
        let free = rules::first_free(hour, &taken, sink.places, self.app.clock.now());
        let from = free.map(|m| self.app.zone().wall(m).format("%H:%M").to_string());
        Cell {
            sink: sink.name.clone(),
            entries: here.into_iter().map(|e| self.line(e)).collect(),
            free: free.map(|m| self.words.time(m)),
            href: format!(
                "/bookings/new?sink={}&date={}&from={}",
                sink.id,
                self.date,
                from.unwrap_or_default()
            ),
            past: "gone by",
        }
    }

    fn rows(&self) -> Vec<Row> {
        let hours = self.board.open.iter().flat_map(|open| hours(*open));
        hours
            .map(|hour| Row {
                time: self.words.time(hour.from),
                cells: self.board.sinks.iter().map(|s| self.cell(s, hour)).collect(),
            })
            .collect()
    }

    fn open(&self) -> String {
        let times = |s: &Span| format!("{} to {}", self.words.time(s.from), self.words.time(s.to));
        let open: Vec<String> = self.board.open.iter().map(times).collect();
        if open.is_empty() {
            return "The studio is closed on this day.".to_owned();
        }
        format!("The studio is open {}, and closed before, between and after.", open.join(" and "))
    }
}

/// The stretch hour by hour.
fn hours(open: Span) -> Vec<Span> {
    let mut all = Vec::new();
    let mut from = open.from;
    while from < open.to {
        let to = Moment(from.plus(3600).0.min(open.to.0));
        all.push(Span { from, to });
        from = to;
    }
    all
}

async fn board(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    Asked(mut asked): Asked,
) -> Result<HttpResponse, Error> {
    let zone = app.zone();
    let date = if asked.raw("date").is_empty() {
        zone.date(app.clock.now())
    } else {
        asked.date("date", "a day").ok_or_else(|| asked.faults())?
    };
    let board = app.db.read(move |conn| super::board(conn, zone, date)).await?;
    let words = app.words(Some(&person));
    let view = View { app: &app, person: &person, words, date, board };
    let day = view.words.date(date);
    let page = BoardPage {
        open: view.open(),
        earlier: date.pred_opt().unwrap_or(date).to_string(),
        later: date.succ_opt().unwrap_or(date).to_string(),
        sinks: view.board.sinks.iter().map(|s| s.name.clone()).collect(),
        rows: view.rows(),
        list: view.board.entries.iter().map(|e| view.line(e)).collect(),
        day,
    };
    show(&app, &req, "Sinks", "bookings/board.html", &page)
}

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

#[derive(Serialize)]
struct NewPage {
    form: Form,
    sinks: Vec<Choice>,
}

async fn show_new(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let sinks = app.db.read(crate::sinks::sinks).await?;
    let choice = |s: Sink| Choice { value: s.id.to_string(), text: s.name };
    let page = NewPage { form, sinks: sinks.into_iter().map(choice).collect() };
    show_form(app, req, ("Book a sink", "bookings/new.html"), &page.form, &page)
}

async fn new(
    app: web::Data<App>,
    req: HttpRequest,
    Asked(asked): Asked,
) -> Result<HttpResponse, Error> {
    let from = NaiveTime::parse_from_str(asked.raw("from"), "%H:%M").ok();
    let to = from.map(|t| t.overflowing_add_signed(chrono::Duration::hours(1)).0);
    let form = Form::new("/bookings")
        .with("sink", asked.raw("sink"))
        .with("date", asked.raw("date"))
        .with("from", asked.raw("from"))
        .with("to", to.map(|t| t.format("%H:%M").to_string()).unwrap_or_default());
    show_new(&app, &req, form).await
}

fn read_wish(f: &mut Fields) -> Result<Wish, Error> {
    let sink = f.number("sink", "a sink", 1..=i64::MAX);
    let date = f.date("date", "a day");
    let (from, to) = (f.time("from", "a beginning"), f.time("to", "an end"));
    let note = f.text("note", "a note", 0..=300);
    f.done()?;
    match (sink, date, from, to, note) {
        (Some(sink_id), Some(date), Some(from), Some(to), Some(note)) => {
            Ok(Wish { sink_id, tank_ids: Vec::new(), date, from, to, note })
        }
        _ => Err(f.faults()),
    }
}

async fn book(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done = match read_wish(&mut filled.fields) {
        Ok(wish) => {
            let (at, who, date) = (place(&app), person.0.clone(), wish.date);
            let once = filled.once(&app, Some(&person))?;
            let booked = app.db.write_once(once, move |tx| super::book(tx, &at, &who, &wish)).await;
            booked.map(|_| date)
        }
        Err(e) => Err(e),
    };
    match done {
        Ok(date) => Ok(go(&format!("/board?date={date}"), Some(Flash::good("The sink is yours.")))),
        Err(e) => show_new(&app, &req, filled.again(e)?).await,
    }
}

async fn cancel(
    app: web::Data<App>,
    person: Newcomer,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (at, who, id) = (place(&app), person.0, id.into_inner());
    let zone = at.zone;
    let gone = app.db.write(move |tx| super::cancel(tx, &at, &who, id)).await?;
    let to = format!("/board?date={}", zone.date(gone.span.from));
    Ok(go(&to, Some(Flash::good("The booking is cancelled."))))
}
