//! The day of all sinks as a table and as a list.

use std::cell::RefCell;
use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::{NaiveDate, Timelike};
use serde::Serialize;
use tera::Value;

use crate::app::App;
use crate::bookings::grid::{self, Cell, Piece};
use crate::bookings::{Board, Entry, What, known};
use crate::clock::{Moment, Span, Zone};
use crate::error::Error;
use crate::sessions::{Person, Role};
use crate::sinks::Sink;
use crate::web::{Asked, Form, Newcomer, Words, beat, page_key, show_and_keep, show_kept};

#[derive(Serialize)]
struct DayPage {
    day: String,
    date: String,
    is_today: bool,
    open: String,
    special: Option<String>,
    earlier: String,
    later: String,
    folded: Option<String>,
    columns: Vec<String>,
    rows: Vec<Row>,
    lists: Vec<List>,
    revision: i64,
}

#[derive(Serialize)]
struct Row {
    time: String,
    half: bool,
    /// From when to when, as addresses have it.
    from: String,
    to: String,
    /// From when its free places can be booked: from its begin, or later where that has gone by.
    free: String,
    /// What an address asks for that books from then on.
    ask: String,
}

/// A free cell says only what its row does not, so that all of a column's are one.
#[derive(Serialize)]
struct FreeCell<'a> {
    sink_id: i64,
    sink: &'a str,
}

/// Any other cell.
#[derive(Default, Serialize)]
struct CellView {
    class: &'static str,
    #[serde(skip_serializing_if = "is_one")]
    rows: usize,
    text: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    when: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    note: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    href: String,
}

/// A part of a page with one more value in it, which is not copied.
fn with(part: &impl Serialize, name: &'static str, value: Value) -> Result<Value, Error> {
    let mut all = Value::try_from_serializable(part)?.into_map().unwrap_or_default();
    all.insert(name.into(), value);
    Ok(all.into())
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
fn is_one(rows: &usize) -> bool {
    *rows == 1
}

/// The list of one sink, read downward.
#[derive(Serialize)]
struct List {
    sink: String,
    lines: Vec<Line>,
}

#[derive(Serialize)]
struct Line {
    #[serde(skip)]
    at: Moment,
    when: String,
    label: String,
    note: String,
    tone: &'static str,
    href: String,
    cancel: Option<Form>,
}

/// How one person sees one day.
pub(super) struct View<'a> {
    pub(super) person: &'a Person,
    pub(super) words: Words,
    pub(super) now: Moment,
    zone: Zone,
    pub(super) board: &'a Board,
    /// The next time on the studio's grid: a link to a time that has begun would only be refused.
    pub(super) next_slot: Moment,
    /// The board's date as addresses have it.
    date: String,
    /// Times as the wall shows them, as addresses have them: each stands in many cells.
    walls: RefCell<BTreeMap<Moment, String>>,
}

impl<'a> View<'a> {
    pub(super) fn new(
        (person, words): (&'a Person, Words),
        (now, zone): (Moment, Zone),
        board: &'a Board,
    ) -> View<'a> {
        let next_slot = on_grid(zone, board, now);
        let (date, walls) = (board.date.to_string(), RefCell::default());
        View { person, words, now, zone, board, next_slot, date, walls }
    }

    pub(super) fn when(&self, span: Span) -> String {
        format!("{} to {}", self.words.time(span.from), self.words.time(span.to))
    }

    fn wall(&self, at: Moment) -> String {
        let write = || {
            let wall = self.zone.wall(at);
            format!("{:02}:{:02}", wall.hour(), wall.minute())
        };
        self.walls.borrow_mut().entry(at).or_insert_with(write).clone()
    }

    fn may_change(&self, entry: &Entry) -> bool {
        let may = entry.is_of(self.person.id) || self.person.role == Role::Lead;
        entry.booking().is_some_and(|b| may && b.span.to > self.now)
    }

