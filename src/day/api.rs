use actix_web::{HttpResponse, web};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::own::{self, Session};
use super::rules::Wish;
use super::store::{Plan, Run};
use super::{drafting, store};
use crate::app::App;
use crate::clock::Zone;
use crate::error::Error;
use crate::web::{Body, Lead, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/mix-sheets/{date}", Who::Member, mix_sheet);
    open.post("/api/v1/plans", Who::Lead, plan);
    open.post("/api/v1/plans/{date}/publish", Who::Lead, publish);
    open.post("/api/v1/sessions", Who::Member, session);
}

/// One run as programs see it.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedRun {
    id: i64,
    number: i64,
    tank_id: i64,
    tank: String,
    sink_id: i64,
    sink: String,
    person: String,
    loader: String,
    load_start: String,
    load_end: String,
    start: String,
    end: String,
    /// Tickets, from the bottom reel up.
    rolls: Vec<String>,
    developer: String,
    temperature_c: f64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    developer_ml: f64,
    concentrate_ml: f64,
    water_ml: f64,
    /// With what the concentrate is measured.
    measure: String,
    stop_s: i64,
    fix_s: i64,
    rinse_s: i64,
    wash_aid_s: i64,
    wash_s: i64,
    wetting_s: i64,
    fixer_id: Option<i64>,
    /// What it takes of the fixer, in rolls' worth.
    fixer: f64,
    why: Vec<String>,
    pinned: bool,
    ended: bool,
}

/// A day's mix sheet.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct MixSheet {
    /// YYYY-MM-DD
    date: String,
    /// Counts the changes since the day was first published; 0 before.
    version: i64,
    runs: Vec<DescribedRun>,
    /// What the day draws of each developer.
    totals: Vec<Drawn>,
}

/// What a day draws of one developer.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct Drawn {
    developer: String,
    concentrate_ml: f64,
    developer_ml: f64,
}

