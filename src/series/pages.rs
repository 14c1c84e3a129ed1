use actix_web::{HttpRequest, HttpResponse, web};
use chrono::{NaiveDateTime, NaiveTime};
use serde::Serialize;

use super::rules::{self, USUAL};
use super::{Occurrence, Outcome, Plan, Series, Shift};
use crate::app::App;
use crate::error::Error;
use crate::sinks::{self, Sink};
use crate::web::{Fields, Filled, Flash, Form, Lead, Routes, Who, Words, counted, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/series", Who::Lead, all);
    open.post("/series", Who::Lead, make);
    open.get("/series/{id}", Who::Lead, one);
    open.post("/series/{id}/shift", Who::Lead, shift);
    open.post("/series/{id}/call-off", Who::Lead, call_off);
}

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

fn choices(sinks: &[Sink]) -> Vec<Choice> {
    let choice = |s: &Sink| Choice { value: s.id.to_string(), text: s.name.clone() };
    sinks.iter().map(choice).collect()
}

#[derive(Serialize)]
struct Line {
    id: i64,
    title: String,
    what: String,
}

#[derive(Serialize)]
struct AllPage {
    lines: Vec<Line>,
    sinks: Vec<Choice>,
    often: Vec<Choice>,
    form: Form,
}

fn summary(s: &Series, words: &Words) -> String {
    format!("{}, {} to {}, from {} on: {}", s.sink, s.from, s.to, words.date(s.first), s.rule)
}

async fn shown_all(
    app: &App,
    req: &HttpRequest,
    lead: &Lead,
    form: Form,
) -> Result<HttpResponse, Error> {
    let (all, sinks) = app.db.read(|c| Ok((super::all(c)?, sinks::sinks(c)?))).await?;
    let words = app.words(Some(lead));
    let line = |s: &Series| Line { id: s.id, what: summary(s, &words), title: s.title.clone() };
    let often = |(value, text): &(&str, &str)| Choice {
        value: (*value).to_owned(),
        text: (*text).to_owned(),
    };
    let page = AllPage {
        lines: all.iter().map(line).collect(),
        sinks: choices(&sinks),
        often: USUAL.iter().map(often).collect(),
        form,
    };
    show_form(app, req, ("Recurring sessions", "series/all.html"), &page.form, &page)
}

async fn all(app: web::Data<App>, req: HttpRequest, lead: Lead) -> Result<HttpResponse, Error> {
    let form = Form::new("/series").with("times", 8).with("often", "FREQ=WEEKLY");
    shown_all(&app, &req, &lead, form).await
}

fn read(f: &mut Fields) -> Result<Plan, Error> {
    let title = f.text("title", "a title", 1..=100);
    let sink = f.number("sink", "a sink", 1..=i64::MAX);
    let first = f.date("date", "a day");
    let (from, to) = (f.time("from", "a beginning"), f.time("to", "an end"));
    let usual = USUAL.iter().map(|(rule, _)| *rule).find(|r| *r == f.raw("often")).unwrap_or("");
    let rule = if usual.is_empty() {
        f.text("rule", "a rule", 1..=200)
    } else {
        let times = f.number("times", "how many times", 1..=i64::from(rules::MOST));
        times.map(|n| format!("{usual};COUNT={n}"))
    };
    let except = rules::read_dates(f.raw("except"));
    if let Err(sentence) = &except {
        f.fault("except", sentence.clone());
    }
    f.done()?;
    let (Some(title), Some(sink_id), Some(first), Some(from)) = (title, sink, first, from) else {
        return Err(f.faults());
    };
    match (to, rule, except) {
        (Some(to), Some(rule), Ok(except)) => {
            let except = except.into_iter().collect();
            Ok(Plan { title, sink_id, first, from, to, rule, except })
        }
        _ => Err(f.faults()),
    }
}

#[derive(Serialize)]
struct Seen {
    when: String,
    said: String,
    will_do: bool,
}

