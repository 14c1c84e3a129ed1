use std::collections::{BTreeMap, BTreeSet};

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use super::{Keeping, Line, Search, sentences, store};
use crate::app::App;
use crate::clock::{Moment, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::members;
use crate::web::{
    Asked, Fields, Filled, Flash, Form, Lead, Routes, Who, Words, csv_file, go, show_form,
};

pub(super) fn routes(open: &mut Routes) {
    open.get("/trail", Who::Lead, trail);
    open.get("/trail.csv", Who::Lead, export);
    open.get("/studio/keeping", Who::Lead, ask);
    open.post("/studio/keeping", Who::Lead, change);
}

/// Lines on one page.
const PAGE: i64 = 50;
/// Lines in one file.
const MOST: i64 = 100_000;

#[derive(Serialize)]
struct Shown {
    when: String,
    who: String,
    what: String,
    thing: String,
    whose: String,
    via: &'static str,
}

#[derive(Serialize)]
struct TrailPage {
    form: Form,
    lines: Vec<Shown>,
    later: Option<String>,
    earlier: Option<String>,
    file: String,
    days: i64,
}

/// What the form asks for; dates are the studio's own.
fn read(fields: &mut Fields, zone: Zone) -> (Search, String) {
    let mut date = |name: &str| -> Option<NaiveDate> {
        if fields.raw(name).trim().is_empty() { None } else { fields.date(name, "a date") }
    };
    let (from, to) = (date("from"), date("to"));
    let search = Search {
        people: None,
        from: from.map(|d| zone.day_start(d)),
        to: to.and_then(|d| d.succ_opt()).map(|d| zone.day_start(d)),
        door: fields.raw("door").trim().chars().take(80).collect(),
        before: fields.raw("before").parse().ok(),
        limit: PAGE + 1,
    };
    (search, fields.raw("who").trim().chars().take(80).collect())
}

type Found = (Vec<Line>, BTreeMap<i64, String>);

fn find(conn: &mut Conn, mut search: Search, who: &str) -> Result<Found, Error> {
    if !who.is_empty() {
        search.people = Some(store::people_like(conn, who)?);
    }
    let lines = store::found(conn, &search)?;
    let ids: BTreeSet<i64> = lines.iter().flat_map(|l| [l.actor, l.owner]).flatten().collect();
    let names = members::names(conn, &ids.into_iter().collect::<Vec<_>>())?;
    Ok((lines, names))
}

/// A member as they are called now: a number stays when the name is gone.
fn called(names: &BTreeMap<i64, String>, id: Option<i64>) -> String {
    id.map_or_else(String::new, |id| match names.get(&id) {
        Some(name) => format!("{name} ({id})"),
        None => format!("number {id}"),
    })
}

fn via(line: &Line) -> &'static str {
    match line.via.as_str() {
        "page" => "on a page",
        "token" => "with a token",
        "machine" => "at the machine",
        _ => "not signed in before",
    }
}

fn shown(line: &Line, names: &BTreeMap<i64, String>, words: &Words) -> Shown {
    let who = match (line.actor, line.via.as_str()) {
        (None, "machine") => "Whoever keeps the server".to_owned(),
        (None, _) => "Somebody unknown".to_owned(),
        (id, _) => called(names, id),
    };
    let whose = match line.owner {
        None => "–".to_owned(),
        owner if owner == line.actor => "their own".to_owned(),
        owner => called(names, owner),
    };
    let thing = if line.thing.is_empty() { "–".to_owned() } else { line.thing.clone() };
    Shown {
        when: words.moment(line.at),
        who,
        what: sentences::what(&line.door, line.only_tried),
        thing,
        whose,
        via: via(line),
    }
}

/// The address of another page of the same search.
fn address(path: &str, form: &Form, before: Option<i64>) -> String {
    let mut pairs: Vec<(&str, String)> = ["who", "from", "to", "door"]
        .into_iter()
        .filter_map(|name| Some((name, form.values.get(name)?.clone())))
        .filter(|(_, value)| !value.is_empty())
        .collect();
    pairs.extend(before.map(|id| ("before", id.to_string())));
    let query = serde_urlencoded::to_string(pairs).unwrap_or_default();
    if query.is_empty() { path.to_owned() } else { format!("{path}?{query}") }
}

