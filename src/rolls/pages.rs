use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::rules::{FORMATS, Format, NewRoll, State};
use super::{Roll, store, ticket};
use crate::app::App;
use crate::error::Error;
use crate::recipes;
use crate::sessions::Role;
use crate::web::{
    Asked, Fields, Filled, Flash, Form, Lead, Member, Routes, Who, go, show, show_form,
};

/// Rolls that one form hands in at the most.
const AT_ONCE: i64 = 6;

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls", Who::Member, list);
    open.get("/rolls/new", Who::Member, new);
    open.post("/rolls/new", Who::Member, hand_in);
    open.get("/rolls/{ticket}", Who::Member, one);
    open.post("/rolls/{ticket}/state", Who::Lead, set_state);
}

#[derive(Serialize)]
struct Line {
    ticket: String,
    owner: String,
    film: String,
    format: String,
    ei: i64,
    state: &'static str,
    tone: &'static str,
    handed_in: String,
}

fn line(app: &App, member: &Member, roll: Roll) -> Line {
    Line {
        handed_in: app.words(Some(member)).moment(roll.handed_in),
        state: roll.state.name(),
        tone: tone(roll.state),
        ticket: roll.ticket,
        owner: roll.member_name,
        film: roll.film,
        format: roll.format,
        ei: roll.ei,
    }
}

fn tone(state: State) -> &'static str {
    match state {
        State::HandedIn | State::Planned => "wait",
        State::Loaded | State::OnTheHook => "note",
        State::Ready | State::PickedUp => "good",
        State::ReFix | State::Spoiled | State::Lost => "bad",
        State::Withdrawn => "off",
    }
}

#[derive(Serialize)]
struct ListPage {
    rolls: Vec<Line>,
    all: bool,
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let all = member.role == Role::Lead && !asked.0.ticked("mine");
    let of = (!all).then_some(member.id);
    let rolls = app.db.read(move |conn| store::list(conn, of, None)).await?;
    let rolls = rolls.into_iter().map(|r| line(&app, &member, r)).collect();
    show(&app, &req, "Rolls", "rolls/list.html", &ListPage { rolls, all })
}

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

#[derive(Serialize)]
struct NewPage {
    form: Form,
    films: Vec<Choice>,
    formats: Vec<Choice>,
    recipes: Vec<Choice>,
    counts: Vec<Choice>,
}

async fn new_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    form: Form,
) -> Result<HttpResponse, Error> {
    let (films, recipes) =
        app.db.read(|conn| Ok((recipes::films(conn)?, recipes::all(conn)?))).await?;
    let choice = |value: String, text: String| Choice { value, text };
    let page = NewPage {
        films: films.into_iter().map(|f| choice(f.id.to_string(), f.name)).collect(),
        formats: FORMATS.iter().map(|f| choice(f.name.to_owned(), f.name.to_owned())).collect(),
        recipes: recipes
            .into_iter()
            .map(|r| {
                let text = format!("{} at EI {} in {}", r.film.name, r.ei, r.developer.name);
                choice(r.id.to_string(), text)
            })
            .collect(),
        counts: (1..=AT_ONCE).map(|n| choice(n.to_string(), n.to_string())).collect(),
        form,
    };
    let shown = page.form.clone();
    show_form(app, req, ("Hand in rolls", "rolls/new.html"), &shown, &page)
}

async fn new(
    app: web::Data<App>,
    req: HttpRequest,
    _member: Member,
) -> Result<HttpResponse, Error> {
    new_page(&app, &req, Form::new("/rolls/new").with("count", 1).with("format", "135-36")).await
}

fn read(f: &mut Fields) -> Result<(i64, NewRoll), Error> {
    let film = f.number("film", "the film", 1..=i64::MAX);
    let names: Vec<&str> = FORMATS.iter().map(|x| x.name).collect();
    let format = f.choice("format", "the format", &names).and_then(|n| Format::named(&n));
    let ei = f.number("ei", "the exposure index", 1..=25_600);
    let count = f.number("count", "how many rolls", 1..=AT_ONCE);
    let note = f.text("note", "a note", 0..=500);
    let recipe_id = match f.raw("recipe") {
        "" => Some(None),
        _ => f.number("recipe", "the recipe", 1..=i64::MAX).map(Some),
    };
    match (film, format, ei, count, note, recipe_id) {
        (Some(film_id), Some(format), Some(ei), Some(count), Some(note), Some(recipe_id)) => {
            Ok((count, NewRoll { film_id, format, ei, recipe_id, note, due: None }))
        }
        _ => Err(f.faults()),
    }
}

async fn hand_in(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done: Result<Vec<String>, Error> = match read(&mut filled.fields) {
        Err(e) => Err(e),
        Ok((count, new)) => {
            let (now, by) = (app.clock.now(), member.id);
            let once = filled.once(&app, Some(&member))?;
            app.db
                .write_once(once, move |tx| {
                    (0..count).map(|_| Ok(super::hand_in(tx, now, by, &new)?.1)).collect()
                })
                .await
        }
    };
    match done {
        Ok(tickets) => {
            let word = format!("Handed in. Write on the film: {}.", tickets.join(", "));
            Ok(go("/rolls", Some(Flash::good(word))))
        }
        Err(e) => new_page(&app, &req, filled.again(e)?).await,
    }
}

#[derive(Serialize)]
struct OnePage {
    roll: Line,
    note: String,
    events: Vec<Step>,
    acts: Vec<Act>,
}

#[derive(Serialize)]
struct Step {
    at: String,
    state: &'static str,
    note: String,
}

#[derive(Serialize)]
struct Act {
    word: &'static str,
    label: &'static str,
    form: Form,
}

/// A ticket as typed; a slip of the pen is not found rather than somebody else's roll.
fn known(typed: &str) -> Result<String, Error> {
    ticket::read(typed).ok_or(Error::NotFound)
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let of = (member.role != Role::Lead).then_some(member.id);
    let (roll, events) = app
        .db
        .read(move |conn| {
            let roll = store::by_ticket(conn, &ticket, of)?;
            let events = store::events(conn, roll.id)?;
            Ok((roll, events))
        })
        .await?;
    let words = app.words(Some(&member));
    let action = format!("/rolls/{}/state", roll.ticket);
    let acts: &[State] = if member.role == Role::Lead { roll.state.next() } else { &[] };
    let page = OnePage {
        acts: acts
            .iter()
            .map(|s| Act { word: s.word(), label: s.name(), form: Form::new(&action) })
            .collect(),
        events: events
            .into_iter()
            .map(|e| Step { at: words.moment(e.at), state: e.state.name(), note: e.note })
            .collect(),
        note: roll.note.clone(),
        roll: line(&app, &member, roll),
    };
    let title = format!("Ticket {}", page.roll.ticket);
    show(&app, &req, &title, "rolls/one.html", &page)
}

async fn set_state(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let to = State::from_word(filled.fields.raw("state"))
        .ok_or_else(|| Error::field("state", "Choose one of the buttons on the roll's page."))?;
    let (now, by) = (app.clock.now(), Some(lead.id));
    let back = format!("/rolls/{ticket}");
    let once = filled.once(&app, Some(&lead))?;
    app.db
        .write_once(once, move |tx| {
            let roll = store::by_ticket(tx, &ticket, None)?;
            super::set_state(tx, now, (roll.id, by), to, "")
        })
        .await?;
    Ok(go(&back, Some(Flash::good(format!("Now: {}.", to.name())))))
}
