use actix_web::{HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::described::{DescribedRun, described};
use super::joining::{self, Basis};
use super::rules::Planned;
use super::sheet::Bench;
use crate::app::App;
use crate::clock::Zone;
use crate::error::Error;
use crate::rolls;
use crate::web::{Body, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/rolls/{ticket}/runs", Who::Member, open_runs);
    open.post("/api/v1/rolls/{ticket}/runs", Who::Member, join);
}

/// A published run with a free reel for a roll.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct OpenRun {
    id: i64,
    /// YYYY-MM-DD
    date: String,
    tank: String,
    sink: String,
    developer: String,
    temperature_c: f64,
    time_s: i64,
    /// RFC 3339: when loading would begin.
    load_start: String,
    /// RFC 3339
    start: String,
    /// How many rolls it has without this one.
    others: usize,
}

#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct OpenRuns {
    items: Vec<OpenRun>,
}

fn open_run(zone: Zone, basis: &Basis, planned: &Planned) -> OpenRun {
    let run = &basis.run;
    OpenRun {
        id: run.id,
        date: run.date.to_string(),
        tank: run.tank.clone(),
        sink: run.sink.clone(),
        developer: run.developer.clone(),
        temperature_c: thousandths(run.temperature_mc),
        time_s: run.time_s,
        load_start: zone.rfc3339(planned.load_from),
        start: zone.rfc3339(run.from),
        others: run.rolls.len(),
    }
}

/// The published runs that one's own waiting roll could join, by their start.
#[utoipa::path(get, path = "/api/v1/rolls/{ticket}/runs", tag = "day",
    params(("ticket" = String, Path)), responses((status = 200, body = OpenRuns), Problems))]
pub(crate) async fn open_runs(
    app: web::Data<App>,
    member: Member,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let (place, person, zone) = (app.place(), member.0.clone(), app.zone());
    let (bases, _closed) = app
        .db
        .read(move |conn| {
            let roll = rolls::by_ticket(conn, &path, Some(person.id))?;
            joining::bases(conn, &place, &person, &roll)
        })
        .await?;
    let items = web::block(move || {
        let open = |basis: Basis| {
            joining::work_out(&basis).ok().map(|planned| open_run(zone, &basis, &planned))
        };
        bases.into_iter().filter_map(open).collect()
    })
    .await?;
    Ok(HttpResponse::Ok().json(OpenRuns { items }))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct JoinWish {
    /// One of the open runs.
    run_id: i64,
}

/// Adds one's own waiting roll to a published run.
#[utoipa::path(post, path = "/api/v1/rolls/{ticket}/runs", tag = "day", request_body = JoinWish,
    params(("ticket" = String, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = DescribedRun), Problems))]
pub(crate) async fn join(
    app: web::Data<App>,
    member: Member,
    path: web::Path<String>,
    body: Body<JoinWish>,
) -> Result<HttpResponse, Error> {
    let (place, person, zone) = (app.place(), member.0.clone(), app.zone());
    let (once, run) = (body.once(&app, &member)?, body.value.run_id);
    let run = app
        .db
        .write_once(once, move |tx| {
            let roll = rolls::by_ticket(tx, &path, Some(person.id))?;
            let run = joining::join(tx, &place, &person, (roll.id, run))?;
            let bench = Bench::load(tx, std::slice::from_ref(&run))?;
            Ok(described(zone, run, &bench))
        })
        .await?;
    Ok(HttpResponse::Created().json(run))
}
