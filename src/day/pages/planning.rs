use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::day::drafting::Basis;
use crate::day::planning::{self, Change, LOST_S};
use crate::day::progress::Phase;
use crate::day::store::{self, PlanningJob};
use crate::db::acting::carried;
use crate::error::Error;
use crate::web::{Filled, Flash, Form, Lead, go, show};

#[derive(Serialize)]
struct PlanningPage {
    date: String,
    job: i64,
    rolls: i64,
    seconds: i64,
    tries: i64,
    runs: i64,
    /// What it is busy with, in words.
    stage: &'static str,
    /// How far it is in that, and at most; 0 where nobody can say.
    done: i64,
    of: i64,
    /// Whether somebody still may stop it.
    goes_on: bool,
    enough: Form,
    give_up: Form,
}

fn is_lost(job: &PlanningJob, now: i64) -> bool {
    now - job.seen_s > LOST_S
}

fn stage(job: &PlanningJob, now: i64) -> &'static str {
    if is_lost(job, now) {
        "not heard of any more: plan the day again"
    } else if job.wanted != "go_on" {
        "coming to its end"
    } else {
        Phase::said(&job.phase)
    }
}

/// How far a large day is; on to the draft when it is there.
pub(super) async fn planning(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let job = app.db.read(move |conn| store::job(conn, id)).await?;
    let draft = format!("/days/{}/plan", job.date);
    match job.state.as_str() {
        "done" => return Ok(go(&draft, Some(Flash::good(job.sentence)))),
        "refused" => return Ok(go(&draft, Some(Flash::bad(job.sentence)))),
        "dropped" => return Ok(go("/days", Some(Flash::note(job.sentence)))),
        _ => {}
    }
    let now = app.clock.now().0;
    let form = |wanted| Form::new(&format!("/days/planning/{id}")).with("wanted", wanted);
    let page = PlanningPage {
        date: app.words(Some(&lead)).date(job.date),
        job: id,
        rolls: job.rolls,
        seconds: (now - job.begun_s).max(0),
        tries: job.tries,
        runs: job.runs,
        stage: stage(&job, now),
        done: job.steps_done.min(job.steps_all),
        of: job.steps_all,
        goes_on: job.wanted == "go_on" && !is_lost(&job, now),
        enough: form("enough"),
        give_up: form("drop"),
    };
    show(&app, &req, "A day is being planned", "day/planning.html", &page)
}

/// How far it is, as data.
pub(super) async fn state(
    app: web::Data<App>,
    _lead: Lead,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let job = app.db.read(move |conn| store::job(conn, id)).await?;
    let now = app.clock.now().0;
    Ok(HttpResponse::Ok().json(serde_json::json!({
        "over": job.state != "working",
        "seconds": (now - job.begun_s).max(0),
        "tries": job.tries,
        "runs": job.runs,
        "stage": stage(&job, now),
        "phase": job.phase,
        "done": job.steps_done.min(job.steps_all),
        "of": job.steps_all,
    })))
}

/// Takes the best so far, or drops it.
pub(super) async fn stop(
    app: web::Data<App>,
    _lead: Lead,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let wanted = match filled.fields.raw("wanted") {
        "enough" => "enough",
        "drop" => "drop",
        _ => return Err(Error::field("wanted", "Please choose: the best so far, or none.")),
    };
    app.db.write(move |tx| store::want_of_job(tx, id, wanted)).await?;
    Ok(go(&format!("/days/planning/{id}"), None))
}

/// Begins to plan a large day on a thread of its own; returns the number of the job.
pub(super) async fn begin(
    app: &web::Data<App>,
    by: i64,
    basis: Basis,
    change: Option<Change>,
) -> Result<i64, Error> {
    let (now, date) = (app.clock.now(), basis.facts.date);
    let rolls = i64::try_from(basis.jobs.len()).unwrap_or(i64::MAX);
    let (id, is_new) =
        app.db.write(move |tx| planning::begin(tx, (now, by), (date, rolls))).await?;
    if is_new {
        let app = app.clone();
        let work = move || planning::work(&app, (id, by), &basis, change.as_ref());
        std::thread::spawn(carried(work));
    }
    Ok(id)
}
