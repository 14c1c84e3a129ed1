use actix_web::{HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::rules::Bath;
use super::state::State;
use super::{ClipTest, Use};
use crate::app::App;
use crate::error::Error;
use crate::web::{Body, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/baths", Who::Member, list);
    open.post("/api/v1/baths/{id}/uses", Who::Member, use_bath);
    open.post("/api/v1/baths/{id}/clip-tests", Who::Member, clip_test);
}

/// A bath as programs see it.
#[derive(Debug, Serialize, ToSchema)]
pub struct Described {
    id: i64,
    /// `fixer`, `stop`, `wash_aid`, `wetting_agent` or `developer`.
    kind: String,
    label: String,
    /// Rolls' worth it can take.
    capacity: f64,
    /// Rolls' worth it can still take; below nought when it was used past its limit.
    remaining: f64,
    /// `good`, `near_limit`, `too_old`, `too_little`, `at_limit`, `failed_test` or `retired`.
    state: String,
    /// Its number, as its label has it.
    number: i64,
    /// `working`, `bath_1`, `bath_2` or `reserve`.
    place: String,
    /// `film` or `paper`.
    material: String,
    /// What is left of it in ml.
    volume_ml: f64,
    /// How long film stays in it, in seconds: twice the clearing time measured last.
    fix_seconds: i64,
}

impl Described {
    fn of(bath: &Bath, state: &State) -> Described {
        Described {
            id: bath.id,
            kind: bath.kind.word().to_owned(),
            label: bath.label.clone(),
            capacity: thousandths(bath.capacity_milli),
            remaining: thousandths(state.remaining_milli),
            state: state.condition.word().to_owned(),
            number: bath.number,
            place: bath.place.word().to_owned(),
            material: bath.material.word().to_owned(),
            volume_ml: thousandths(state.left_ul),
            fix_seconds: state.fix_s,
        }
    }
}

#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct BathList {
    items: Vec<Described>,
    next: Option<String>,
}

/// The baths in use.
#[utoipa::path(get, path = "/api/v1/baths", tag = "baths",
    responses((status = 200, body = BathList), Problems))]
pub(crate) async fn list(app: web::Data<App>, _member: Member) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let found = app.db.read(move |conn| super::on_the_shelf(conn, now)).await?;
    let items = found.iter().map(|(b, s)| Described::of(b, s)).collect();
    Ok(HttpResponse::Ok().json(BathList { items, next: None }))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct UseWish {
    /// Rolls' worth of film, above 0, at most 50, to a thousandth.
    #[schema(minimum = 0.001, maximum = 50.0)]
    roll_equivalents: f64,
    #[schema(max_length = 500)]
    note: Option<String>,
    run_id: Option<i64>,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct UseAnswer {
    remaining: f64,
    state: String,
}

fn answer(state: &State) -> UseAnswer {
    let word = state.condition.word().to_owned();
    UseAnswer { remaining: thousandths(state.remaining_milli), state: word }
}

/// Records film that went through a bath.
#[utoipa::path(post, path = "/api/v1/baths/{id}/uses", tag = "baths", request_body = UseWish,
    params(("id" = i64, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = UseAnswer), Problems))]
pub(crate) async fn use_bath(
    app: web::Data<App>,
    member: Member,
    id: web::Path<i64>,
    body: Body<UseWish>,
) -> Result<HttpResponse, Error> {
    let rolls = body.value.roll_equivalents;
    if !(0.001..=50.0).contains(&rolls) {
        return Err(Error::field(
            "roll_equivalents",
            format!("{rolls} is not between 0.001 and 50 rolls' worth."),
        ));
    }
    let note = body.value.note.clone().unwrap_or_default();
    if note.chars().count() > 500 {
        return Err(Error::field("note", "A note may have 500 characters."));
    }
    let (bath, run) = (id.into_inner(), body.value.run_id);
    if run.is_some() {
        return Err(Error::field("run_id", "A run records its own use when it is ended."));
    }
    #[expect(clippy::as_conversions, reason = "between 1 and 50,000")]
    let wish = Use { bath, milli: (rolls * 1000.0).round() as i64, run, note };
    let (now, by, once) = (app.clock.now(), member.id, body.once(&app, &member)?);
    let done = app
        .db
        .write_once(once, move |tx| Ok(answer(&super::record_use(tx, now, Some(by), &wish)?.state)))
        .await?;
    Ok(HttpResponse::Created().json(done))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ClipTestWish {
    /// Seconds a scrap took to clear.
    #[schema(minimum = 1, maximum = 3600)]
    seconds: i64,
}

/// Records a clip test.
#[utoipa::path(post, path = "/api/v1/baths/{id}/clip-tests", tag = "baths", request_body = ClipTestWish,
    params(("id" = i64, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = UseAnswer), Problems))]
pub(crate) async fn clip_test(
    app: web::Data<App>,
    member: Member,
    id: web::Path<i64>,
    body: Body<ClipTestWish>,
) -> Result<HttpResponse, Error> {
    let seconds = body.value.seconds;
    if !(1..=3600).contains(&seconds) {
        return Err(Error::field("seconds", format!("{seconds} is not between 1 and 3600.")));
    }
    let (now, by, bath) = (app.clock.now(), member.id, id.into_inner());
    let once = body.once(&app, &member)?;
    let done = app
        .db
        .write_once(once, move |tx| {
            let test = ClipTest { seconds, ..ClipTest::default() };
            Ok(answer(&super::record_clip_test(tx, (now, by), bath, &test)?))
        })
        .await?;
    Ok(HttpResponse::Created().json(done))
}
