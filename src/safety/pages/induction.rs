//! Leads keep the induction list and sign its points for newcomers.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::error::Error;
use crate::members;
use crate::safety::{learning, store};
use crate::web::{Filled, Flash, Form, Lead, Routes, Who, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/safety/induction", Who::Lead, list);
    open.post("/safety/induction", Who::Lead, add);
    open.post("/safety/induction/points/{id}/retire", Who::Lead, retire);
    open.get("/safety/induction/{member}", Who::Lead, one);
    open.post("/safety/induction/{member}", Who::Lead, sign);
}

#[derive(Serialize)]
struct Point {
    id: i64,
    text: String,
}

#[derive(Serialize)]
struct Somebody {
    id: i64,
    name: String,
    role: String,
    signed: usize,
    of: usize,
}

#[derive(Serialize)]
struct ListPage {
    form: Form,
    points: Vec<Point>,
    newcomers: Vec<Somebody>,
    others: Vec<Somebody>,
}

async fn listed(app: &App, req: &HttpRequest, form: Form) -> Result<HttpResponse, Error> {
    let (items, people) = app
        .db
        .read(|conn| {
            let items = store::items(conn)?;
            let mut people = Vec::new();
            for (id, name, role) in store::people(conn)? {
                let signed = store::signatures(conn, id)?;
                let signed = items.iter().filter(|i| signed.contains_key(&i.id)).count();
                people.push(Somebody { id, name, role, signed, of: items.len() });
            }
            Ok((items, people))
        })
        .await?;
    let (newcomers, others) = people.into_iter().partition(|p| p.role == "newcomer");
    let points = items.into_iter().map(|i| Point { id: i.id, text: i.text }).collect();
    let page = ListPage { form, points, newcomers, others };
    show_form(app, req, ("Induction", "safety/induction.html"), &page.form, &page)
}

async fn list(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    listed(&app, &req, Form::new("/safety/induction")).await
}

async fn add(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let text = filled.fields.text("text", "what is to be shown", 1..=300);
    let text = filled.fields.whole(text);
    let done = filled
        .keep(&app, &lead, text, |tx, text| {
            let last = store::items(tx)?.last().map_or(0, |i| i.position);
            store::add_item(tx, last + 10, text)
        })
        .await;
    match done {
        Ok(()) => Ok(go("/safety/induction", Some(Flash::good("The point is on the list.")))),
        Err(e) => listed(&app, &req, filled.again(e)?).await,
    }
}

async fn retire(app: web::Data<App>, id: web::Path<i64>) -> Result<HttpResponse, Error> {
    let (now, id) = (app.clock.now(), id.into_inner());
    app.db.write(move |tx| store::retire_item(tx, now, id)).await?;
    Ok(go("/safety/induction", Some(Flash::good("The point is off the list."))))
}

#[derive(Serialize)]
struct Line {
    id: i64,
    text: String,
    signed: Option<String>,
    ticked: bool,
}

#[derive(Serialize)]
struct OnePage {
    form: Form,
    name: String,
    points: Vec<Line>,
    open: usize,
    unread: Vec<String>,
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    (lead, member): (&Lead, i64),
    (form, ticked): (Form, Vec<i64>),
) -> Result<HttpResponse, Error> {
    let (name, items, signed, names, unread) = app
        .db
        .read(move |conn| {
            let signed = store::signatures(conn, member)?;
            let mut ids: Vec<i64> = signed.values().map(|(by, _)| *by).collect();
            ids.push(member);
            let names = members::names(conn, &ids)?;
            let name = names.get(&member).cloned().ok_or(Error::NotFound)?;
            Ok((name, store::items(conn)?, signed, names, learning::unread(conn, member)?))
        })
        .await?;
    let words = app.words(Some(lead));
    let points: Vec<Line> = items
        .into_iter()
        .map(|i| Line {
            signed: signed.get(&i.id).map(|(by, at)| {
                let by = names.get(by).map_or("a lead", String::as_str);
                format!("{by}, {}", words.moment(*at))
            }),
            ticked: ticked.contains(&i.id),
            id: i.id,
            text: i.text,
        })
        .collect();
    let page = OnePage {
        form,
        open: points.iter().filter(|p| p.signed.is_none()).count(),
        points,
        unread: unread.into_iter().map(|n| n.title).collect(),
        name,
    };
    let title = format!("Induction of {}", page.name);
    show_form(app, req, (&title, "safety/signing.html"), &page.form, &page)
}

async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    member: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let member = member.into_inner();
    let form = Form::new(&format!("/safety/induction/{member}"));
    shown(&app, &req, (&lead, member), (form, Vec::new())).await
}

async fn sign(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    member: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (member, now) = (member.into_inner(), app.clock.now());
    let points: Vec<i64> =
        filled.fields.all("point").iter().filter_map(|v| v.parse().ok()).collect();
    let done = if points.is_empty() {
        Err(Error::field("point", "Tick at least one point that you have seen done."))
    } else if !filled.fields.ticked("in_person") {
        Err(Error::field(
            "in_person",
            "Sign only what you were there to see. Tick this when you were.",
        ))
    } else {
        let (who, items) = (lead.0.clone(), points.clone());
        let once = filled.once(&app, Some(&lead))?;
        app.db.write_once(once, move |tx| learning::sign(tx, now, &who, (member, &items))).await
    };
    let to = format!("/safety/induction/{member}");
    match done {
        Ok(true) => Ok(go(
            &to,
            Some(Flash::good(
                "The induction is complete: they are a member now and may book alone.",
            )),
        )),
        Ok(false) => Ok(go(&to, Some(Flash::good("Signed.")))),
        Err(e) => shown(&app, &req, (&lead, member), (filled.again(e)?, points)).await,
    }
}
