//! Who answers for safety, how long incidents are kept, and what is barred.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::hazards::Barred;
use crate::incidents::{self, Settings, store};
use crate::members;
use crate::web::{Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/safety/settings", Who::Lead, show);
    open.post("/safety/settings", Who::Lead, change);
    open.post("/safety/barred", Who::Lead, take_on);
    open.post("/safety/barred/again", Who::Lead, bar_again);
}

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

#[derive(Serialize)]
struct BarredLine {
    word: &'static str,
    why: &'static str,
    taken: Option<String>,
}

#[derive(Serialize)]
struct SettingsPage {
    form: Form,
    leads: Vec<Choice>,
    barred: Vec<BarredLine>,
    take_on: Form,
    words: Vec<Choice>,
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    lead: &Lead,
    failed: (Option<Form>, Option<Form>),
) -> Result<HttpResponse, Error> {
    let (settings, leads, taken, names) = app
        .db
        .read(|conn| {
            let taken = store::taken_on(conn)?;
            let ids: Vec<i64> = taken.iter().map(|t| t.taken_by).collect();
            let names = members::names(conn, &ids)?;
            Ok((store::settings(conn)?, members::leads(conn)?, taken, names))
        })
        .await?;
    let words = app.words(Some(lead));
    let (form, take_on) = failed;
    let status = [&form, &take_on].into_iter().flatten().map(|f| f.status).max().unwrap_or(200);
    let barred = |b: Barred| BarredLine {
        word: b.word(),
        why: b.why(),
        taken: taken.iter().find(|t| t.what == b.word()).map(|t| {
            let name = names.get(&t.taken_by).map_or("a lead", String::as_str);
            format!("{name}, {}: {}", words.moment(Moment(t.taken_s)), t.reason)
        }),
    };
    let page = SettingsPage {
        form: form.unwrap_or_else(|| {
            Form::new("/safety/settings")
                .with("lead", settings.lead.map(|id| id.to_string()).unwrap_or_default())
                .with("keep_months", settings.keep_months)
                .of_version(settings.version)
        }),
        leads: leads
            .into_iter()
            .filter_map(|l| Some(Choice { value: l.member_id?.to_string(), text: l.name }))
            .collect(),
        barred: Barred::ALL.map(barred).into(),
        take_on: take_on.unwrap_or_else(|| Form::new("/safety/barred")),
        words: Barred::ALL
            .iter()
            .map(|b| Choice { value: b.word().to_owned(), text: b.word().to_owned() })
            .collect(),
    };
    let plain = Form { status, ..Form::default() };
    show_form(app, req, ("Safety settings", "incidents/settings.html"), &plain, &page)
}

async fn show(app: web::Data<App>, req: HttpRequest, lead: Lead) -> Result<HttpResponse, Error> {
    shown(&app, &req, &lead, (None, None)).await
}

async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let keep = filled.fields.number("keep_months", "a number of months", 1..=600);
    let named = match filled.fields.raw("lead") {
        "" => Some(None),
        _ => filled.fields.number("lead", "a lead", 1..=i64::MAX).map(Some),
    };
    let version = filled.version();
    let to = filled.fields.whole(keep.zip(named)).map(|(keep_months, lead)| Settings {
        lead,
        keep_months,
        version,
    });
    let done = filled
        .keep(&app, &lead, to, move |tx, to| {
            let leads = members::leads(tx)?;
            if to.lead.is_some() && !leads.iter().any(|l| l.member_id == to.lead) {
                return Err(Error::field("lead", "Only an active lead can be named."));
            }
            store::set(tx, to)
        })
        .await;
    match done {
        Ok(()) => Ok(go("/safety/settings", Some(Flash::good("The settings are saved.")))),
        Err(e) => shown(&app, &req, &lead, (Some(filled.again(e)?), None)).await,
    }
}

async fn take_on(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, by) = (app.clock.now(), lead.id);
    let words = Barred::ALL.map(Barred::word);
    let what = filled.fields.choice("what", "what is taken on", &words);
    let what = what.as_deref().and_then(Barred::from_word);
    let reason = filled.fields.text("reason", "why, and how it is kept safe", 10..=500);
    if let Some(what) = what
        && !filled.fields.raw("typed").trim().eq_ignore_ascii_case(what.word())
    {
        filled.fields.fault(
            "typed",
            format!("Type “{}” here, letter by letter: it is taken on by name.", what.word()),
        );
    }
    let named = filled.fields.whole(what.zip(reason));
    let done = filled
        .keep(&app, &lead, named, move |tx, (what, reason)| {
            incidents::take_on(tx, now, by, (*what, reason))
        })
        .await;
    match done {
        Ok(()) => Ok(go("/safety/settings", Some(Flash::note("It is taken on, in your name.")))),
        Err(e) => shown(&app, &req, &lead, (None, Some(filled.again(e)?))).await,
    }
}

async fn bar_again(app: web::Data<App>, _: Lead, filled: Filled) -> Result<HttpResponse, Error> {
    let what = Barred::from_word(filled.fields.raw("what")).ok_or(Error::NotFound)?;
    app.db.write(move |tx| store::bar_again(tx, what.word())).await?;
    Ok(go("/safety/settings", Some(Flash::good("It is barred again."))))
}
