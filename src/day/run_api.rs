use actix_web::{HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::at_sink::{self, Seen};
use super::store::{Event, EventKind};
use crate::app::App;
use crate::clock::{Moment, Zone};
use crate::error::Error;
use crate::units::Celsius;
use crate::web::{Body, Lead, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/runs/{id}", Who::Member, one);
    open.post("/api/v1/runs/{id}/events", Who::Member, tell);
    open.post("/api/v1/runs/{id}/end", Who::Member, end);
    open.post("/api/v1/days/{date}/slide", Who::Lead, slide);
}

/// One step of a run.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedStep {
    /// Its number, from 0.
    n: i64,
    name: String,
    /// How long it lasts.
    seconds: i64,
    /// When it began; null while it is to come.
    begun: Option<String>,
    /// For how long it was paused.
    paused_s: i64,
}

/// A run as it stands at the sink.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct RunState {
    id: i64,
    number: i64,
    /// `planned`, `loaded`, `working`, `paused` or `over`.
    state: String,
    steps: Vec<DescribedStep>,
    measured_c: Option<f64>,
    /// The developing time, corrected where it was measured.
    time_s: i64,
    /// How the corrected time was found, or why none can be given.
    working: Vec<String>,
    /// What really happened, in words; empty where all went to time.
    record: String,
}

fn described(zone: Zone, seen: &Seen) -> RunState {
    let live = &seen.live;
    let over = live.ended.is_some() || live.aborted.is_some();
    let state = match (over, live.paused_since, live.begun.is_empty(), live.loaded) {
        (true, ..) => "over",
        (_, Some(_), ..) => "paused",
        (_, None, false, _) => "working",
        (_, None, true, Some(_)) => "loaded",
        (_, None, true, None) => "planned",
    };
    let step = |s: &super::process::Step| DescribedStep {
        n: s.n,
        name: s.name.to_owned(),
        seconds: s.seconds,
        begun: live.begun.get(&s.n).map(|at| zone.rfc3339(*at)),
        paused_s: live.paused.get(&s.n).copied().unwrap_or(0),
    };
    let measured = live.measured.as_ref();
    let lines = measured.map(|m| m.lines.iter().chain(&m.refusal).cloned().collect());
    RunState {
        id: seen.run.id,
        number: seen.run.number,
        state: state.to_owned(),
        steps: live.steps.iter().map(step).collect(),
        measured_c: measured.map(|m| thousandths(m.mc)),
        time_s: measured.map_or(seen.run.time_s, |m| m.time_s),
        working: lines.unwrap_or_default(),
        record: live.record(),
    }
}

/// A run as it stands at the sink.
#[utoipa::path(get, path = "/api/v1/runs/{id}", tag = "day", params(("id" = i64, Path)),
    responses((status = 200, body = RunState), Problems))]
pub(crate) async fn one(
    app: web::Data<App>,
    _member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let seen = app.db.read(move |conn| at_sink::see(conn, id)).await?;
    Ok(HttpResponse::Ok().json(described(app.zone(), &seen)))
}

/// What somebody at the sink tells.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Told {
    /// `loaded`, `measured`, `step`, `paused` or `went_on`.
    kind: String,
    /// Which step begins, for `step`.
    #[serde(default)]
    step: Option<i64>,
    /// What the thermometer shows, 5 to 45, for `measured`.
    #[serde(default)]
    temperature_c: Option<f64>,
}

fn event(told: &Told, now: Moment) -> Result<Event, Error> {
    let kind = match told.kind.as_str() {
        "loaded" => EventKind::Loaded,
        "measured" => EventKind::Measured,
        "step" => EventKind::Step,
        "paused" => EventKind::Paused,
        "went_on" => EventKind::WentOn,
        _ => {
            let sentence = "Write loaded, measured, step, paused or went_on.";
            return Err(Error::field("kind", sentence));
        }
    };
    let celsius = told.temperature_c.filter(|c| (5.0..=45.0).contains(c));
    let value = match kind {
        EventKind::Measured => {
            let found = celsius.and_then(|c| Celsius::new(c).ok()).ok_or_else(|| {
                Error::field("temperature_c", "Write what the thermometer shows, 5 to 45 °C.")
            })?;
            Some(i64::from(found.millidegrees()))
        }
        _ => None,
    };
    let step = match kind {
        EventKind::Loaded => Some(0),
        EventKind::Step => Some(
            told.step
                .filter(|n| (0..=20).contains(n))
                .ok_or_else(|| Error::field("step", "Write which step begins, from 0."))?,
        ),
        _ => None,
    };
    Ok(Event { kind, step, at: now, value, note: String::new() })
}

/// Tells of a run at the sink. The same step told again changes nothing.
#[utoipa::path(post, path = "/api/v1/runs/{id}/events", tag = "day", request_body = Told,
    params(("id" = i64, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = RunState), Problems))]
pub(crate) async fn tell(
    app: web::Data<App>,
    member: Member,
    id: web::Path<i64>,
    body: Body<Told>,
) -> Result<HttpResponse, Error> {
    let (now, zone, id) = (app.clock.now(), app.zone(), id.into_inner());
    let (event, once) = (event(&body.value, now)?, body.once(&app, &member)?);
    let person = member.0.clone();
    let state = app
        .db
        .write_once(once, move |tx| {
            at_sink::tell(tx, now, &person, (id, event.clone()))?;
            Ok(described(zone, &at_sink::see(tx, id)?))
        })
        .await?;
    Ok(HttpResponse::Created().json(state))
}

/// Ends a run: its rolls hang, its fixer is booked once however often it is ended.
#[utoipa::path(post, path = "/api/v1/runs/{id}/end", tag = "day", params(("id" = i64, Path)),
    responses((status = 200, body = RunState), Problems))]
pub(crate) async fn end(
    app: web::Data<App>,
    member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (now, zone, id) = (app.clock.now(), app.zone(), id.into_inner());
    let person = member.0.clone();
    let state = app
        .db
        .write(move |tx| {
            at_sink::end_run(tx, now, &person, id)?;
            Ok(described(zone, &at_sink::see(tx, id)?))
        })
        .await?;
    Ok(HttpResponse::Ok().json(state))
}

/// By how much a day slips.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Slip {
    /// Minutes late, 1 to 600.
    minutes: i64,
}

/// What came of it.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct Slipped {
    /// Runs that moved by just as much.
    moved: usize,
    /// A sentence for each run that something was in the way of.
    in_the_way: Vec<String>,
}

/// Re-times what is left of a published day.
#[utoipa::path(post, path = "/api/v1/days/{date}/slide", tag = "day", request_body = Slip,
    params(("date" = String, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 200, body = Slipped), Problems))]
pub(crate) async fn slide(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    body: Body<Slip>,
) -> Result<HttpResponse, Error> {
    let date = super::api::day_of(&path)?;
    let minutes = body.value.minutes;
    if !(1..=600).contains(&minutes) {
        return Err(Error::field("minutes", "Write how many minutes late, 1 to 600."));
    }
    let place = crate::bookings::Place {
        now: app.clock.now(),
        zone: app.zone(),
        address: app.config.base_url.clone(),
    };
    let (once, person) = (body.once(&app, &lead)?, lead.0.clone());
    let slid = app
        .db
        .write_once(once, move |tx| {
            let slid = super::shifting::slide(tx, &place, &person, (date, minutes))?;
            Ok(Slipped { moved: slid.moved, in_the_way: slid.in_the_way })
        })
        .await?;
    Ok(HttpResponse::Ok().json(slid))
}
