use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Shown, Wall, rules, shown_name, store};
use crate::app::App;
use crate::bookings::{self, Kept};
use crate::clock::{Moment, Span};
use crate::db::Conn;
use crate::duty::{self, Duty};
use crate::error::Error;
use crate::sessions::Role;
use crate::sinks::{self, Held, Kind, Light, Sink, Why};
use crate::web::{
    Filled, Flash, Form, Lead, Member, Newcomer, Routes, Who, Words, go, show, show_form,
};
use crate::{presence, pulse};

pub(super) fn routes(open: &mut Routes) {
    open.get("/wall", Who::Newcomer, about);
    open.post("/wall/name", Who::Newcomer, name);
    open.post("/wall/dark", Who::Member, dark);
    open.post("/wall/renew", Who::Lead, renew);
    open.post("/wall/follow", Who::Lead, follow);
    open.get("/wall/{secret}", Who::Anyone, wall);
    open.get("/wall/{secret}/live", Who::Anyone, live);
}

#[derive(Serialize)]
struct Column {
    sink: String,
    now: String,
    is_free: bool,
    next: Vec<String>,
    more: usize,
}

#[derive(Serialize)]
struct WallPage {
    studio: String,
    day: String,
    time: String,
    open: String,
    on_duty: String,
    inside: String,
    is_dark: bool,
    columns: Vec<Column>,
    again_in: i64,
    live: String,
    revision: i64,
}

/// So many lines of what is ahead stand under a sink.
const LINES: usize = 5;

struct Facts {
    wall: Wall,
    open: Vec<Span>,
    sinks: Vec<Sink>,
    held: Vec<Held>,
    bookings: Vec<Kept>,
    shown: BTreeMap<i64, Shown>,
    duties: Vec<Duty>,
    inside: usize,
    dark: Vec<Span>,
    revision: i64,
}

fn facts(conn: &mut Conn, wall: Wall, app: &App, now: Moment) -> Result<Facts, Error> {
    let zone = app.zone();
    let date = zone.date(now);
    let day = zone.day(date);
    let bookings = bookings::beginning(conn, day)?;
    let duties = duty::during(conn, Span { from: now, to: now.plus(1) })?;
    let members: Vec<i64> =
        bookings.iter().map(|b| b.member_id).chain(duties.iter().map(|d| d.member_id)).collect();
    Ok(Facts {
        shown: store::shown(conn, &members)?,
        inside: presence::inside(conn)?.len(),
        dark: if wall.with_room { darkness(conn, day)? } else { Vec::new() },
        revision: pulse::revision(conn, day)?,
        open: sinks::opening(conn, zone, date)?,
        sinks: sinks::sinks(conn)?,
        held: sinks::held(conn, Kind::SinkPlace, day)?,
        wall,
        bookings,
        duties,
    })
}

/// When a room is booked without white light.
fn darkness(conn: &mut Conn, day: Span) -> Result<Vec<Span>, Error> {
    let lights = sinks::lights(conn, day)?;
    Ok(lights.into_iter().filter(|l| l.light != Light::White).map(|l| l.span).collect())
}

impl Facts {
    fn label(&self, held: &Held) -> String {
        let booking = match held.why {
            Why::Booking(id) => self.bookings.iter().find(|b| b.id == id),
            Why::Run(_) => return "A run of the studio".to_owned(),
            Why::Offer(_) => return "Held for the waiting list".to_owned(),
            Why::Outage(_) => return "Out of service".to_owned(),
            Why::Other => return "Not to be had".to_owned(),
        };
        let shown = |b: &Kept| self.shown.get(&b.member_id).copied().unwrap_or(Shown::Nothing);
        let name = booking.and_then(|b| shown_name(&b.member_name, shown(b)));
        name.unwrap_or_else(|| "Taken".to_owned())
    }

