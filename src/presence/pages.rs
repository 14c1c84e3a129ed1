use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Arrival, Item, NoShows, SignedList, Signing, Visit};
use crate::app::App;
use crate::duty;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Fields, Filled, Flash, Form, Lead, Newcomer, Routes, Who, Words, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/presence", Who::Newcomer, who);
    open.post("/presence/in", Who::Newcomer, come);
    open.post("/presence/out", Who::Newcomer, leave);
    open.post("/presence/{visit}/out", Who::Lead, see_out);
    open.post("/presence/arrivals/{booking}", Who::Lead, arrived);
    open.get("/presence/last-out", Who::Lead, list);
    open.post("/presence/last-out", Who::Lead, set_list);
}

#[derive(Serialize)]
struct Inside {
    name: String,
    since: String,
    mine: bool,
    out: Option<Form>,
}

#[derive(Serialize)]
struct Tick {
    name: String,
    text: String,
    ticked: bool,
}

#[derive(Serialize)]
struct Booked {
    when: String,
    name: String,
    sink: String,
    came: Option<String>,
    mark: Option<Form>,
}

#[derive(Serialize)]
struct PresencePage {
    inside: Vec<Inside>,
    is_in: bool,
    is_last: bool,
    is_lead: bool,
    on_duty: Vec<String>,
    come: Form,
    form: Form,
    list: Vec<Tick>,
    bookings: Vec<Booked>,
    day: String,
    revision: i64,
    date: String,
}

struct Facts {
    inside: Vec<Visit>,
    items: Vec<Item>,
    arrivals: Vec<Arrival>,
    on_duty: Vec<duty::Duty>,
    revision: i64,
}

/// The page, with the form for going perhaps shown again; `visit` is the one who is to go.
async fn shown(
    app: &App,
    req: &HttpRequest,
    person: &Newcomer,
    form: Option<Form>,
) -> Result<HttpResponse, Error> {
    let (now, zone) = (app.clock.now(), app.zone());
    let date = zone.date(now);
    let facts = app
        .db
        .read(move |conn| {
            let moment = crate::clock::Span { from: now, to: now.plus(1) };
            Ok(Facts {
                inside: super::inside(conn)?,
                items: super::items(conn)?,
                arrivals: super::arrivals_on(conn, zone, date)?,
                on_duty: duty::during(conn, moment)?,
                revision: crate::pulse::revision(conn, zone.day(date))?,
            })
        })
        .await?;
    let words = app.words(Some(person));
    let is_lead = person.role == Role::Lead;
    let is_in = facts.inside.iter().any(|v| v.member_id == person.id);
    let form = form.unwrap_or_else(|| Form::new("/presence/out"));
    let is_last = facts.inside.len() == 1 && (is_in || form.action != "/presence/out");
    let page = PresencePage {
        is_in,
        is_last,
        is_lead,
        inside: facts.inside.iter().map(|v| inside(v, &words, (person.id, is_lead))).collect(),
        on_duty: facts
            .on_duty
            .iter()
            .map(|d| format!("{}, until {}", d.name, words.time(d.span.to)))
            .collect(),
        come: Form::new("/presence/in"),
        list: facts.items.iter().map(|i| tick(i, &form)).collect(),
        bookings: facts.arrivals.into_iter().map(|a| booked(a, &words, is_lead)).collect(),
        day: words.date(date),
        revision: facts.revision,
        date: date.to_string(),
        form,
    };
    show_form(app, req, ("In the building", "presence/who.html"), &page.form, &page)
}

fn inside(v: &Visit, words: &Words, (me, is_lead): (i64, bool)) -> Inside {
    let mine = v.member_id == me;
    Inside {
        name: v.name.clone(),
        since: words.moment(v.since),
        mine,
        out: (is_lead && !mine).then(|| Form::new(&format!("/presence/{}/out", v.id))),
    }
}

fn tick(item: &Item, form: &Form) -> Tick {
    let name = format!("done_{}", item.position);
    Tick { ticked: form.values.contains_key(&name), name, text: item.text.clone() }
}

fn booked(a: Arrival, words: &Words, is_lead: bool) -> Booked {
    let may_mark = is_lead && a.at.is_none();
    Booked {
        when: format!("{} to {}", words.time(a.booking.span.from), words.time(a.booking.span.to)),
        mark: may_mark.then(|| Form::new(&format!("/presence/arrivals/{}", a.booking.id))),
        name: a.booking.member_name,
        sink: a.booking.sink,
        came: a.at.map(|at| words.time(at)),
    }
}

async fn who(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    shown(&app, &req, &person, None).await
}

