use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::day::rules::Wish;
use crate::day::{drafting, store};
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
    let (dates, drafts) = app
        .db
        .read(move |conn| {
            let drafts = if lead { store::draft_dates(conn)? } else { Vec::new() };
            Ok((store::published_dates(conn)?, drafts))
        })
        .await?;
    let drafts = drafts
        .into_iter()
        .map(|d| Day { href: format!("/days/{d}"), text: words.date(d) })
        .collect();
    let days = dates
        .into_iter()
        .map(|d| Day { href: format!("/days/{d}"), text: words.date(d) })
        .collect();
    let page = ListPage { days, drafts, may_plan: lead, works: person.role >= Role::Member, form };
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
    let done = match date {
        None => Err(filled.fields.faults()),
        Some(date) => planned(&app, &lead, &filled, date).await.map(|()| date),
    };
    match done {
        Ok(date) => Ok(go(
            &format!("/days/{date}/plan"),
            Some(Flash::good("A draft is ready. Look it through, then publish it.")),
        )),
        Err(e) => page(&app, &req, &lead, filled.again(e)?).await,
    }
}

async fn planned(
    app: &web::Data<App>,
    lead: &Lead,
    filled: &Filled,
    date: chrono::NaiveDate,
) -> Result<(), Error> {
    let (at, by) = ((app.clock.now(), app.zone(), date), lead.id);
    let basis = app.db.read(move |conn| drafting::basis(conn, at, by, Wish::default())).await?;
    let (basis, outcome) = web::block(move || {
        let outcome = drafting::work_out(&basis, &mut |_| {})?;
        Ok::<_, Error>((basis, outcome))
    })
    .await??;
    let once = filled.once(app, Some(lead))?;
    app.db
        .write_once(once, move |tx| drafting::keep(tx, (at.0, by), (&basis, &outcome), (None, "")))
        .await
        .map(|_number| ())
}
