//! A roll's page: where it is, the next step as one tap, its way and how it was developed.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::records::{Recorded, recorded};
use super::{Choice, Line, format_of, known, line, whose};
use crate::app::App;
use crate::clock::Moment;
use crate::db::Conn;
use crate::error::Error;
use crate::recipes::{self, Recipe};
use crate::rolls::rules::{Look, State};
use crate::rolls::{Customs, Event, Move, Record, Roll, store};
use crate::sessions::Role;
use crate::web::{Fields, Filled, Flash, Form, Lead, Member, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/{ticket}", Who::Member, one);
    open.post("/rolls/{ticket}/state", Who::Lead, set_state);
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
    /// Where its owner says that they have it.
    collect: Option<Form>,
    /// Where the test roll is judged that it waits for.
    test_form: Option<Form>,
    /// Whether its owner may look for a published run with a free reel.
    may_join: bool,
    records: Vec<Recorded>,
    looks: Vec<Choice>,
    /// Whether there are negatives to judge.
    is_through: bool,
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

/// Everything the page tells of a roll.
struct Told {
    roll: Roll,
    events: Vec<Event>,
    recipe: Option<Recipe>,
    tanks: Vec<(i64, String)>,
    planned: Option<(Moment, i64, i64)>,
    records: Vec<Record>,
    customs: Customs,
}

fn told(conn: &mut Conn, ticket: &str, of: Option<i64>) -> Result<Told, Error> {
    let roll = store::by_ticket(conn, ticket, of)?;
    let records = store::records_of(conn, roll.id)?;
    // What waits is developed by the version of the day; what is through, by the one it ran by.
    let recipe = match (records.last().and_then(|r| r.told.recipe_id), roll.recipe_id) {
        (Some(id), _) => Some(recipes::by_id(conn, id)?),
        (None, Some(id)) => Some(recipes::today_of(conn, id)?),
        (None, None) => None,
    };
    Ok(Told {
        events: store::events(conn, roll.id)?,
        recipe,
        tanks: store::tank_names(conn)?,
        planned: store::planned(conn, roll.id)?,
        records,
        customs: store::customs(conn)?,
        roll,
    })
}

/// The forms of a roll's page, the one that was filled in wrongly as it was.
struct Forms {
    state: Form,
    result: Form,
    test: Option<Form>,
    withdraw: Option<Form>,
    status: u16,
}

fn forms(told: &Told, member: &Member, again: Option<Form>) -> Forms {
    let roll = &told.roll;
    let at = |what: &str| format!("/rolls/{}/{what}", roll.ticket);
    let mut state = Form::new(&at("state"));
    if let Some((_, tank, place)) = told.planned {
        state = state.with("tank", tank).with("place", place);
    }
    let waits = roll.state == State::HandedIn;
    let mine = waits && roll.member_id == member.id;
    let mut forms = Forms {
        state,
        result: Form::new(&at("result")),
        test: (waits && roll.waits_for_test()).then(|| Form::new(&at("tested"))),
        withdraw: mine.then(|| Form::new(&at("withdraw"))),
        status: 200,
    };
    if let Some(again) = again {
        forms.status = again.status;
        match &again.action {
            action if *action == forms.result.action => forms.result = again,
            action if *action == at("tested") => forms.test = Some(again),
            _ => forms.state = again,
        }
    }
    forms
}

pub(super) async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    ticket: String,
    again: Option<Form>,
) -> Result<HttpResponse, Error> {
    let of = whose(member);
    let told = app.db.read(move |conn| told(conn, &ticket, of)).await?;
    let words = app.words(Some(member));
    let forms = forms(&told, member, again);
    let Told { roll, events, recipe, tanks, planned, records, customs } = told;
    let mut facts = facts(app, member, &roll, &customs);
    if let Some((from, ..)) = planned.filter(|_| roll.state == State::Planned) {
        facts.push(Fact { term: "Planned for", text: words.moment(from) });
    }
    let lead = member.role == Role::Lead;
    let page = OnePage {
        acts: if lead { acts(&roll, &forms.state.action) } else { Vec::new() },
        tanks: tanks.into_iter().map(|(id, name)| Choice::new(id, name)).collect(),
        test_form: forms.test,
        may_join: forms.withdraw.is_some(),
        withdraw: forms.withdraw,
        collect: (!lead && roll.state == State::Ready).then(|| Form::new("/rolls/moves")),
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
        is_through: is_through(roll.state) || !records.is_empty(),
        looks: Look::ALL.iter().map(|l| Choice::new(l.word(), l.name())).collect(),
        result_form: forms.result,
        state_form: forms.state,
        roll: line(app, member, &roll),
    };
    let title = format!("Ticket {}", page.roll.spoken);
    let shown = Form { status: forms.status, ..Form::default() };
    show_form(app, req, (&title, "rolls/one.html"), &shown, &page)
}

fn is_through(state: State) -> bool {
    use State::{OnTheHook, PickedUp, ReFix, Ready, Spoiled};
    matches!(state, OnTheHook | ReFix | Ready | PickedUp | Spoiled)
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
            State::Lost | State::Spoiled => "why",
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