async fn come(
    app: web::Data<App>,
    person: Newcomer,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, id) = (app.clock.now(), person.id);
    let once = filled.once(&app, Some(&person))?;
    app.db.write_once(once, move |tx| super::check_in(tx, now, id)).await?;
    Ok(go("/presence", Some(Flash::good("You are checked in. Check out when you leave."))))
}

/// What the form signs, if it holds the list at all.
fn read_signing(f: &mut Fields) -> Result<Option<Signing>, Error> {
    if f.raw("signed").is_empty() {
        return Ok(None);
    }
    let note = f.text("note", "a note", 0..=500).ok_or_else(|| f.faults())?;
    let done = (1..=30).filter(|n| f.ticked(&format!("done_{n}"))).collect();
    Ok(Some(Signing { done, note }))
}

async fn go_out(
    app: &web::Data<App>,
    person: &Newcomer,
    visit: Option<i64>,
    filled: &mut Filled,
) -> Result<(), Error> {
    let signing = read_signing(&mut filled.fields)?;
    let (now, by) = (app.clock.now(), person.id);
    let once = filled.once(app, Some(person))?;
    app.db
        .write_once(once, move |tx| {
            let visit = match visit {
                Some(visit) => Some(visit),
                None => super::visit_of(tx, by)?,
            };
            let Some(visit) = visit else { return Ok(()) };
            super::check_out(tx, now, (visit, by), signing.as_ref())
        })
        .await
}

async fn leave(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    match go_out(&app, &person, None, &mut filled).await {
        Ok(()) => Ok(go("/presence", Some(Flash::good("You are checked out. Good night.")))),
        Err(e) => shown(&app, &req, &person, Some(filled.again(e)?)).await,
    }
}

async fn see_out(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    visit: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let lead = Newcomer(lead.0);
    match go_out(&app, &lead, Some(visit.into_inner()), &mut filled).await {
        Ok(()) => Ok(go("/presence", Some(Flash::good("They are checked out.")))),
        Err(e) => shown(&app, &req, &lead, Some(filled.again(e)?)).await,
    }
}

async fn arrived(
    app: web::Data<App>,
    lead: Lead,
    booking: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, by, booking) = (app.clock.now(), lead.id, booking.into_inner());
    let once = filled.once(&app, Some(&lead))?;
    app.db.write_once(once, move |tx| super::mark_arrival(tx, now, by, booking)).await?;
    Ok(go("/presence", Some(Flash::good("Marked as here."))))
}

#[derive(Serialize)]
struct Signed {
    when: String,
    name: String,
    note: String,
    left: Vec<String>,
}

#[derive(Serialize)]
struct Missed {
    name: String,
    count: i64,
    last: String,
}

#[derive(Serialize)]
struct LastOutPage {
    form: Form,
    signed: Vec<Signed>,
    missed: Vec<Missed>,
}

/// How far back the leads see who did not come, in seconds.
const LOOK_BACK_S: i64 = 180 * 86_400;

async fn shown_list(
    app: &App,
    req: &HttpRequest,
    lead: &Lead,
    form: Option<Form>,
) -> Result<HttpResponse, Error> {
    let since = app.clock.now().plus(-LOOK_BACK_S);
    let (items, signed, missed) = app
        .db
        .read(move |c| {
            Ok((super::items(c)?, super::signed_lists(c, 30)?, super::no_shows(c, since)?))
        })
        .await?;
    let words = app.words(Some(lead));
    let list = |l: SignedList| Signed {
        when: words.moment(l.at),
        name: l.name,
        note: l.note,
        left: l.lines.into_iter().filter(|line| !line.done).map(|line| line.text).collect(),
    };
    let miss = |n: NoShows| Missed { name: n.name, count: n.count, last: words.moment(n.last) };
    let texts: Vec<String> = items.into_iter().map(|i| i.text).collect();
    let page = LastOutPage {
        form: form
            .unwrap_or_else(|| Form::new("/presence/last-out").with("items", texts.join("\n"))),
        signed: signed.into_iter().map(list).collect(),
        missed: missed.into_iter().map(miss).collect(),
    };
    show_form(app, req, ("The last one out", "presence/last_out.html"), &page.form, &page)
}

async fn list(app: web::Data<App>, req: HttpRequest, lead: Lead) -> Result<HttpResponse, Error> {
    shown_list(&app, &req, &lead, None).await
}

async fn set_list(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let lines = filled.fields.raw("items").lines().map(|l| l.trim().to_owned());
    let texts: Vec<String> = lines.filter(|l| !l.is_empty()).collect();
    let once = filled.once(&app, Some(&lead))?;
    match app.db.write_once(once, move |tx| super::set_items(tx, &texts)).await {
        Ok(()) => Ok(go("/presence/last-out", Some(Flash::good("The list is saved.")))),
        Err(e) => shown_list(&app, &req, &lead, Some(filled.again(e)?)).await,
    }
}
