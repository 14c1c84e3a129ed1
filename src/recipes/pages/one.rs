//! One recipe: what it says, its versions, and the time for a run of one's own.

use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::working::{self, Worked};
use super::{Choice, degrees, minutes};
use crate::app::App;
use crate::data_sheets;
use crate::error::Error;
use crate::members;
use crate::recipes::{Handling, Recipe, Standing, rules, store};
use crate::sessions::Role;
use crate::web::{Asked, Filled, Flash, Form, Lead, Member, Routes, Who, go, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/chart/{id}", Who::Member, one);
    open.get("/chart/{id}/working", Who::Member, preview);
    open.post("/chart/{id}/decide", Who::Lead, decide);
    open.post("/chart/{id}/withdraw", Who::Lead, withdraw);
}

#[derive(Serialize)]
struct Fact {
    term: &'static str,
    text: String,
}

#[derive(Serialize)]
struct Version {
    id: i64,
    number: i64,
    standing: &'static str,
    entered: String,
    by: String,
    decided: String,
    time: String,
    why: String,
    here: bool,
}

#[derive(Serialize)]
struct OnePage {
    id: i64,
    film: String,
    film_id: i64,
    ei: i64,
    developer: String,
    standing: &'static str,
    tone: &'static str,
    on_chart: bool,
    proposed: bool,
    facts: Vec<Fact>,
    table: Vec<TableLine>,
    hazards: String,
    versions: Vec<Version>,
    lead: bool,
    used_again: bool,
    ways: Vec<Choice>,
    time_form: Form,
    worked: Worked,
    decide_form: Form,
    withdraw_form: Form,
}

/// A row of the time-temperature table.
#[derive(Serialize)]
struct TableLine {
    at: String,
    time: String,
}

fn tone(standing: Standing) -> &'static str {
    match standing {
        Standing::Approved => "good",
        Standing::Proposed => "wait",
        Standing::Replaced => "off",
        Standing::Declined | Standing::Withdrawn => "bad",
    }
}

fn facts(app: &App, member: &Member, r: &Recipe) -> Vec<Fact> {
    let mut facts = vec![
        Fact { term: "Temperature", text: degrees(app, member, r.temperature_mc) },
        Fact { term: "Developing time", text: minutes(r.time_s) },
        Fact { term: "Pre-soak", text: minutes(r.pre_soak_s) },
        Fact { term: "Agitation", text: r.agitation.clone() },
    ];
    if !r.contrast.is_empty() {
        facts.push(Fact { term: "Made for", text: r.contrast.clone() });
    }
    facts.push(Fact { term: "Source", text: r.source.clone() });
    let least = rules::decimal(r.developer.least_ul_per_roll);
    facts.push(Fact {
        term: "Least concentrate",
        text: format!("{least}\u{202f}ml for one roll's worth"),
    });
    facts.push(Fact {
        term: "On the shelf",
        text: if r.developer.on_hand { "yes" } else { "no" }.to_owned(),
    });
    facts
}

/// The ways of moving the tank that a run may choose between.
fn ways() -> Vec<Choice> {
    ["30s+5s/60s", "5x/60s", "continuous", "stand"]
        .iter()
        .filter_map(|code| {
            let scheme = rules::agitation_scheme(code)?;
            Some(Choice::new(code, rules::agitation_in_words(scheme)))
        })
        .collect()
}

