//! A roll's page: where it is, the next step as one tap, its way and how it was developed.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::records::{Recorded, recorded};
use super::{Choice, Line, format_of, known, line, whose};
use crate::app::App;
use crate::error::Error;
use crate::recipes::{self, Recipe};
use crate::rolls::rules::{Look, State};
use crate::rolls::{Customs, Move, Roll, store};
use crate::sessions::Role;
use crate::web::{Fields, Filled, Flash, Form, Lead, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/{ticket}", Who::Member, one);
    open.post("/rolls/{ticket}/state", Who::Lead, set_state);
    open.post("/rolls/{ticket}/withdraw", Who::Member, withdraw);
    open.post("/rolls/{ticket}/tested", Who::Member, tested);
    open.post("/rolls/{ticket}/result", Who::Member, result);
}

#[derive(Serialize)]
struct OnePage {
    roll: Line,
    format: String,
    recipe: Option<RecipeLine>,
    check: Vec<&'static str>,
    facts: Vec<Fact>,
    note: String,
    events: Vec<Step>,
    acts: Vec<Act>,
    tanks: Vec<Choice>,
    withdraw: Option<Form>,
    /// Where the test roll is judged that it waits for.
    test_form: Option<Form>,
    /// Whether its owner may look for a published run with a free reel.
    may_join: bool,
    records: Vec<Recorded>,
    looks: Vec<Choice>,
    result_form: Form,
    state_form: Form,
}

#[derive(Serialize)]
struct RecipeLine {
    id: i64,
    text: String,
}

#[derive(Serialize)]
struct Fact {
    term: &'static str,
    text: String,
}

#[derive(Serialize)]
struct Step {
    at: String,
    state: &'static str,
    note: String,
    by: Option<String>,
}

#[derive(Serialize)]
struct Act {
    word: &'static str,
    label: &'static str,
    form: Form,
    /// Whether it asks for the place on the column, or for the peg.
    asks: &'static str,
}

/// What a button says that leads to this state.
fn label(to: State) -> &'static str {
    match to {
        State::HandedIn => "Back into the drop box",
        State::Planned => "It is planned",
        State::Loaded => "It is loaded",
        State::OnTheHook => "It hangs on the hook",
        State::Ready => "Ready to pick up",
        State::PickedUp => "Picked up",
        State::ReFix => "To be fixed again",
        State::Spoiled => "It is spoiled",
        State::Lost => "It is lost",
        State::Withdrawn => "Withdrawn by its owner",
    }
}

fn recipe_line(r: &Recipe) -> RecipeLine {
    let text = format!(
        "{}, {} min at {} °C, version {}",
        r.developer.name,
        recipes::clock_of(r.time_s),
        recipes::decimal(r.temperature_mc),
        r.number
    );
    RecipeLine { id: r.id, text }
}

