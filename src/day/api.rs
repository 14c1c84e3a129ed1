use actix_web::{HttpResponse, web};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::Run;
use crate::app::App;
use crate::clock::Zone;
use crate::error::Error;
use crate::web::{Body, Lead, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/mix-sheets/{date}", Who::Member, mix_sheet);
    open.post("/api/v1/plans", Who::Lead, plan);
    open.post("/api/v1/plans/{date}/publish", Who::Lead, publish);
}

/// One run as programs see it.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedRun {
    id: i64,
    sink: String,
    tank: String,
    load_start: String,
    start: String,
    end: String,
    /// Tickets, from the bottom reel up.
    rolls: Vec<String>,
    developer: String,
    temperature_c: f64,
    time_s: i64,
    developer_ml: f64,
    concentrate_ml: f64,
    water_ml: f64,
    fix_s: i64,
    why: Vec<String>,
    ended: bool,
}

/// A day's mix sheet.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct MixSheet {
    /// YYYY-MM-DD
    date: String,
    runs: Vec<DescribedRun>,
}

fn described(zone: Zone, run: Run) -> DescribedRun {
    DescribedRun {
        id: run.id,
        load_start: zone.rfc3339(run.load_from),
        start: zone.rfc3339(run.from),
        end: zone.rfc3339(run.to),
        rolls: run.rolls.into_iter().map(|r| r.ticket).collect(),
        temperature_c: thousandths(run.temperature_mc),
        time_s: run.time_s,
        developer_ml: thousandths(run.concentrate_ul + run.water_ul),
        concentrate_ml: thousandths(run.concentrate_ul),
        water_ml: thousandths(run.water_ul),
        fix_s: run.fix_s,
        why: vec![run.why],
        ended: run.ended.is_some(),
        sink: run.sink,
        tank: run.tank,
        developer: run.developer,
    }
}

fn day_of(text: &str) -> Result<NaiveDate, Error> {
    text.parse()
        .map_err(|_e| Error::field("date", format!("“{text}” is not a date; write YYYY-MM-DD.")))
}

/// The published mix sheet of a day.
#[utoipa::path(get, path = "/api/v1/mix-sheets/{date}", tag = "day", params(("date" = String, Path)),
    responses((status = 200, body = MixSheet), Problems))]
pub(crate) async fn mix_sheet(
    app: web::Data<App>,
    _member: Member,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let (runs, _) = app.db.read(move |conn| super::published(conn, date)).await?;
    let zone = app.zone();
    let runs = runs.into_iter().map(|r| described(zone, r)).collect();
    Ok(HttpResponse::Ok().json(MixSheet { date: date.to_string(), runs }))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct PlanWish {
    /// YYYY-MM-DD
    date: String,
}

/// A draft plan.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DraftPlan {
    number: i64,
    runs: Vec<DescribedRun>,
    left_over: Vec<LeftRoll>,
}

/// A roll that got no run.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct LeftRoll {
    roll: String,
    reason: String,
}

/// Groups the waiting rolls into a draft.
#[utoipa::path(post, path = "/api/v1/plans", tag = "day", request_body = PlanWish,
    params(("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = DraftPlan), Problems))]
pub(crate) async fn plan(
    app: web::Data<App>,
    lead: Lead,
    body: Body<PlanWish>,
) -> Result<HttpResponse, Error> {
    let date = day_of(&body.value.date)?;
    let zone = app.zone();
    let (at, by, once) = ((app.clock.now(), zone), lead.id, body.once(&app, &lead)?);
    let draft = app
        .db
        .write_once(once, move |tx| {
            let number = super::plan(tx, at, by, date)?;
            let plan = super::store::draft(tx, date)?.ok_or(Error::NotFound)?;
            let runs = super::store::runs(tx, &[plan.id])?;
            let runs = runs.into_iter().map(|r| described(zone, r)).collect();
            let left_over = plan
                .left_over
                .into_iter()
                .map(|l| LeftRoll { roll: l.ticket, reason: l.reason })
                .collect();
            Ok(DraftPlan { number, runs, left_over })
        })
        .await?;
    Ok(HttpResponse::Created().json(draft))
}

/// Publishes the latest draft of a day.
#[utoipa::path(post, path = "/api/v1/plans/{date}/publish", tag = "day", params(("date" = String, Path)),
    responses((status = 200, body = MixSheet), Problems))]
pub(crate) async fn publish(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let (now, by, zone) = (app.clock.now(), lead.id, app.zone());
    let sheet = app
        .db
        .write(move |tx| {
            super::publish(tx, now, by, date)?;
            let (runs, _) = super::published(tx, date)?;
            let runs = runs.into_iter().map(|r| described(zone, r)).collect();
            Ok(MixSheet { date: date.to_string(), runs })
        })
        .await?;
    Ok(HttpResponse::Ok().json(sheet))
}
