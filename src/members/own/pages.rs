use std::sync::{Arc, Mutex};

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::{App, Missing};
use crate::clock::{Moment, Zone};
use crate::error::Error;
use crate::members::rules::OPTIONAL_LETTERS;
use crate::members::{ZONE_FAULT, read_name, store};
use crate::outbox;
use crate::sessions::{self, DayOrder, SessionRow, Taste, TokenRow, Via};
use crate::web::{Fields, Filled, Flash, Form, Newcomer, Routes, Who, Words, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/me", Who::Newcomer, me);
    open.post("/me", Who::Newcomer, change);
    open.get("/me/export", Who::Newcomer, export);
    open.post("/me/letters", Who::Newcomer, letters);
    open.post("/me/tokens", Who::Newcomer, issue);
    open.post("/me/tokens/{id}/revoke", Who::Newcomer, revoke);
    open.post("/me/sessions/{id}/end", Who::Newcomer, end);
}

/// Which form of the page is shown again with its faults.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::members) enum Part {
    Own,
    Password,
    Address,
    Token,
}

#[derive(Serialize)]
struct Choice {
    value: &'static str,
    text: &'static str,
}

#[derive(Serialize)]
struct Wanted {
    kind: &'static str,
    text: &'static str,
    on: bool,
}

#[derive(Serialize)]
struct Line {
    id: i64,
    text: String,
    detail: String,
    since: String,
    seen: String,
    here: bool,
}

#[derive(Serialize)]
struct MePage {
    email: String,
    role: &'static str,
    missing: Vec<String>,
    own: Form,
    password: Form,
    address: Form,
    token: Form,
    orders: Vec<Choice>,
    letters: Vec<Wanted>,
    sessions: Vec<Line>,
    tokens: Vec<Line>,
    new_token: Option<String>,
    least: i64,
    studio_zone: &'static str,
}

const ORDERS: [(&str, &str); 3] = [
    ("day_month", "Tuesday 14 October 2026"),
    ("month_day", "Tuesday, October 14, 2026"),
    ("year_month", "Tuesday 2026-10-14"),
];

fn session_line(row: &SessionRow, words: &Words, via: Via) -> Line {
    Line {
        id: row.id,
        here: via == Via::Session(row.id),
        text: device(&row.agent).to_owned(),
        detail: format!("{} ({})", row.address, row.agent),
        since: words.moment(Moment(row.created_s)),
        seen: words.moment(Moment(row.seen_s)),
    }
}

/// What kind of device a browser's own description speaks of.
fn device(agent: &str) -> &'static str {
    let says = |word: &str| agent.contains(word);
    match agent {
        _ if says("iPad") || says("Tablet") => "A tablet",
        _ if says("Android") && !says("Mobile") => "A tablet",
        _ if says("Mobile") || says("iPhone") => "A phone",
        _ if says("Mozilla") => "A computer",
        _ => "Another program",
    }
}

fn token_line(row: TokenRow, words: &Words) -> Line {
    Line {
        id: row.id,
        here: false,
        text: row.label,
        detail: words.moment(Moment(row.expires_s)),
        since: words.moment(Moment(row.created_s)),
        seen: row.seen_s.map_or_else(|| "never".to_owned(), |s| words.moment(Moment(s))),
    }
}

/// The page, one of its forms perhaps with faults, a new token perhaps shown this once.
pub(in crate::members) async fn shown(
    app: &web::Data<App>,
    req: &HttpRequest,
    person: &Newcomer,
    failed: Option<(Part, Form)>,
    new_token: Option<String>,
) -> Result<HttpResponse, Error> {
    let id = person.id;
    let asked = person.0.clone();
    let (member, sessions, tokens, unwanted, missing) = app
        .db
        .read(move |conn| {
            Ok((
                store::by_id(conn, id)?,
                sessions::of_member(conn, id)?,
                sessions::tokens_of_member(conn, id)?,
                outbox::unwanted(conn, id)?,
                crate::app::missing_before_booking(conn, &asked)?,
            ))
        })
        .await?;
    let missing = missing.iter().map(Missing::sentence).collect();
    let words = Words::for_taste(app.zone(), &person.taste);
    let status = failed.as_ref().map_or(200, |(_, form)| form.status);
    let failed_part = failed.as_ref().map(|(part, _)| *part);
    let mut form = failed.map_or_else(|| Form::new("/me"), |(_, form)| form);
    form.status = status;
    let of = |part, fresh: Form| if failed_part == Some(part) { form.clone() } else { fresh };
    let own = Form::new("/me")
        .with("name", &member.name)
        .with("zone", member.taste.zone.map_or("", |z| z.name()))
        .with("day_order", member.taste.day_order.word())
        .with("hours_24", if member.taste.hours_24 { "yes" } else { "" })
        .with("us_units", if member.taste.us_units { "yes" } else { "" })
        .of_version(member.version);
    let page = MePage {
        email: member.email.unwrap_or_default(),
        role: member.role.word(),
        missing,
        own: of(Part::Own, own),
        password: of(Part::Password, Form::new("/me/password")),
        address: of(Part::Address, Form::new("/me/address")),
        token: of(Part::Token, Form::new("/me/tokens")),
        orders: ORDERS.iter().map(|(value, text)| Choice { value, text }).collect(),
        letters: OPTIONAL_LETTERS
            .iter()
            .map(|(kind, text)| Wanted { kind, text, on: !unwanted.iter().any(|u| u == kind) })
            .collect(),
        sessions: sessions.iter().map(|r| session_line(r, &words, person.via)).collect(),
        tokens: tokens.into_iter().map(|r| token_line(r, &words)).collect(),
        new_token,
        least: app.studio().password_length,
        studio_zone: app.zone().name(),
    };
    show_form(app, req, ("Me", "members/me.html"), &form, &page)
}