#[derive(Serialize)]
struct PreviewPage {
    title: String,
    outcomes: Vec<Seen>,
    good: usize,
    bad: usize,
    goes_on: bool,
    does: &'static str,
    back: String,
    form: Form,
}

fn seen(o: &Outcome, words: &Words) -> Seen {
    let wall = |at: NaiveDateTime| format!("{}, {}", words.date(at.date()), at.format("%H:%M"));
    match &o.made {
        Ok(span) => {
            Seen { when: words.span(span.from, span.to), said: String::new(), will_do: true }
        }
        Err(sentence) => Seen { when: wall(o.original), said: sentence.clone(), will_do: false },
    }
}

/// The page that shows what would come of it, with the form that says yes.
fn preview(
    app: &App,
    req: &HttpRequest,
    lead: &Lead,
    (form, outcomes, head): (Form, &[Outcome], Head),
) -> Result<HttpResponse, Error> {
    let words = app.words(Some(lead));
    let mut form = form;
    form.values.insert("shown".to_owned(), super::print(outcomes));
    let good = outcomes.iter().filter(|o| o.made.is_ok()).count();
    let page = PreviewPage {
        title: head.title,
        outcomes: outcomes.iter().map(|o| seen(o, &words)).collect(),
        good,
        bad: outcomes.len() - good,
        goes_on: head.goes_on,
        does: head.does,
        back: head.back,
        form,
    };
    show_form(app, req, ("Look before it is made", "series/preview.html"), &page.form, &page)
}

struct Head {
    title: String,
    does: &'static str,
    back: String,
    goes_on: bool,
}

async fn make(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let plan = match read(&mut filled.fields) {
        Ok(plan) => plan,
        Err(e) => return shown_all(&app, &req, &lead, filled.again(e)?).await,
    };
    let shown = filled.fields.raw("shown").to_owned();
    let (at, who, again) = (app.place(), lead.0.clone(), plan.clone());
    let mut form = Form::new("/series");
    form.values = filled.fields.values();
    if !shown.is_empty() {
        let once = filled.once(&app, Some(&lead))?;
        let (at, who, plan) = (at.clone(), who.clone(), plan.clone());
        let made =
            app.db.write_once(once, move |tx| super::make(tx, &at, &who, (&plan, &shown))).await;
        match made {
            Ok(id) => {
                let word = Flash::good("The series is made. Each session stands on the board.");
                return Ok(go(&format!("/series/{id}"), Some(word)));
            }
            Err(e) => form = filled.again(e)?,
        }
    }
    let foreseen = app.db.write(move |tx| super::foresee(tx, &at, &who, &again)).await;
    let outcomes = match foreseen {
        Ok(outcomes) => outcomes,
        Err(e) => return shown_all(&app, &req, &lead, filled.again(e)?).await,
    };
    let goes_on =
        rules::run(plan.first.and_time(plan.from), &plan.rule).is_ok_and(|run| run.goes_on);
    let head = Head {
        title: plan.title,
        does: "Make these sessions",
        back: "/series".to_owned(),
        goes_on,
    };
    preview(&app, &req, &lead, (form, &outcomes, head))
}

#[derive(Serialize)]
struct Session {
    id: i64,
    when: String,
    said: String,
    moved: String,
    booking: Option<i64>,
    may_change: bool,
}

#[derive(Serialize)]
struct OnePage {
    id: i64,
    title: String,
    what: String,
    sessions: Vec<Session>,
    coming: Vec<Choice>,
    sinks: Vec<Choice>,
    form: Form,
    call_off: Form,
}

fn session(o: &Occurrence, app: &App, words: &Words) -> Session {
    let original = format!("{}, {}", words.date(o.original.date()), o.original.format("%H:%M"));
    let Some(held) = o.booking else {
        let (said, moved) = (o.left_out.clone(), String::new());
        return Session { id: o.id, when: original, said, moved, booking: None, may_change: false };
    };
    let is_moved = app.zone().wall(held.span.from) != o.original;
    Session {
        id: o.id,
        when: words.span(held.span.from, held.span.to),
        said: if held.stands { String::new() } else { "Called off.".to_owned() },
        moved: if is_moved { format!("Moved from {original}.") } else { String::new() },
        booking: held.stands.then_some(held.id),
        may_change: held.stands && held.span.from > app.clock.now(),
    }
}

