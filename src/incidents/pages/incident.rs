//! Filing an incident, reading it, writing down what was done.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::here;
use crate::app::App;
use crate::error::Error;
use crate::incidents::{self, Incident, NewIncident, store};
use crate::members;
use crate::web::{
    Fields, Filled, Flash, Form, Newcomer, Routes, Who, beginning, go, show, show_form,
};

pub(super) fn routes(open: &mut Routes) {
    open.get("/incidents", Who::Newcomer, list);
    open.get("/incidents/new", Who::Newcomer, new);
    open.post("/incidents/new", Who::Newcomer, file);
    open.get("/incidents/{id}", Who::Newcomer, one);
    open.post("/incidents/{id}/follow-up", Who::Newcomer, follow_up);
    open.post("/incidents/{id}/close", Who::Lead, close);
}

#[derive(Serialize)]
struct Line {
    id: i64,
    filed: String,
    place: String,
    what: String,
    open: bool,
}

#[derive(Serialize)]
struct ListPage {
    lines: Vec<Line>,
    all: bool,
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    let who = person.0.clone();
    let (seen, all) = app
        .db
        .read(move |conn| Ok((incidents::seen_by(conn, &who)?, incidents::reads_all(conn, &who)?)))
        .await?;
    let words = app.words(Some(&person));
    let line = |i: Incident| Line {
        id: i.id,
        filed: words.moment(i.filed),
        place: i.told.place,
        what: beginning(&i.told.what, 120),
        open: i.closed.is_none(),
    };
    let page = ListPage { lines: seen.into_iter().map(line).collect(), all };
    show(&app, &req, "Incidents", "incidents/list.html", &page)
}

#[derive(Serialize)]
struct NewPage {
    form: Form,
    readers: Vec<String>,
}

async fn asked(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let readers = app.db.read(incidents::readers).await?;
    let page = NewPage { form, readers: readers.into_iter().map(|r| r.name).collect() };
    show_form(app, req, ("Report an incident", "incidents/new.html"), &page.form, &page)
}

async fn new(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    asked(&app, &req, Form::new("/incidents/new")).await
}

fn read(f: &mut Fields) -> Result<NewIncident, Error> {
    let what = f.text("what", "what happened", 1..=4000);
    let happened = f.text("happened", "when it happened", 1..=120);
    let place = f.text("place", "where it happened", 1..=200);
    let chemical = f.text("chemical", "the chemical", 0..=300);
    let injury = f.text("injury", "who was hurt and how", 0..=2000);
    let first_aid = f.text("first_aid", "what was done at once", 0..=2000);
    f.done()?;
    match (what, happened, place, chemical, injury, first_aid) {
        (
            Some(what),
            Some(happened),
            Some(place),
            Some(chemical),
            Some(injury),
            Some(first_aid),
        ) => Ok(NewIncident { happened, place, what, chemical, injury, first_aid }),
        _ => Err(f.faults()),
    }
}

async fn file(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let new = read(&mut filled.fields);
    let (here, who) = (here(&app), person.0.clone());
    let done =
        filled.keep(&app, &person, new, move |tx, new| incidents::file(tx, &here, &who, new)).await;
    match done {
        Ok(id) => Ok(go(
            &format!("/incidents/{id}"),
            Some(Flash::good("It is on record, and the safety lead is told.")),
        )),
        Err(e) => asked(&app, &req, filled.again(e)?).await,
    }
}

#[derive(Serialize)]
struct Fact {
    term: &'static str,
    text: String,
}

#[derive(Serialize)]
struct Done {
    when: String,
    by: String,
    text: String,
}

#[derive(Serialize)]
struct OnePage {
    id: i64,
    filed: String,
    by: String,
    what: String,
    facts: Vec<Fact>,
    done: Vec<Done>,
    closed: Option<String>,
    form: Form,
    close: Option<Form>,
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    (person, id): (&Newcomer, i64),
    form: Form,
) -> Result<HttpResponse, Error> {
    let who = person.0.clone();
    let (incident, follow_ups, names, reads_all) = app
        .db
        .read(move |conn| {
            let incident = incidents::one(conn, &who, id)?;
            let follow_ups = store::follow_ups(conn, id)?;
            let mut ids: Vec<i64> = follow_ups.iter().map(|(_, by, _)| *by).collect();
            ids.push(incident.filed_by);
            let names = members::names(conn, &ids)?;
            Ok((incident, follow_ups, names, incidents::reads_all(conn, &who)?))
        })
        .await?;
    let words = app.words(Some(person));
    let name = |id: i64| names.get(&id).cloned().unwrap_or_default();
    let told = incident.told;
    let facts = [
        ("When", told.happened),
        ("Where", told.place),
        ("Chemical", told.chemical),
        ("Who was hurt and how", told.injury),
        ("What was done at once", told.first_aid),
    ];
    let page = OnePage {
        id,
        filed: words.moment(incident.filed),
        by: name(incident.filed_by),
        what: told.what,
        facts: facts
            .into_iter()
            .map(|(term, text)| Fact {
                term,
                text: if text.is_empty() { "nothing was written".to_owned() } else { text },
            })
            .collect(),
        done: follow_ups
            .into_iter()
            .map(|(at, by, text)| Done { when: words.moment(at), by: name(by), text })
            .collect(),
        closed: incident.closed.map(|at| words.moment(at)),
        close: (reads_all && incident.closed.is_none())
            .then(|| Form::new(&format!("/incidents/{id}/close"))),
        form,
    };
    let title = format!("Incident {id}");
    show_form(app, req, (&title, "incidents/one.html"), &page.form, &page)
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let form = Form::new(&format!("/incidents/{id}/follow-up"));
    shown(&app, &req, (&person, id), form).await
}

async fn follow_up(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, now, who) = (id.into_inner(), app.clock.now(), person.0.clone());
    let text = filled.fields.text("text", "what was done", 1..=2000);
    let text = filled.fields.whole(text);
    let done = filled
        .keep(&app, &person, text, move |tx, text| incidents::follow_up(tx, now, &who, (id, text)))
        .await;
    match done {
        Ok(()) => Ok(go(&format!("/incidents/{id}"), Some(Flash::good("It is written down.")))),
        Err(e) => shown(&app, &req, (&person, id), filled.again(e)?).await,
    }
}

async fn close(
    app: web::Data<App>,
    person: Newcomer,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (id, now, who) = (id.into_inner(), app.clock.now(), person.0);
    app.db.write(move |tx| incidents::close(tx, now, &who, id)).await?;
    Ok(go(&format!("/incidents/{id}"), Some(Flash::good("The incident is closed."))))
}
