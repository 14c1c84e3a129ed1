use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::day_of;
use crate::app::App;
use crate::day::sheet::{self, SheetRun, Sum};
use crate::day::store;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Filled, Flash, Form, Lead, Newcomer, go, show};

#[derive(Serialize)]
struct SheetPage {
    date: String,
    day: String,
    runs: Vec<SheetRun>,
    sums: Vec<Sum>,
    ends: Vec<Form>,
    draft: Option<i64>,
    lead: bool,
    versions: Vec<Version>,
}

#[derive(Serialize)]
struct Version {
    number: i64,
    at: String,
    by: String,
    sentence: String,
}

pub(super) async fn sheet(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let lead = person.role == Role::Lead;
    let (runs, labels, draft, changes) = app
        .db
        .read(move |conn| {
            let (runs, labels) = crate::day::published(conn, date)?;
            let draft = store::draft(conn, date)?.filter(|_| lead).map(|p| p.number);
            Ok((runs, labels, draft, store::changes(conn, date)?))
        })
        .await?;
    let words = app.words(Some(&person));
    let page = SheetPage {
        date: words.date(date),
        day: date.to_string(),
        ends: runs.iter().map(|r| Form::new(&format!("/runs/{}/end", r.id))).collect(),
        sums: sheet::sums(&runs),
        runs: sheet::runs(&runs, &labels, &words),
        draft,
        lead,
        versions: changes
            .into_iter()
            .map(|c| Version {
                number: c.number,
                at: words.moment(c.at),
                by: c.by,
                sentence: c.sentence,
            })
            .collect(),
    };
    show(&app, &req, "Mix sheet", "day/sheet.html", &page)
}

pub(super) async fn end_run(
    app: web::Data<App>,
    lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, by, id) = (app.clock.now(), lead.id, id.into_inner());
    let once = filled.once(&app, Some(&lead))?;
    let date =
        app.db.write_once(once, move |tx| Ok(crate::day::end_run(tx, now, by, id)?.date)).await?;
    Ok(go(
        &format!("/days/{date}"),
        Some(Flash::good("Ended. Its rolls are on the hook, and the fixer's ledger has it.")),
    ))
}