async fn me(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, &person, None, None).await
}

fn read(fields: &mut Fields) -> Result<(String, Taste), Error> {
    let typed = fields.raw("zone").trim().to_owned();
    let zone = Zone::named(&typed);
    if zone.is_none() && !typed.is_empty() {
        fields.fault("zone", ZONE_FAULT);
    }
    let orders = ORDERS.map(|(value, _)| value);
    let order = fields.choice("day_order", "an order of dates", &orders);
    let name = fields.raw("name").to_owned();
    crate::members::all_faults(vec![fields.done(), read_name(&name).map(|_| ())])?;
    let taste = Taste {
        zone,
        day_order: DayOrder::from_word(&order.unwrap_or_default()),
        hours_24: fields.ticked("hours_24"),
        us_units: fields.ticked("us_units"),
    };
    Ok((name.trim().to_owned(), taste))
}

async fn change(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let which = (person.id, filled.version());
    let done = match read(&mut filled.fields) {
        Err(e) => Err(e),
        Ok((name, taste)) => {
            let once = filled.once(&app, Some(&person))?;
            app.db.write_once(once, move |tx| super::change(tx, which, (&name, &taste))).await
        }
    };
    match done {
        Ok(()) => Ok(go("/me", Some(Flash::good("Your entry is saved.")))),
        Err(e) => shown(&app, &req, &person, Some((Part::Own, filled.again(e)?)), None).await,
    }
}

async fn export(app: web::Data<App>, person: Newcomer) -> Result<HttpResponse, Error> {
    let (id, zone) = (person.id, app.zone());
    let all = app
        .db
        .read(move |conn| {
            let mut all = super::export(conn, zone, id)?;
            if let (Some(all), serde_json::Value::Object(more)) =
                (all.as_object_mut(), crate::app::belongings(conn, id)?)
            {
                all.extend(more);
            }
            Ok(all)
        })
        .await?;
    let text = serde_json::to_string_pretty(&all).map_err(|e| Error::broken("export", e))?;
    Ok(HttpResponse::Ok()
        .content_type("application/json")
        .insert_header((header::CONTENT_DISPOSITION, "attachment; filename=\"my-data.json\""))
        .body(text))
}

async fn letters(
    app: web::Data<App>,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (id, fields) = (person.id, filled.fields.clone());
    app.db
        .write_once(filled.once(&app, Some(&person))?, move |tx| {
            let wanted = fields.all("wanted");
            OPTIONAL_LETTERS
                .iter()
                .try_for_each(|(kind, _)| outbox::want(tx, id, kind, wanted.contains(kind)))
        })
        .await?;
    Ok(go("/me", Some(Flash::good("Your choice of letters is saved."))))
}

async fn issue(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let Some(label) = filled.fields.text("label", "a name for the token", 1..=60) else {
        let form = filled.again(filled.fields.faults())?;
        return shown(&app, &req, &person, Some((Part::Token, form)), None).await;
    };
    let (id, now) = (person.id, app.clock.now());
    // The token is in no row, so a repetition of this form has none to show.
    let slot: Arc<Mutex<Option<String>>> = Arc::default();
    let inside = slot.clone();
    app.db
        .write_once(filled.once(&app, Some(&person))?, move |tx| {
            let token = sessions::issue_token(tx, now, id, &label)?;
            if let Ok(mut slot) = inside.lock() {
                *slot = Some(token);
            }
            Ok(())
        })
        .await?;
    let token = slot.lock().ok().and_then(|mut slot| slot.take());
    shown(&app, &req, &person, None, token).await
}

async fn revoke(
    app: web::Data<App>,
    person: Newcomer,
    token: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (id, token) = (person.id, token.into_inner());
    app.db.write(move |tx| sessions::revoke_token(tx, id, token)).await?;
    Ok(go("/me", Some(Flash::good("The token is revoked."))))
}

async fn end(
    app: web::Data<App>,
    person: Newcomer,
    session: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (id, session) = (person.id, session.into_inner());
    app.db.write(move |tx| sessions::close(tx, id, session)).await?;
    Ok(go("/me", Some(Flash::good("That session is ended."))))
}