    fn column(&self, sink: &Sink, now: Moment, words: &Words) -> Column {
        let own = || self.held.iter().filter(|h| h.of_id == sink.id);
        let here: Vec<&Held> = own().filter(|h| h.span.from <= now && now < h.span.to).collect();
        let ahead: Vec<&Held> = own().filter(|h| h.span.from > now).collect();
        let said = |h: &&Held| format!("{}, until {}", self.label(h), words.time(h.span.to));
        let places = usize::try_from(sink.places).unwrap_or(1);
        let is_free = here.len() < places;
        let is_open = self.open.iter().any(|o| o.from <= now && now < o.to);
        let mut now_says: Vec<String> = here.iter().map(said).collect();
        if is_free && is_open {
            now_says.push(match ahead.first() {
                Some(h) => format!("Free until {}", words.time(h.span.from)),
                None => "Free".to_owned(),
            });
        } else if now_says.is_empty() {
            now_says.push("Closed now".to_owned());
        }
        let line = |h: &&Held| {
            let (from, to) = (words.time(h.span.from), words.time(h.span.to));
            format!("{from} to {to}: {}", self.label(h))
        };
        Column {
            sink: sink.name.clone(),
            now: now_says.join(". "),
            is_free: is_free && is_open,
            next: ahead.iter().take(LINES).map(line).collect(),
            more: ahead.len().saturating_sub(LINES),
        }
    }

    fn is_dark(&self, now: Moment) -> bool {
        self.wall.dark_until.is_some_and(|until| now < until)
            || self.dark.iter().any(|s| s.from <= now && now < s.to)
    }

    /// Whatever changes the picture by its beginning or its end.
    fn edges(&self) -> Vec<Span> {
        let mut all: Vec<Span> = self.held.iter().map(|h| h.span).collect();
        all.extend(&self.open);
        all.extend(&self.dark);
        all.extend(self.duties.iter().map(|d| d.span));
        all.extend(self.wall.dark_until.map(|to| Span { from: to, to }));
        all
    }

    fn on_duty(&self, words: &Words) -> String {
        let one = |d: &Duty| {
            let shown = self.shown.get(&d.member_id).copied().unwrap_or(Shown::Nothing);
            let name = shown_name(&d.name, shown).unwrap_or_else(|| "A lead".to_owned());
            format!("{name}, until {}", words.time(d.span.to))
        };
        match self.duties.as_slice() {
            [] => "No lead is on duty now.".to_owned(),
            some => format!("On duty: {}.", some.iter().map(one).collect::<Vec<_>>().join("; ")),
        }
    }
}

fn open_words(open: &[Span], words: &Words) -> String {
    let times = |s: &Span| format!("{} to {}", words.time(s.from), words.time(s.to));
    match open {
        [] => "Closed today.".to_owned(),
        some => format!("Open {}.", some.iter().map(times).collect::<Vec<_>>().join(" and ")),
    }
}

async fn wall(
    app: web::Data<App>,
    req: HttpRequest,
    secret: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (now, secret) = (app.clock.now(), secret.into_inner());
    let (asked, within) = (secret.clone(), app.clone());
    let facts = app
        .db
        .read(move |conn| {
            let wall = super::open(conn, &within.key, &asked)?;
            facts(conn, wall, &within, now)
        })
        .await?;
    let words = app.words(None);
    let page = WallPage {
        studio: app.studio().name.clone(),
        day: words.date(app.zone().date(now)),
        time: words.time(now),
        open: open_words(&facts.open, &words),
        on_duty: facts.on_duty(&words),
        inside: match facts.inside {
            0 => "Nobody is checked in.".to_owned(),
            1 => "One person is checked in.".to_owned(),
            n => format!("{n} people are checked in."),
        },
        is_dark: facts.is_dark(now),
        columns: facts.sinks.iter().map(|s| facts.column(s, now, &words)).collect(),
        again_in: rules::again_in(now, &facts.edges()),
        live: format!("/wall/{secret}/live"),
        revision: facts.revision,
    };
    show(&app, &req, "The day", "wall/wall.html", &page)
}

async fn live(app: web::Data<App>, secret: web::Path<String>) -> Result<HttpResponse, Error> {
    let (within, secret) = (app.clone(), secret.into_inner());
    app.db.read(move |conn| super::open(conn, &within.key, &secret)).await?;
    // A wall hangs for weeks; its stream ends now and then, and it asks for that day's again.
    let day = app.zone().day(app.zone().date(app.clock.now()));
    pulse::stream(app, day).await
}