    fn tone(&self, entry: &Entry) -> &'static str {
        match &entry.what {
            What::Booking(_) if entry.is_of(self.person.id) => "mine",
            What::Booking(_) => "taken",
            What::Run { .. } => "run",
            What::Offer => "taken",
            What::Outage(_) | What::Other => "closed",
        }
    }

    /// Whose it is and when, without the cleaning; the cleaning and the note beside it.
    pub(super) fn words_of(&self, entry: &Entry) -> (String, String, String) {
        let own = entry.is_of(self.person.id);
        let label = if own { "Yours".to_owned() } else { entry.label() };
        let mut notes = Vec::new();
        if let Some(b) = entry.booking() {
            if (own || self.person.role == Role::Lead) && !b.note.is_empty() {
                notes.push(b.note.clone());
            }
            if b.light != crate::sinks::Light::White {
                notes.push(b.light.name().to_owned());
            }
        }
        if entry.cleaning < entry.span.to {
            notes.push(format!("then cleaning up until {}", self.words.time(entry.span.to)));
        }
        (label, self.when(Span { to: entry.cleaning, ..entry.span }), notes.join("; "))
    }

    /// The form for booking from some time on.
    pub(super) fn new_href(&self, sink: &Sink, from: Moment) -> String {
        let from = self.wall(on_grid(self.zone, self.board, from));
        format!("/bookings/new?sink={}&date={}&from={from}", sink.id, self.date)
    }

    fn ask(&self, from: Moment) -> String {
        format!("date={}&from={}", self.date, self.wall(from))
    }

    fn cell(&self, cell: &Cell<'_>, free: &Value) -> Result<Value, Error> {
        let mut view = CellView { rows: cell.rows, ..CellView::default() };
        match &cell.piece {
            Piece::Free => return Ok(free.clone()),
            Piece::Closed => (view.class, view.text) = ("closed", "Closed".to_owned()),
            Piece::Past => (view.class, view.text) = ("past", "Gone by".to_owned()),
            Piece::Held(entry) => {
                view.class = self.tone(entry);
                (view.text, view.when, view.note) = self.words_of(entry);
                if let Some(b) = entry.booking().filter(|_| self.may_change(entry)) {
                    view.href = format!("/bookings/{}", b.id);
                }
            }
        }
        Ok(Value::try_from_serializable(&view)?)
    }

    fn row(&self, from: Moment, to: Moment) -> Row {
        let free = from.max(self.next_slot);
        let time = self.words.time(from);
        Row {
            half: !self.wall(from).ends_with(":00"),
            from: self.wall(from),
            to: self.wall(to),
            free: if free == from { time.clone() } else { self.words.time(free) },
            ask: self.ask(on_grid(self.zone, self.board, free)),
            time,
        }
    }

    /// The cells of each row, as the template takes them. Most cells of most days are free; that they
    /// are one and the same value saves a good part of the time of drawing such a day.
    fn cells(&self, marks: &[Moment]) -> Result<Value, Error> {
        let mut rows: Vec<Vec<Value>> = vec![Vec::new(); marks.len().saturating_sub(1)];
        for column in grid::columns(self.board) {
            let free = FreeCell { sink_id: column.sink.id, sink: &column.sink.name };
            let free = Value::try_from_serializable(&free)?;
            let mut at = 0;
            for cell in grid::cells(self.board, column, marks, self.now) {
                if let Some(row) = rows.get_mut(at) {
                    row.push(self.cell(&cell, &free)?);
                }
                at += cell.rows;
            }
        }
        Ok(Value::from(rows))
    }

    fn list(&self, sink: &Sink, from: Moment) -> List {
        let entries = self.board.entries.iter();
        let held = entries.filter(|e| e.sink_id == sink.id && e.span.to > from).map(|e| {
            let (label, when, note) = self.words_of(e);
            let mine = self.may_change(e);
            let id = e.booking().map_or(0, |b| b.id);
            Line {
                at: e.span.from,
                when,
                label,
                note,
                tone: self.tone(e),
                href: if mine { format!("/bookings/{id}") } else { String::new() },
                cancel: mine.then(|| Form::new(&format!("/bookings/{id}/cancel"))),
            }
        });
        let free =
            grid::free(self.board, sink, self.next_slot.max(from)).into_iter().map(|span| Line {
                at: span.from,
                when: self.when(span),
                label: "Free".to_owned(),
                note: String::new(),
                tone: "free",
                href: self.new_href(sink, span.from.max(self.next_slot)),
                cancel: None,
            });
        let mut lines: Vec<Line> = held.chain(free).collect();
        lines.sort_by_key(|l| l.at);
        List { sink: sink.name.clone(), lines }
    }

    pub(super) fn open(&self) -> String {
        let open: Vec<String> = self.board.open.iter().map(|s| self.when(*s)).collect();
        if open.is_empty() {
            return "The studio is closed on this day.".to_owned();
        }
        format!("The studio is open {}.", open.join(" and "))
    }
}

