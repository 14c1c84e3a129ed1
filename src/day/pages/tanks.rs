use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::sink::{State, state};
use crate::app::App;
use crate::day::at_sink;
use crate::error::Error;
use crate::web::{Member, show};

#[derive(Serialize)]
struct AllPage {
    date: String,
    day: String,
    states: String,
    runs: Vec<AllLine>,
}

#[derive(Serialize)]
struct AllLine {
    id: i64,
    title: String,
    sink: String,
    at: String,
    now: String,
    next: String,
}

/// All tanks of today on one page, in the order of the next movement of the hand.
pub(super) async fn all(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let date = app.zone().date(now);
    let seen = app.db.read(move |conn| at_sink::running(conn, date)).await?;
    let words = app.words(Some(&member));
    let states: Vec<State> = seen.iter().map(|s| state(s, &app.clock)).collect();
    let page = AllPage {
        date: words.date(date),
        day: date.to_string(),
        states: serde_json::to_string(&states).map_err(|e| Error::broken("states", e))?,
        runs: seen
            .iter()
            .map(|s| AllLine {
                id: s.run.id,
                title: format!("Run {}, {}", s.run.number, s.run.tank),
                sink: s.run.sink.clone(),
                at: words.time(s.run.from),
                now: s.live.current().map_or("not begun", |c| c.name).to_owned(),
                next: s.live.next().map_or("end of the run", |c| c.name).to_owned(),
            })
            .collect(),
    };
    show(&app, &req, "All tanks", "day/tanks.html", &page)
}

/// The states of today's runs as data.
pub(super) async fn all_states(
    app: web::Data<App>,
    _member: Member,
) -> Result<HttpResponse, Error> {
    let now = app.clock.now();
    let date = app.zone().date(now);
    let seen = app.db.read(move |conn| at_sink::running(conn, date)).await?;
    let states: Vec<State> = seen.iter().map(|s| state(s, &app.clock)).collect();
    Ok(HttpResponse::Ok().json(states))
}