fn facts(app: &App, member: &Member, roll: &Roll, customs: &Customs) -> Vec<Fact> {
    let words = app.words(Some(member));
    let mut facts = Vec::new();
    if roll.state == State::HandedIn {
        let text = words.moment(roll.waits_until(customs));
        facts.push(Fact { term: "Waits at most until", text });
        if roll.waits_for_test() {
            facts.push(Fact {
                term: "Waits for",
                text: "a test roll that comes out well".to_owned(),
            });
        }
    }
    if let Some(due) = roll.due {
        facts.push(Fact { term: "Needed by", text: words.moment(due) });
    }
    if let Some(ready) = roll.ready {
        facts.push(Fact { term: "Not before", text: words.moment(ready) });
    }
    if !roll.shares {
        facts.push(Fact { term: "Tank", text: "not shared with other owners".to_owned() });
    }
    if let Some(percent) = roll.tolerance_percent {
        let text = format!("its time may differ by {percent}\u{202f}%");
        facts.push(Fact { term: "Tolerance", text });
    }
    if let Some(peg) = &roll.peg {
        facts.push(Fact { term: "Peg", text: peg.clone() });
    }
    facts
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    ticket: String,
    again: Option<Form>,
) -> Result<HttpResponse, Error> {
    let of = whose(member);
    let (roll, events, recipe, tanks, planned, records, customs) = app
        .db
        .read(move |conn| {
            let roll = store::by_ticket(conn, &ticket, of)?;
            let events = store::events(conn, roll.id)?;
            let recipe = match roll.recipe_id {
                Some(id) => Some(recipes::today_of(conn, id)?),
                None => None,
            };
            let tanks = store::tank_names(conn)?;
            let planned = store::planned(conn, roll.id)?;
            let records = store::records_of(conn, roll.id)?;
            let customs = store::customs(conn)?;
            Ok((roll, events, recipe, tanks, planned, records, customs))
        })
        .await?;
    let words = app.words(Some(member));
    let mut facts = facts(app, member, &roll, &customs);
    if let Some((from, ..)) = planned.filter(|_| roll.state == State::Planned) {
        facts.push(Fact { term: "Planned for", text: words.moment(from) });
    }
    let action = format!("/rolls/{}/state", roll.ticket);
    let mut state_form = Form::new(&action);
    if let Some((_, tank, place)) = planned {
        state_form = state_form.with("tank", tank).with("place", place);
    }
    let result_action = format!("/rolls/{}/result", roll.ticket);
    let mut result_form = Form::new(&result_action);
    let mut status = 200;
    let waits = roll.state == State::HandedIn;
    let test_action = format!("/rolls/{}/tested", roll.ticket);
    let mut test_form = (waits && roll.waits_for_test()).then(|| Form::new(&test_action));
    if let Some(again) = again {
        status = again.status;
        match &again.action {
            action if *action == result_action => result_form = again,
            action if *action == test_action => test_form = Some(again),
            _ => state_form = again,
        }
    }
    let lead = member.role == Role::Lead;
    let page = OnePage {
        acts: if lead { acts(&roll, &action) } else { Vec::new() },
        tanks: tanks.into_iter().map(|(id, name)| Choice::new(id, name)).collect(),
        test_form,
        may_join: waits && roll.member_id == member.id,
        withdraw: (waits && roll.member_id == member.id)
            .then(|| Form::new(&format!("/rolls/{}/withdraw", roll.ticket))),
        recipe: recipe.as_ref().map(recipe_line),
        check: roll.check.in_words(),
        facts,
        events: events
            .into_iter()
            .map(|e| Step { at: words.moment(e.at), state: e.state.name(), note: e.note, by: e.by })
            .collect(),
        note: roll.note.clone(),
        format: format_of(&roll),
        records: records.iter().map(|r| recorded(app, member, r)).collect(),
        looks: Look::ALL.iter().map(|l| Choice::new(l.word(), l.name())).collect(),
        result_form,
        state_form,
        roll: line(app, member, &roll),
    };
    let title = format!("Ticket {}", page.roll.spoken);
    let shown = Form { status, ..Form::default() };
    show_form(app, req, (&title, "rolls/one.html"), &shown, &page)
}

fn acts(roll: &Roll, action: &str) -> Vec<Act> {
    let next = roll.state.next().iter();
    next.map(|to| Act {
        word: to.word(),
        label: label(*to),
        form: Form::new(action),
        asks: match to {
            State::Loaded => "place",
            State::OnTheHook => "peg",
            _ => "",
        },
    })
    .collect()
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    page(&app, &req, &member, known(&path)?, None).await
}

fn read_move(f: &mut Fields) -> Result<Move, Error> {
    let to = State::from_word(f.raw("state"))
        .ok_or_else(|| Error::field("state", "Choose one of the buttons on the roll's page."))?;
    let if_any = |f: &mut Fields, name: &str, what: &str, most: i64| match f.raw(name).trim() {
        "" => Some(None),
        _ => f.number(name, what, 1..=most).map(Some),
    };
    let tank_id = if_any(f, "tank", "the tank", i64::MAX);
    let place = if_any(f, "place", "the place on the column", 40);
    let peg = f.text("peg", "the peg tag", 0..=20);
    let note = f.text("note", "a note", 0..=200);
    f.done()?;
    let missing = || f.faults();
    Ok(Move {
        to,
        tank_id: tank_id.ok_or_else(missing)?,
        place: place.ok_or_else(missing)?,
        peg: peg.ok_or_else(missing)?.into(),
        note: note.ok_or_else(missing)?,
    })
    .map(|step| Move { peg: step.peg.filter(|p| !p.is_empty()), ..step })
}

