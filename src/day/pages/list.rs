use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use super::edits::temperature;
use super::planning::begin;
use crate::app::App;
use crate::day::drafting::{self, Basis};
use crate::day::planning::{self, Change};
use crate::day::progress::unwatched;
use crate::day::store;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Filled, Flash, Form, Lead, Newcomer, go, show_form};

#[derive(Serialize)]
struct Day {
    href: String,
    text: String,
}

#[derive(Serialize)]
struct ListPage {
    days: Vec<Day>,
    drafts: Vec<Day>,
    /// Large days that are being planned.
    jobs: Vec<Day>,
    form: Form,
    may_plan: bool,
    works: bool,
}

async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    person: &crate::sessions::Person,
    form: Form,
) -> Result<HttpResponse, Error> {
    let words = app.words(Some(person));
    let lead = person.role == Role::Lead;
    let now = app.clock.now();
    let (dates, drafts, jobs) = app
        .db
        .read(move |conn| {
            let drafts = if lead { store::draft_dates(conn)? } else { Vec::new() };
            let since = now.plus(-planning::LOST_S);
            let jobs = if lead { store::jobs_at_work(conn, since)? } else { Vec::new() };
            Ok((store::published_dates(conn)?, drafts, jobs))
        })
        .await?;
    let drafts = drafts
        .into_iter()
        .map(|d| Day { href: format!("/days/{d}"), text: words.date(d) })
        .collect();
    let jobs = jobs
        .into_iter()
        .map(|j| Day { href: format!("/days/planning/{}", j.id), text: words.date(j.date) })
        .collect();
    let days = dates
        .into_iter()
        .map(|d| Day { href: format!("/days/{d}"), text: words.date(d) })
        .collect();
    let page =
        ListPage { days, drafts, jobs, may_plan: lead, works: person.role >= Role::Member, form };
    let shown = page.form.clone();
    show_form(app, req, ("Mix sheets", "day/list.html"), &shown, &page)
}

pub(super) async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
) -> Result<HttpResponse, Error> {
    let today = app.zone().date(app.clock.now());
    page(&app, &req, &person, Form::new("/days").with("date", today)).await
}

pub(super) async fn plan(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let date = filled.fields.date("date", "a day");
    let warm = match filled.fields.raw("celsius").trim() {
        "" => Some(None),
        _ => temperature(&mut filled.fields, "celsius").map(Some),
    };
    let done = match (date, warm) {
        (Some(date), Some(warm)) => planned(&app, &lead, &filled, (date, warm)).await,
        _ => Err(filled.fields.faults()),
    };
    match done {
        Ok(Made::Draft(date)) => Ok(go(
            &format!("/days/{date}/plan"),
            Some(Flash::good("A draft is ready. Look it through, then publish it.")),
        )),
        Ok(Made::Job(id)) => Ok(go(&format!("/days/planning/{id}"), None)),
        Err(e) => page(&app, &req, &lead, filled.again(e)?).await,
    }
}

/// What came of planning: a draft, or a job in the background.
pub(super) enum Made {
    Draft(NaiveDate),
    Job(i64),
}

async fn planned(
    app: &web::Data<App>,
    lead: &Lead,
    filled: &Filled,
    (date, warm): (NaiveDate, Option<i64>),
) -> Result<Made, Error> {
    let (at, by) = ((app.clock.now(), app.zone(), date), lead.id);
    let basis = app.db.read(move |conn| drafting::basis_at(conn, at, by, warm)).await?;
    make(app, lead, filled, (basis, None)).await
}

/// Works a day out and keeps it as a draft; in the background where it is large.
pub(super) async fn make(
    app: &web::Data<App>,
    lead: &Lead,
    filled: &Filled,
    (basis, change): (Basis, Option<Change>),
) -> Result<Made, Error> {
    let (date, by) = (basis.facts.date, lead.id);
    if planning::is_large(&basis) {
        return begin(app, by, basis, change).await.map(Made::Job);
    }
    let (basis, outcome) = web::block(move || {
        let outcome = drafting::work_out(&basis, &mut unwatched)?;
        Ok::<_, Error>((basis, outcome))
    })
    .await??;
    let once = filled.once(app, Some(lead))?;
    app.db
        .write_once(once, move |tx| planning::keep(tx, by, (&basis, &outcome), change.as_ref()))
        .await?;
    Ok(Made::Draft(date))
}
