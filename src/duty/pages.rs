use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Duty, NewDuty};
use crate::app::App;
use crate::clock::Span;
use crate::error::Error;
use crate::members;
use crate::sessions::Role;
use crate::web::{Fields, Filled, Flash, Form, Lead, Newcomer, Routes, Who, Words, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/duty", Who::Newcomer, rota);
    open.post("/duty", Who::Lead, add);
    open.post("/duty/{id}/remove", Who::Lead, remove);
}

/// How far ahead the rota is shown, in seconds.
const AHEAD_S: i64 = 42 * 86_400;

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

#[derive(Serialize)]
struct Line {
    when: String,
    name: String,
    note: String,
    remove: Option<Form>,
}

#[derive(Serialize)]
struct RotaPage {
    lines: Vec<Line>,
    is_lead: bool,
    leads: Vec<Choice>,
    form: Form,
}

fn line(d: Duty, words: &Words, is_lead: bool) -> Line {
    Line {
        when: words.span(d.span.from, d.span.to),
        name: d.name,
        note: d.note,
        remove: is_lead.then(|| Form::new(&format!("/duty/{}/remove", d.id))),
    }
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    person: &Newcomer,
    form: Form,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let span = Span { from: now, to: now.plus(AHEAD_S) };
    let (duties, leads) =
        app.db.read(move |conn| Ok((super::during(conn, span)?, members::leads(conn)?))).await?;
    let (words, is_lead) = (app.words(Some(person)), person.role == Role::Lead);
    let choice = |r: crate::outbox::Recipient| {
        Some(Choice { value: r.member_id?.to_string(), text: r.name })
    };
    let page = RotaPage {
        lines: duties.into_iter().map(|d| line(d, &words, is_lead)).collect(),
        is_lead,
        leads: leads.into_iter().filter_map(choice).collect(),
        form,
    };
    show_form(app, req, ("Duty rota", "duty/rota.html"), &page.form, &page)
}

async fn rota(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    let form = Form::new("/duty").with("lead", person.id).with("weeks", 1);
    shown(&app, &req, &person, form).await
}

fn read(f: &mut Fields) -> Result<NewDuty, Error> {
    let lead = f.number("lead", "a lead", 1..=i64::MAX);
    let date = f.date("date", "a day");
    let (from, to) = (f.time("from", "a beginning"), f.time("to", "an end"));
    let weeks = f.number("weeks", "a number of weeks", 1..=52);
    let note = f.text("note", "a note", 0..=200);
    let (Some(member_id), Some(date), Some(from)) = (lead, date, from) else {
        return Err(f.faults());
    };
    match (to, weeks, note) {
        (Some(to), Some(weeks), Some(note)) => {
            Ok(NewDuty { member_id, date, from, to, weeks, note })
        }
        _ => Err(f.faults()),
    }
}

async fn add(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let new = read(&mut filled.fields);
    let (now, zone) = (app.clock.now(), app.zone());
    let done = filled.keep(&app, &lead, new, move |tx, new| super::add(tx, now, zone, new)).await;
    match done {
        Ok(_) => Ok(go("/duty", Some(Flash::good("It is on the rota.")))),
        Err(e) => shown(&app, &req, &Newcomer(lead.0), filled.again(e)?).await,
    }
}

async fn remove(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let once = filled.once(&app, Some(&lead))?;
    app.db.write_once(once, move |tx| super::remove(tx, id)).await?;
    Ok(go("/duty", Some(Flash::good("It is off the rota."))))
}
