use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use super::sheet::{self, SheetRun, Sum};
use super::{LeftOver, store};
use crate::app::App;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Filled, Flash, Form, Lead, Newcomer, Routes, Who, go, show, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/days", Who::Newcomer, list);
    open.post("/days", Who::Lead, plan);
    open.get("/days/{date}", Who::Newcomer, sheet_page);
    open.post("/days/{date}/publish", Who::Lead, publish);
    open.post("/runs/{id}/end", Who::Lead, end_run);
}

#[derive(Serialize)]
struct Day {
    href: String,
    text: String,
}

#[derive(Serialize)]
struct ListPage {
    days: Vec<Day>,
    form: Form,
    may_plan: bool,
}

async fn list_page(
    app: &web::Data<App>,
    req: &HttpRequest,
    person: &crate::sessions::Person,
    form: Form,
) -> Result<HttpResponse, Error> {
    let words = app.words(Some(person));
    let dates = app.db.read(store::published_dates).await?;
    let days = dates
        .into_iter()
        .map(|d| Day { href: format!("/days/{d}"), text: words.date(d) })
        .collect();
    let page = ListPage { days, may_plan: person.role == Role::Lead, form };
    let shown = page.form.clone();
    show_form(app, req, ("Mix sheets", "day/list.html"), &shown, &page)
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    let today = app.zone().date(app.clock.now());
    list_page(&app, &req, &person, Form::new("/days").with("date", today)).await
}

async fn plan(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let done = match filled.fields.date("date", "a day") {
        None => Err(filled.fields.faults()),
        Some(date) => {
            let (at, by) = ((app.clock.now(), app.zone()), lead.id);
            let once = filled.once(&app, Some(&lead))?;
            app.db
                .write_once(once, move |tx| super::plan(tx, at, by, date))
                .await
                .map(|_number| date)
        }
    };
    match done {
        Ok(date) => Ok(go(
            &format!("/days/{date}"),
            Some(Flash::good("A draft is ready. Look it through, then publish it.")),
        )),
        Err(e) => list_page(&app, &req, &lead, filled.again(e)?).await,
    }
}

#[derive(Serialize)]
struct SheetPage {
    date: String,
    runs: Vec<SheetRun>,
    sums: Vec<Sum>,
    ends: Vec<Form>,
    draft: Option<Draft>,
    lead: bool,
}

#[derive(Serialize)]
struct Draft {
    number: i64,
    runs: Vec<SheetRun>,
    left_over: Vec<LeftOver>,
    form: Form,
}

fn day_of(path: &str) -> Result<NaiveDate, Error> {
    path.parse().map_err(|_e| Error::NotFound)
}

async fn sheet_page(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let lead = person.role == Role::Lead;
    let (runs, labels, draft) = app
        .db
        .read(move |conn| {
            let (runs, mut labels) = super::published(conn, date)?;
            let draft = match store::draft(conn, date)? {
                Some(plan) if lead => {
                    let runs = store::runs(conn, &[plan.id])?;
                    for id in runs.iter().filter_map(|r| r.fixer_id) {
                        labels.insert(id, crate::baths::one(conn, id)?.label);
                    }
                    Some((plan, runs))
                }
                _ => None,
            };
            Ok((runs, labels, draft))
        })
        .await?;
    let words = app.words(Some(&person));
    let page = SheetPage {
        date: words.date(date),
        ends: runs.iter().map(|r| Form::new(&format!("/runs/{}/end", r.id))).collect(),
        sums: sheet::sums(&runs),
        runs: sheet::runs(&runs, &labels, &words),
        draft: draft.map(|(plan, runs)| Draft {
            number: plan.number,
            runs: sheet::runs(&runs, &labels, &words),
            left_over: plan.left_over,
            form: Form::new(&format!("/days/{date}/publish")),
        }),
        lead,
    };
    show(&app, &req, "Mix sheet", "day/sheet.html", &page)
}

async fn publish(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let (now, by) = (app.clock.now(), lead.id);
    let once = filled.once(&app, Some(&lead))?;
    let done =
        app.db.write_once(once, move |tx| Ok(super::publish(tx, now, by, date)?.number)).await;
    let back = format!("/days/{date}");
    match done {
        Ok(_) => Ok(go(&back, Some(Flash::good("Published. Sinks and tanks are booked.")))),
        Err(Error::Refused { sentence, .. }) => Ok(go(&back, Some(Flash::bad(sentence)))),
        Err(e) => Err(e),
    }
}

async fn end_run(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, by, id) = (app.clock.now(), lead.id, id.into_inner());
    let once = filled.once(&app, Some(&lead))?;
    let from = app.db.write_once(once, move |tx| Ok(super::end_run(tx, now, by, id)?.from)).await?;
    let back = format!("/days/{}", app.zone().date(from));
    Ok(go(
        &back,
        Some(Flash::good("Ended. Its rolls are on the hook, and the fixer's ledger has it.")),
    ))
}
