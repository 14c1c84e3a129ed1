use actix_web::{HttpResponse, web};
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::described::{DescribedPour, DescribedRun, described};
use super::own::{self, Session};
use super::progress::unwatched;
use super::sheet::{self, Bench};
use super::store::{Plan, Run};
use super::{drafting, store};
use crate::app::App;
use crate::clock::{Moment, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::sessions::Taste;
use crate::units::Celsius;
use crate::web::{Body, Lead, Member, Problems, Routes, Who, Words, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/mix-sheets/{date}", Who::Member, mix_sheet);
    open.post("/api/v1/plans", Who::Lead, plan);
    open.post("/api/v1/plans/{date}/publish", Who::Lead, publish);
    open.post("/api/v1/sessions", Who::Member, session);
}

/// A day's mix sheet.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct MixSheet {
    /// YYYY-MM-DD
    date: String,
    /// Counts the changes since the day was first published; 0 before.
    version: i64,
    runs: Vec<DescribedRun>,
    /// What the day mixes of each developer.
    totals: Vec<Drawn>,
    /// What the shelf is short of for everything published, a sentence each.
    short: Vec<String>,
    /// What the day does to each shared bath, a sentence each.
    baths: Vec<String>,
    cautions: Vec<About>,
    /// What goes where afterwards.
    afterwards: Vec<About>,
}

/// A sentence and what it is about.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct About {
    about: String,
    text: String,
}

/// What a day draws of one developer.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct Drawn {
    developer: String,
    /// All parts together, where it is mixed from several.
    concentrate_ml: f64,
    /// Each part, where it is mixed from several; empty otherwise.
    parts: Vec<DescribedPour>,
    developer_ml: f64,
}

pub(super) fn day_of(text: &str) -> Result<NaiveDate, Error> {
    text.parse()
        .map_err(|_e| Error::field("date", format!("“{text}” is not a date; write YYYY-MM-DD.")))
}

fn sheet_of(
    conn: &mut Conn,
    (now, zone): (Moment, Zone),
    date: NaiveDate,
) -> Result<MixSheet, Error> {
    let runs = store::published_runs(conn, date)?;
    let bench = Bench::load(conn, &runs)?;
    let version = i64::try_from(store::changes(conn, date)?.len()).unwrap_or(i64::MAX);
    let drawn = |d: sheet::Drawn| Drawn {
        developer: d.developer,
        concentrate_ml: thousandths(d.concentrate_ul),
        parts: d.parts.into_iter().map(DescribedPour::of).collect(),
        developer_ml: thousandths(d.total_ul),
    };
    let (baths, rules) = (sheet::baths_now(conn, now, &bench)?, sheet::disposal(conn)?);
    let words = Words::in_studio(zone, &Taste::default());
    let pours = sheet::pours(&runs, &words, &|kind| rules.get(kind).cloned());
    let cautions = sheet::cautions(&runs, &bench);
    Ok(MixSheet {
        date: date.to_string(),
        version,
        totals: sheet::drawn(&runs).into_iter().map(drawn).collect(),
        short: if runs.is_empty() { Vec::new() } else { sheet::shortfalls(conn, now)? },
        baths: sheet::forecast(&runs, &baths).into_iter().map(|b| b.sentence).collect(),
        cautions: cautions.into_iter().map(|c| About { about: c.about, text: c.text }).collect(),
        afterwards: pours.into_iter().map(|p| About { about: p.what, text: p.line }).collect(),
        runs: all_described(zone, runs, &bench),
    })
}

fn all_described(zone: Zone, runs: Vec<Run>, bench: &Bench) -> Vec<DescribedRun> {
    runs.into_iter().map(|r| described(zone, r, bench)).collect()
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
    let (now, zone) = (app.clock.now(), app.zone());
    let sheet = app.db.read(move |conn| sheet_of(conn, (now, zone), date)).await?;
    Ok(HttpResponse::Ok().json(sheet))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct PlanWish {
    /// YYYY-MM-DD
    date: String,
    /// Temperature of every developer that day, 10 to 40; its recipe's own where absent.
    #[serde(default)]
    temperature_c: Option<f64>,
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

fn drafted(date: NaiveDate, plan: Plan, runs: Vec<DescribedRun>) -> DraftPlan {
    let of = |name: &str| plan.sums.planner.get(name).cloned().unwrap_or_default();
    DraftPlan {
        number: plan.number,
        date: date.to_string(),
        runs,
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

/// A working temperature in thousandths of a degree.
fn temperature(celsius: f64) -> Result<i64, Error> {
    let found = Some(celsius).filter(|c| (10.0..=40.0).contains(c));
    let found = found.and_then(|c| Celsius::new(c).ok());
    found.map(|c| i64::from(c.millidegrees())).ok_or_else(|| {
        Error::field("temperature_c", "Write a temperature from 10 to 40 °C, like 21.5.")
    })
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
    let warm = body.value.temperature_c.map(temperature).transpose()?;
    let basis = app.db.read(move |conn| drafting::basis_at(conn, at, by, warm)).await?;
    let (basis, outcome) = web::block(move || {
        let outcome = drafting::work_out(&basis, &mut unwatched)?;
        Ok::<_, Error>((basis, outcome))
    })
    .await??;
    let draft = app
        .db
        .write_once(once, move |tx| {
            drafting::keep(tx, (at.0, by), (&basis, &outcome), (None, ""))?;
            let plan = store::draft(tx, date)?.ok_or(Error::NotFound)?;
            let runs = store::runs(tx, plan.id)?;
            let bench = Bench::load(tx, &runs)?;
            Ok(drafted(date, plan, all_described(zone, runs, &bench)))
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
    let place = app.place();
    let sheet = app
        .db
        .write(move |tx| {
            super::publish(tx, &place, by, (date, None))?;
            sheet_of(tx, (place.now, zone), date)
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
    /// Tank and reels are one's own; `tank_id` is then the studio's most like it.
    #[serde(default)]
    own_tank: bool,
    /// What one's own tank takes with these rolls, in ml; as the studio's where absent.
    #[serde(default)]
    own_volume_ml: Option<i64>,
    /// Nothing is drawn from the studio's developer.
    #[serde(default)]
    own_developer: bool,
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
    let place = app.place();
    let wish = body.value;
    if wish.own_volume_ml.is_some_and(|ml| !(50..=20_000).contains(&ml)) {
        return Err(Error::field("own_volume_ml", "Write whole millilitres, 50 to 20000."));
    }
    let wanted = Session {
        own_tank: wish.own_tank,
        own_volume_ml: wish.own_volume_ml.filter(|_| wish.own_tank),
        own_developer: wish.own_developer,
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
            let bench = Bench::load(tx, std::slice::from_ref(&run))?;
            Ok(OwnSession { runs: vec![described(zone, run, &bench)] })
        })
        .await?;
    Ok(HttpResponse::Created().json(made))
}