async fn set_state(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let step = match read_move(&mut filled.fields) {
        Ok(step) => step,
        Err(e) => {
            let form = filled.again(e)?;
            return page(&app, &req, &Member(lead.0.clone()), ticket, Some(form)).await;
        }
    };
    let (now, by, to) = (app.clock.now(), Some(lead.id), step.to);
    let back = format!("/rolls/{ticket}");
    let once = filled.once(&app, Some(&lead))?;
    let found = ticket.clone();
    let done = app
        .db
        .write_once(once, move |tx| {
            let roll = store::by_ticket(tx, &found, None)?;
            crate::rolls::move_on(tx, now, (roll.id, by), &step)
        })
        .await;
    match done {
        Ok(()) => Ok(go(&back, Some(Flash::good(format!("Now: {}.", to.name()))))),
        Err(e) => {
            let form = filled.again(e)?;
            page(&app, &req, &Member(lead.0.clone()), ticket, Some(form)).await
        }
    }
}

async fn withdraw(
    app: web::Data<App>,
    member: Member,
    path: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let (now, by) = (app.clock.now(), member.id);
    let back = format!("/rolls/{ticket}");
    let once = filled.once(&app, Some(&member))?;
    let done = app
        .db
        .write_once(once, move |tx| {
            let roll = store::by_ticket(tx, &ticket, Some(by))?;
            crate::rolls::withdraw(tx, now, roll.id, by)
        })
        .await;
    match done {
        Ok(()) => Ok(go(&back, Some(Flash::good("Withdrawn. Take it out of the drop box.")))),
        Err(Error::Refused { sentence, .. }) => Ok(go(&back, Some(Flash::bad(sentence)))),
        Err(e) => Err(e),
    }
}

async fn tested(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let note = filled.fields.text("note", "a note", 0..=200).ok_or_else(|| filled.fields.faults());
    let (now, by, of, found) = (app.clock.now(), member.id, whose(&member), ticket.clone());
    let done = filled
        .keep(&app, &member, note, move |tx, note| {
            let roll = store::by_ticket(tx, &found, of)?;
            crate::rolls::test_came_out_well(tx, now, (roll.id, by), note)
        })
        .await;
    match done {
        Ok(()) => {
            let word = "Noted. It is planned with the next day now.";
            Ok(go(&format!("/rolls/{ticket}"), Some(Flash::good(word))))
        }
        Err(e) => {
            let form = filled.again(e)?;
            page(&app, &req, &member, ticket, Some(form)).await
        }
    }
}

async fn result(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let ticket = known(&path)?;
    let look = Look::from_word(filled.fields.raw("look"));
    if look.is_none() {
        filled.fields.fault("look", "Choose how the negatives look.");
    }
    let note = filled.fields.text("note", "a note", 0..=500);
    let done = match (look, note) {
        (Some(look), Some(note)) => {
            let (now, by, of) = (app.clock.now(), member.id, whose(&member));
            let once = filled.once(&app, Some(&member))?;
            let found = ticket.clone();
            app.db
                .write_once(once, move |tx| {
                    let roll = store::by_ticket(tx, &found, of)?;
                    crate::rolls::note_result(tx, now, (roll.id, by), look, &note)
                })
                .await
        }
        _ => Err(filled.fields.faults()),
    };
    match done {
        Ok(()) => {
            let word = "Noted. Whoever shoots this film next finds it under Results.";
            Ok(go(&format!("/rolls/{ticket}"), Some(Flash::good(word))))
        }
        Err(e) => {
            let form = filled.again(e)?;
            page(&app, &req, &member, ticket, Some(form)).await
        }
    }
}