async fn shown_one(
    app: &App,
    req: &HttpRequest,
    lead: &Lead,
    (id, form): (i64, Option<Form>),
) -> Result<HttpResponse, Error> {
    let ((series, occurrences), sinks) =
        app.db.read(move |c| Ok((super::one(c, id)?, sinks::sinks(c)?))).await?;
    let words = app.words(Some(lead));
    let sessions: Vec<Session> = occurrences.iter().map(|o| session(o, app, &words)).collect();
    let coming = sessions.iter().filter(|s| s.may_change);
    let page = OnePage {
        id,
        what: summary(&series, &words),
        coming: coming.map(|s| Choice { value: s.id.to_string(), text: s.when.clone() }).collect(),
        sessions,
        sinks: choices(&sinks),
        form: form.unwrap_or_else(|| {
            Form::new(&format!("/series/{id}/shift"))
                .with("sink", series.sink_id)
                .with("from", &series.from)
                .with("to", &series.to)
        }),
        call_off: Form::new(&format!("/series/{id}/call-off")),
        title: series.title,
    };
    show_form(app, req, ("Recurring session", "series/one.html"), &page.form, &page)
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    shown_one(&app, &req, &lead, (id.into_inner(), None)).await
}

fn read_shift(f: &mut Fields) -> Result<(i64, Shift), Error> {
    let occurrence = f.number("occurrence", "a session", 1..=i64::MAX);
    let sink = f.number("sink", "a sink", 1..=i64::MAX);
    let times: (Option<NaiveTime>, _) = (f.time("from", "a beginning"), f.time("to", "an end"));
    match (occurrence, sink, times) {
        (Some(occurrence), Some(sink_id), (Some(from), Some(to))) => {
            Ok((occurrence, Shift { sink_id, from, to }))
        }
        _ => Err(f.faults()),
    }
}

async fn shift(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let (from, shift) = match read_shift(&mut filled.fields) {
        Ok(read) => read,
        Err(e) => return shown_one(&app, &req, &lead, (id, Some(filled.again(e)?))).await,
    };
    let shown = filled.fields.raw("shown").to_owned();
    let (at, who) = (app.place(), lead.0.clone());
    let mut form = Form::new(&format!("/series/{id}/shift"));
    form.values = filled.fields.values();
    if !shown.is_empty() {
        let once = filled.once(&app, Some(&lead))?;
        let (at, who) = (at.clone(), who.clone());
        let moved = app
            .db
            .write_once(once, move |tx| {
                super::shift_from(tx, &at, &who, (id, from), (&shift, &shown))
            })
            .await;
        match moved {
            Ok(()) => {
                return Ok(go(&format!("/series/{id}"), Some(Flash::good("They are moved."))));
            }
            Err(e) => form = filled.again(e)?,
        }
    }
    let outcomes =
        app.db.write(move |tx| super::foresee_shift(tx, &at, &who, (id, from), &shift)).await?;
    let head = Head {
        title: "This session and the following".to_owned(),
        does: "Move these sessions",
        back: format!("/series/{id}"),
        goes_on: false,
    };
    preview(&app, &req, &lead, (form, &outcomes, head))
}

async fn call_off(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let Some(from) = filled.fields.number("occurrence", "a session", 1..=i64::MAX) else {
        let form = filled.again(filled.fields.faults())?;
        return shown_one(&app, &req, &lead, (id, Some(form))).await;
    };
    let following = filled.fields.ticked("following");
    let (at, who) = (app.place(), lead.0.clone());
    let once = filled.once(&app, Some(&lead))?;
    let off = app
        .db
        .write_once(once, move |tx| super::call_off(tx, &at, &who, (id, from), following))
        .await?;
    let word = format!("{} called off.", counted(off, "session is", "sessions are"));
    Ok(go(&format!("/series/{id}"), Some(Flash::good(word))))
}