async fn trail(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let mut fields = asked.0;
    let (search, who) = read(&mut fields, app.zone());
    let mut form = Form::new("/trail");
    form.values = fields.values();
    if let Err(Error::Invalid(faults)) = fields.done() {
        form.faults = faults;
        form.status = 422;
    }
    let is_first = search.before.is_none();
    let (mut lines, names) = app.db.read(move |conn| find(conn, search.clone(), &who)).await?;
    let more = lines.len() > usize::try_from(PAGE).unwrap_or(usize::MAX);
    if more {
        lines.pop();
    }
    let words = app.words(Some(&lead));
    let page = TrailPage {
        earlier: more.then(|| address("/trail", &form, lines.last().map(|l| l.id))),
        later: (!is_first).then(|| address("/trail", &form, None)),
        file: address("/trail.csv", &form, None),
        lines: lines.iter().map(|l| shown(l, &names, &words)).collect(),
        days: app.keeping().trail_days,
        form,
    };
    show_form(&app, &req, ("Who changed what", "keeping/trail.html"), &page.form, &page)
}

async fn export(app: web::Data<App>, _lead: Lead, asked: Asked) -> Result<HttpResponse, Error> {
    let (mut fields, zone) = (asked.0, app.zone());
    let (mut search, who) = read(&mut fields, zone);
    fields.done()?;
    (search.limit, search.before) = (MOST, None);
    let (lines, names) = app.db.read(move |conn| find(conn, search.clone(), &who)).await?;
    let head = ["number", "when", "who", "who_number", "what", "thing", "whose", "whose_number"];
    let mut rows = vec![head.map(ToOwned::to_owned).to_vec()];
    if let Some(head) = rows.first_mut() {
        head.extend(["by".to_owned(), "door".to_owned()]);
    }
    let number = |id: Option<i64>| id.map_or_else(String::new, |id| id.to_string());
    let name = |id: Option<i64>| id.and_then(|id| names.get(&id).cloned()).unwrap_or_default();
    for line in lines {
        rows.push(vec![
            line.id.to_string(),
            zone.rfc3339(Moment(line.at.0)),
            name(line.actor),
            number(line.actor),
            sentences::what(&line.door, line.only_tried),
            line.thing,
            name(line.owner),
            number(line.owner),
            line.via,
            line.door,
        ]);
    }
    csv_file("who-changed-what.csv", &rows)
}

#[derive(Serialize)]
struct KeepingPage {
    form: Form,
}

fn settings(app: &App, req: &HttpRequest, form: &Form) -> Result<HttpResponse, Error> {
    let page = KeepingPage { form: form.clone() };
    show_form(app, req, ("Keeping", "keeping/settings.html"), form, &page)
}

async fn ask(app: web::Data<App>, req: HttpRequest, _lead: Lead) -> Result<HttpResponse, Error> {
    let k = app.db.read(super::load).await?;
    let form = Form::new("/studio/keeping")
        .with("trail_days", k.trail_days)
        .with("letters_days", k.letters_days)
        .with("holds_days", k.holds_days)
        .with("leads_second_factor", if k.leads_second_factor { "yes" } else { "" })
        .of_version(k.version);
    settings(&app, &req, &form)
}

fn wish(f: &mut Fields, version: i64) -> Result<Keeping, Error> {
    let trail = f.number("trail_days", "a number of days", 90..=3650);
    let letters = f.number("letters_days", "a number of days", 14..=3650);
    let holds = f.number("holds_days", "a number of days", 30..=3650);
    let leads_second_factor = f.ticked("leads_second_factor");
    match (trail, letters, holds) {
        (Some(trail_days), Some(letters_days), Some(holds_days)) => {
            Ok(Keeping { trail_days, letters_days, holds_days, leads_second_factor, version })
        }
        _ => Err(f.faults()),
    }
}

/// A lead who shuts the leads' doors to all without a second factor must have come in with one,
/// or nobody might be left inside.
fn showed_one(req: &HttpRequest) -> bool {
    use actix_web::HttpMessage;
    req.extensions().get::<crate::sessions::Proof>().is_some_and(|p| p.second_factor)
}

async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let version = filled.version();
    let showed = showed_one(&req);
    let to = wish(&mut filled.fields, version).and_then(|to| {
        if to.leads_second_factor && !showed {
            return Err(Error::field(
                "leads_second_factor",
                "Set up a second factor of your own first, under Me, and sign in with it.",
            ));
        }
        Ok(to)
    });
    if let Err(e) = filled.keep(&app, &lead, to, super::change).await {
        return settings(&app, &req, &filled.again(e)?);
    }
    let shared = app.clone();
    web::block(move || shared.refresh_studio()).await??;
    Ok(go("/studio/keeping", Some(Flash::good("These settings are saved."))))
}