/// The first time on the studio's grid that is not before this.
fn on_grid(zone: Zone, board: &Board, at: Moment) -> Moment {
    let past = i64::from(zone.wall(at).num_seconds_from_midnight());
    at.plus((-past).rem_euclid(board.grid_min.max(1) * 60))
}

fn day_of(asked: &mut crate::web::Fields, today: NaiveDate) -> Result<NaiveDate, Error> {
    if asked.raw("date").is_empty() {
        return Ok(today);
    }
    asked.date("date", "a day").ok_or_else(|| asked.faults())
}

pub(super) async fn show_board(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    Asked(mut asked): Asked,
) -> Result<HttpResponse, Error> {
    let (now, zone) = (app.clock.now(), app.zone());
    let today = zone.date(now);
    let date = day_of(&mut asked, today)?;
    if asked.raw("view") == "week" {
        return super::week::week(&app, &req, &person, date).await;
    }
    let revision = known::revision(&app, beat(&req), date).await?;
    // The pulse counts every change of what the board shows, so its count is what a page is of.
    let key = page_key(&app, &req, &format!("board {revision}"));
    if let Some(kept) = show_kept(&app, key.as_deref()) {
        return Ok(kept);
    }
    let board = known::at_revision(&app, date, revision).await?;
    let words = app.words(Some(&person));
    let view = View::new((&person, words), (now, zone), &board);
    // On today's board the hours gone by are folded away.
    let whole = date != today || asked.ticked("whole");
    let hour = now.plus(-i64::from(zone.wall(now).num_seconds_from_midnight() % 3600));
    let from = if whole { Moment(i64::MIN) } else { hour };
    let marks = grid::marks(&board, from);
    let folds = !whole && board.open.first().is_some_and(|o| o.from < hour);
    let columns = grid::columns(&board);
    let name = |c: &grid::Column<'_>| {
        if c.sink.places > 1 {
            format!("{}, place {}", c.sink.name, c.seat)
        } else {
            c.sink.name.clone()
        }
    };
    let page = DayPage {
        day: view.words.date(date),
        date: date.to_string(),
        is_today: date == today,
        open: view.open(),
        special: board.special.clone(),
        earlier: date.pred_opt().unwrap_or(date).to_string(),
        later: date.succ_opt().unwrap_or(date).to_string(),
        folded: folds.then(|| format!("/board?date={date}&whole=yes")),
        columns: columns.iter().map(name).collect(),
        rows: marks.iter().zip(marks.iter().skip(1)).map(|(m, to)| view.row(*m, *to)).collect(),
        lists: board.sinks.iter().map(|s| view.list(s, from)).collect(),
        revision,
    };
    let page = with(&page, "cells", view.cells(&marks)?)?;
    show_and_keep(&app, &req, ("Sinks", "bookings/board.html"), key, page)
}