/// The versions its reader may see, in words.
fn versions(
    app: &App,
    member: &Member,
    line: &[Recipe],
    (id, names): (i64, &BTreeMap<i64, String>),
) -> Vec<Version> {
    let lead = member.role == Role::Lead;
    let words = app.words(Some(member));
    let name = |of: Option<i64>| of.and_then(|id| names.get(&id).cloned()).unwrap_or_default();
    line.iter()
        // What is only proposed is between its author and the leads.
        .filter(|r| {
            lead || r.standing == Standing::Approved
                || r.standing == Standing::Replaced
                || r.entered_by == Some(member.id)
                || r.id == id
        })
        .map(|r| Version {
            id: r.id,
            number: r.number,
            standing: r.standing.name(),
            entered: words.moment(r.entered),
            by: name(r.entered_by),
            decided: name(r.decided_by.filter(|_| r.decided_by != r.entered_by)),
            time: minutes(r.time_s),
            why: r.why.clone(),
            here: r.id == id,
        })
        .collect()
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let (line, names, hazards) = app
        .db
        .read(move |conn| {
            let recipe = store::by_id(conn, id)?;
            let line = store::rows_of_line(conn, recipe.line_id)?;
            let ids: Vec<i64> =
                line.iter().flat_map(|r| [r.entered_by, r.decided_by]).flatten().collect();
            let sheet = data_sheets::of_developer(conn, recipe.developer.id)?;
            let hazards = sheet.map(|s| s.told_both()).unwrap_or_default();
            Ok((line, members::names(conn, &ids)?, hazards))
        })
        .await?;
    let recipe = line.iter().find(|r| r.id == id).ok_or(Error::NotFound)?;
    let lead = member.role == Role::Lead;
    let versions = versions(&app, &member, &line, (id, &names));
    let mut fields = asked.0;
    let worked = working::worked(&mut fields, recipe);
    let page = OnePage {
        id,
        film: recipe.film.name.clone(),
        film_id: recipe.film.id,
        ei: recipe.ei,
        developer: recipe.developer.name.clone(),
        standing: recipe.standing.name(),
        tone: tone(recipe.standing),
        on_chart: recipe.standing == Standing::Approved,
        proposed: recipe.standing == Standing::Proposed,
        facts: facts(&app, &member, recipe),
        table: recipe
            .table
            .iter()
            .map(|(mc, s)| TableLine { at: degrees(&app, &member, *mc), time: minutes(*s) })
            .collect(),
        hazards,
        versions,
        lead,
        used_again: recipe.developer.handling() == Handling::UsedAgain,
        ways: ways(),
        time_form: working::form(&fields, recipe),
        worked,
        decide_form: Form::new(&format!("/chart/{id}/decide")),
        withdraw_form: Form::new(&format!("/chart/{id}/withdraw")),
    };
    let title = format!("{} at EI {}", page.film, page.ei);
    show(&app, &req, &title, "recipes/one.html", &page)
}

/// The working alone, for the page that asks while somebody types.
async fn preview(
    app: web::Data<App>,
    req: HttpRequest,
    _member: Member,
    id: web::Path<i64>,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let recipe = app.db.read(move |conn| store::by_id(conn, id)).await?;
    let worked = working::worked(&mut asked.0.clone(), &recipe);
    show(&app, &req, "Working", "recipes/working.html", &worked)
}

async fn decide(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let approve = filled.fields.raw("what") == "approve";
    let why =
        filled.fields.text("why", "a reason", 0..=200).ok_or_else(|| filled.fields.faults())?;
    let by = (app.clock.now(), lead.id);
    let once = filled.once(&app, Some(&lead))?;
    let done = app
        .db
        .write_once(once, move |tx| {
            crate::recipes::decide(tx, by, id, approve, &why).map(|r| r.film.name)
        })
        .await;
    word(id, done, if approve { "It stands on the time chart now." } else { "Declined." })
}

async fn withdraw(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let why =
        filled.fields.text("why", "a reason", 0..=200).ok_or_else(|| filled.fields.faults())?;
    let by = (app.clock.now(), lead.id);
    let once = filled.once(&app, Some(&lead))?;
    let done = app.db.write_once(once, move |tx| crate::recipes::withdraw(tx, by, id, &why)).await;
    word(id, done, "Taken off the chart. What was developed by it keeps it.")
}

fn word<T>(id: i64, done: Result<T, Error>, good: &str) -> Result<HttpResponse, Error> {
    let back = format!("/chart/{id}");
    match done {
        Ok(_) => Ok(go(&back, Some(Flash::good(good)))),
        Err(Error::Refused { sentence, .. }) => Ok(go(&back, Some(Flash::bad(sentence)))),
        Err(e) => Err(e),
    }
}