#[derive(Serialize)]
struct Choice {
    value: &'static str,
    text: String,
    help: Option<&'static str>,
}

#[derive(Serialize)]
struct AboutPage {
    url: Option<String>,
    name: Form,
    choices: Vec<Choice>,
    dark: Form,
    is_dark: bool,
    is_member: bool,
    renew: Form,
    follow: Form,
    follows: bool,
}

fn choice(shown: Shown, name: &str) -> Choice {
    let seen = shown_name(name, shown).unwrap_or_else(|| "Taken".to_owned());
    Choice { value: shown.word(), text: format!("“{seen}”"), help: None }
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    person: &Newcomer,
    failed: Option<Form>,
) -> Result<HttpResponse, Error> {
    let id = person.id;
    let (wall, own) = app.db.read(move |c| Ok((store::load(c)?, store::shown(c, &[id])?))).await?;
    let own = own.get(&id).copied().unwrap_or(Shown::Nothing);
    let status = failed.clone().unwrap_or_else(|| Form::new("/wall"));
    let of = |action: &str| match &failed {
        Some(f) if f.action == action => f.clone(),
        _ => Form::new(action),
    };
    let is_lead = person.role == Role::Lead;
    let base = app.config.base_url.trim_end_matches('/');
    let page = AboutPage {
        url: is_lead.then(|| format!("{base}/wall/{}", wall.secret(&app.key))),
        name: of("/wall/name").with("shown", own.word()),
        choices: Shown::ALL.iter().map(|s| choice(*s, &person.name)).collect(),
        dark: of("/wall/dark").with("minutes", 20),
        is_dark: wall.dark_until.is_some_and(|until| app.clock.now() < until),
        is_member: person.role >= Role::Member,
        renew: of("/wall/renew"),
        follow: of("/wall/follow"),
        follows: wall.with_room,
    };
    show_form(app, req, ("Screen at the door", "wall/about.html"), &status, &page)
}

async fn about(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, &person, None).await
}

async fn name(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let words = Shown::ALL.map(Shown::word);
    let chosen = filled.fields.choice("shown", "how your name is shown", &words);
    let Some(chosen) = chosen.as_deref().and_then(Shown::from_word) else {
        let form = filled.again(filled.fields.faults())?;
        return shown(&app, &req, &person, Some(form)).await;
    };
    let (id, once) = (person.id, filled.once(&app, Some(&person))?);
    app.db.write_once(once, move |tx| super::show_me(tx, id, chosen)).await?;
    Ok(go("/wall", Some(Flash::good("Your choice is saved."))))
}

async fn dark(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let Some(minutes) = filled.fields.number("minutes", "a number of minutes", 0..=240) else {
        let form = filled.again(filled.fields.faults())?;
        return shown(&app, &req, &Newcomer(member.0), Some(form)).await;
    };
    let (now, once) = (app.clock.now(), filled.once(&app, Some(&member))?);
    app.db.write_once(once, move |tx| super::darken(tx, now, minutes)).await?;
    let word = if minutes > 0 { "The screen goes dark." } else { "The screen is light again." };
    Ok(go("/wall", Some(Flash::good(word))))
}

async fn renew(app: web::Data<App>, lead: Lead, filled: Filled) -> Result<HttpResponse, Error> {
    let once = filled.once(&app, Some(&lead))?;
    app.db.write_once(once, super::renew).await?;
    Ok(go("/wall", Some(Flash::good("The screen has a new address; the old one has ended."))))
}

async fn follow(app: web::Data<App>, lead: Lead, filled: Filled) -> Result<HttpResponse, Error> {
    let with_room = filled.fields.ticked("with_room");
    let once = filled.once(&app, Some(&lead))?;
    app.db.write_once(once, move |tx| super::follow_room(tx, with_room)).await?;
    Ok(go("/wall", Some(Flash::good("Saved."))))
}