pub(super) fn described(zone: Zone, run: Run) -> DescribedRun {
    DescribedRun {
        id: run.id,
        number: run.number,
        tank_id: run.tank_id,
        sink_id: run.sink_id,
        person: run.steps.person,
        loader: run.steps.loader,
        load_start: zone.rfc3339(run.load.from),
        load_end: zone.rfc3339(run.load.to),
        start: zone.rfc3339(run.from),
        end: zone.rfc3339(run.to),
        rolls: run.rolls.into_iter().map(|r| r.ticket).collect(),
        temperature_c: thousandths(run.temperature_mc),
        agitation: run.agitation,
        pre_soak_s: run.pre_soak_s,
        time_s: run.time_s,
        developer_ml: thousandths(run.concentrate_ul + run.water_ul),
        concentrate_ml: thousandths(run.concentrate_ul),
        water_ml: thousandths(run.water_ul),
        measure: run.measure,
        stop_s: run.steps.stop_s,
        fix_s: run.fix_s,
        rinse_s: run.steps.rinse_s,
        wash_aid_s: run.steps.wash_aid_s,
        wash_s: run.steps.wash_s,
        wetting_s: run.steps.wetting_s,
        fixer_id: run.fixer_id,
        fixer: thousandths(run.fixer_milli),
        why: run.why,
        pinned: run.pinned,
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

fn sheet_of(conn: &mut crate::db::Conn, zone: Zone, date: NaiveDate) -> Result<MixSheet, Error> {
    let (runs, _) = super::published(conn, date)?;
    let version = i64::try_from(store::changes(conn, date)?.len()).unwrap_or(i64::MAX);
    let drawn = |(developer, concentrate, all)| Drawn {
        developer,
        concentrate_ml: thousandths(concentrate),
        developer_ml: thousandths(all),
    };
    Ok(MixSheet {
        date: date.to_string(),
        version,
        totals: super::sheet::drawn(&runs).into_iter().map(drawn).collect(),
        runs: runs.into_iter().map(|r| described(zone, r)).collect(),
    })
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
    let zone = app.zone();
    let sheet = app.db.read(move |conn| sheet_of(conn, zone, date)).await?;
    Ok(HttpResponse::Ok().json(sheet))
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
    date: String,
    runs: Vec<DescribedRun>,
    left_over: Vec<LeftRoll>,
    /// Tickets that will be ready only after their due time.
    late: Vec<String>,
    /// Sums over the plan, as the planner hands them out.
    #[schema(value_type = Object)]
    totals: serde_json::Value,
    /// Proven lower bounds; null after the first that the plan does not meet.
    #[schema(value_type = Object)]
    bound: serde_json::Value,
    /// Whether all bounds are met.
    optimal: bool,
}

/// A roll that got no run.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct LeftRoll {
    roll: String,
    reason: String,
}

fn drafted(zone: Zone, date: NaiveDate, plan: Plan, runs: Vec<Run>) -> DraftPlan {
    let of = |name: &str| plan.sums.planner.get(name).cloned().unwrap_or_default();
    DraftPlan {
        number: plan.number,
        date: date.to_string(),
        runs: runs.into_iter().map(|r| described(zone, r)).collect(),
        late: plan.sums.late.clone(),
        totals: of("totals"),
        bound: of("bound"),
        optimal: of("optimal").as_bool().unwrap_or(false),
        left_over: plan
            .left_over
            .into_iter()
            .map(|l| LeftRoll { roll: l.ticket, reason: l.reason })
            .collect(),
    }
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
    let (at, by, once) = ((app.clock.now(), zone, date), lead.id, body.once(&app, &lead)?);
    let basis = app.db.read(move |conn| drafting::basis(conn, at, by, Wish::default())).await?;
    let (basis, outcome) = web::block(move || {
        let outcome = drafting::work_out(&basis, &mut |_| {})?;
        Ok::<_, Error>((basis, outcome))
    })
    .await??;
    let draft = app
        .db
        .write_once(once, move |tx| {
            drafting::keep(tx, (at.0, by), (&basis, &outcome), (None, ""))?;
            let plan = store::draft(tx, date)?.ok_or(Error::NotFound)?;
            let runs = store::runs(tx, plan.id)?;
            Ok(drafted(zone, date, plan, runs))
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
    let (by, zone) = (lead.id, app.zone());
    let place =
        crate::bookings::Place { now: app.clock.now(), zone, address: app.config.base_url.clone() };
    let sheet = app
        .db
        .write(move |tx| {
            super::publish(tx, &place, by, (date, None))?;
            sheet_of(tx, zone, date)
        })
        .await?;
    Ok(HttpResponse::Ok().json(sheet))
}

/// A member's own session.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct SessionWish {
    /// One's own coming booking.
    booking_id: i64,
    /// One's own rolls that wait.
    roll_ids: Vec<i64>,
    /// The tank.
    tank_id: i64,
    /// The film is on its reels already.
    #[serde(default)]
    loaded_at_home: bool,
    /// Nothing is taken from the shared fixer.
    #[serde(default)]
    own_fixer: bool,
}

/// A member's own run.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct OwnSession {
    runs: Vec<DescribedRun>,
}

/// Makes a run of one's own rolls in one's own booking.
#[utoipa::path(post, path = "/api/v1/sessions", tag = "day", request_body = SessionWish,
    params(("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = OwnSession), Problems))]
pub(crate) async fn session(
    app: web::Data<App>,
    member: Member,
    body: Body<SessionWish>,
) -> Result<HttpResponse, Error> {
    let (zone, once) = (app.zone(), body.once(&app, &member)?);
    let place =
        crate::bookings::Place { now: app.clock.now(), zone, address: app.config.base_url.clone() };
    let wish = body.value;
    let wanted = Session {
        booking_id: wish.booking_id,
        roll_ids: wish.roll_ids,
        tank_id: wish.tank_id,
        loaded_at_home: wish.loaded_at_home,
        own_fixer: wish.own_fixer,
    };
    let person = member.0.clone();
    let (at, me) = (place.clone(), person.clone());
    let basis = app.db.read(move |conn| own::basis(conn, &at, &me, wanted.clone())).await?;
    let (basis, outcome) = web::block(move || {
        let outcome = own::work_out(&basis)?;
        Ok::<_, Error>((basis, outcome))
    })
    .await??;
    let made = app
        .db
        .write_once(once, move |tx| {
            let run = own::keep(tx, &place, &person, (&basis, &outcome))?;
            Ok(OwnSession { runs: vec![described(zone, run)] })
        })
        .await?;
    Ok(HttpResponse::Created().json(made))
}
