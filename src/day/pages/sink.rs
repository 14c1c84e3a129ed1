use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::clock::{Clock, Moment};
use crate::day::at_sink::{self, FATES, MISHAPS, Mishap, Seen};
use crate::day::bottle;
use crate::day::correction::Measured;
use crate::day::process::Step;
use crate::day::sheet::{self, Bench, SheetRun};
use crate::error::Error;
use crate::sessions::Person;
use crate::web::{Filled, Flash, Form, Member, Words, go, show};

/// A run as its page and its phones know it.
#[derive(Serialize)]
pub(super) struct State {
    run: i64,
    number: i64,
    tank: String,
    sink: String,
    title: String,
    /// The server's clock, UTC seconds.
    now: i64,
    /// How many times as fast as the world that clock runs; 1 but in a demonstration.
    pace: i64,
    /// When the run is planned to start.
    from: i64,
    steps: Vec<Step>,
    /// Step and when it began.
    begun: Vec<(i64, i64)>,
    /// Step and for how long it was paused.
    paused: Vec<(i64, i64)>,
    paused_since: Option<i64>,
    measured: Option<Measured>,
    loaded: bool,
    over: bool,
}

pub(super) fn state(seen: &Seen, clock: &Clock) -> State {
    let live = &seen.live;
    State {
        run: seen.run.id,
        number: seen.run.number,
        tank: seen.run.tank.clone(),
        sink: seen.run.sink.clone(),
        title: format!("Run {}, {}", seen.run.number, seen.run.tank),
        now: clock.now().0,
        pace: clock.pace(),
        from: seen.run.from.0,
        steps: live.steps.clone(),
        begun: live.begun.iter().map(|(n, at)| (*n, at.0)).collect(),
        paused: live.paused.iter().map(|(n, s)| (*n, *s)).collect(),
        paused_since: live.paused_since.map(|at| at.0),
        measured: live.measured.clone(),
        loaded: live.loaded.is_some() || !live.begun.is_empty(),
        over: live.ended.is_some() || live.aborted.is_some(),
    }
}

#[derive(Serialize)]
struct RunPage {
    run: SheetRun,
    date: String,
    day: String,
    state: String,
    may_work: bool,
    loaded: bool,
    over: bool,
    paused: bool,
    record: String,
    measured: Option<MeasuredLine>,
    steps: Vec<Line>,
    next: Option<Line>,
    tell: Form,
    end: Form,
    again: Form,
    abort: Form,
    bottle: Form,
    mishaps: Vec<Choice>,
    fates: Vec<Choice>,
}

#[derive(Serialize)]
struct MeasuredLine {
    celsius: String,
    time: String,
    lines: Vec<String>,
    refusal: Option<String>,
}

#[derive(Serialize)]
struct Line {
    n: i64,
    name: &'static str,
    at: String,
    lasts: String,
    does: String,
    cues: Vec<CueLine>,
    /// `done`, `now` or `to come`.
    word: &'static str,
}

#[derive(Serialize)]
struct CueLine {
    at: String,
    text: String,
}

#[derive(Serialize)]
struct Choice {
    value: &'static str,
    text: &'static str,
}

/// `18:30:05`, because seconds count here.
fn clock(zone: crate::clock::Zone, at: Moment) -> String {
    zone.wall(at).format("%H:%M:%S").to_string()
}

fn lines(app: &App, seen: &Seen) -> Vec<Line> {
    let zone = app.zone();
    let now = seen.live.begun.last_key_value().map(|(n, _)| *n);
    let word = |n: i64| match now {
        Some(present) if n < present => "done",
        Some(present) if n == present => "now",
        _ => "to come",
    };
    let start = seen.run.from.max(app.clock.now());
    let line = |(step, at): (&Step, Moment)| Line {
        n: step.n,
        name: step.name,
        at: clock(zone, at),
        lasts: sheet::minutes(step.seconds),
        does: step.does.clone(),
        cues: step
            .cues
            .iter()
            .map(|c| CueLine { at: clock(zone, at.plus(c.at)), text: c.text.clone() })
            .collect(),
        word: word(step.n),
    };
    seen.live.steps.iter().zip(seen.live.clock(start)).map(line).collect()
}

/// The page of one run at the sink.
pub(super) async fn run(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let (seen, bench) = app
        .db
        .read(move |conn| {
            let seen = at_sink::see(conn, id)?;
            let bench = Bench::load(conn, std::slice::from_ref(&seen.run))?;
            Ok((seen, bench))
        })
        .await?;
    let words = app.words(Some(&member));
    let shown = sheet::runs(std::slice::from_ref(&seen.run), &bench, &words);
    let Some(shown) = shown.into_iter().next() else { return Err(Error::NotFound) };
    let page = page(&app, &words, &member, (&seen, shown))?;
    show(&app, &req, "At the sink", "day/run.html", &page)
}

fn page(
    app: &App,
    words: &Words,
    person: &Person,
    (seen, run): (&Seen, SheetRun),
) -> Result<RunPage, Error> {
    let state = serde_json::to_string(&state(seen, &app.clock))
        .map_err(|e| Error::broken("a run's state", e))?;
    let id = seen.run.id;
    let form = |what: &str| Form::new(&format!("/runs/{id}/{what}"));
    let steps = lines(app, seen);
    let next = seen.live.next().map(|s| s.n);
    let line = |m: &Measured| MeasuredLine {
        celsius: sheet::degrees(m.mc),
        time: sheet::minutes(m.time_s),
        lines: m.lines.clone(),
        refusal: m.refusal.clone(),
    };
    Ok(RunPage {
        run,
        date: words.date(seen.run.date),
        day: seen.run.date.to_string(),
        state,
        may_work: at_sink::may_work(person, seen.own.as_ref()).is_ok(),
        loaded: seen.live.loaded.is_some() || !seen.live.begun.is_empty(),
        over: seen.live.ended.is_some() || seen.live.aborted.is_some(),
        paused: seen.live.paused_since.is_some(),
        record: seen.live.record(),
        measured: seen.live.measured.as_ref().map(line),
        next: lines(app, seen).into_iter().find(|l| Some(l.n) == next),
        steps,
        tell: form("tell"),
        end: form("end"),
        again: form("fix-again"),
        abort: form("abort"),
        bottle: form("bottle"),
        mishaps: MISHAPS.iter().map(|m| Choice { value: m.0, text: m.1 }).collect(),
        fates: FATES.iter().map(|f| Choice { value: f.0, text: f.1 }).collect(),
    })
}

/// A run as data, for the phones that look at it.
pub(super) async fn run_state(
    app: web::Data<App>,
    _member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let seen = app.db.read(move |conn| at_sink::see(conn, id)).await?;
    Ok(HttpResponse::Ok().json(state(&seen, &app.clock)))
}

/// Whether a script asks, which wants data and not a page.
pub(super) fn wants_data(req: &HttpRequest) -> bool {
    let accept = req.headers().get(header::ACCEPT).and_then(|v| v.to_str().ok());
    accept.is_some_and(|a| a.starts_with("application/json"))
}

/// Ends a run.
pub(super) async fn end(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, id) = (app.clock.now(), id.into_inner());
    let once = filled.once(&app, Some(&member))?;
    let person = member.0.clone();
    let back_to_run = filled.fields.raw("back") == "run";
    let date =
        app.db.write_once(once, move |tx| Ok(at_sink::end_run(tx, now, &person, id)?.date)).await?;
    if wants_data(&req) {
        let seen = app.db.read(move |conn| at_sink::see(conn, id)).await?;
        return Ok(HttpResponse::Ok().json(state(&seen, &app.clock)));
    }
    let back = if back_to_run { format!("/runs/{id}") } else { format!("/days/{date}") };
    Ok(go(
        &back,
        Some(Flash::good("Ended. Its rolls are on the hook, and the fixer's ledger has it.")),
    ))
}

/// Sends milky negatives through the fixer again.
pub(super) async fn fix_again(
    app: web::Data<App>,
    member: Member,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (now, id) = (app.clock.now(), id.into_inner());
    let once = filled.once(&app, Some(&member))?;
    let person = member.0.clone();
    let done = app
        .db
        .write_once(once, move |tx| at_sink::fix_again(tx, now, &person, id).map(|_run| ()))
        .await;
    let word = match done {
        Ok(()) => Flash::note(
            "Fix them again in fresh fixer, for twice its clearing time, then wash as before.",
        ),
        Err(Error::Refused { sentence, .. }) => Flash::bad(sentence),
        Err(e) => return Err(e),
    };
    Ok(go(&format!("/runs/{id}"), Some(word)))
}

/// Gives a run up.
pub(super) async fn abort(
    app: web::Data<App>,
    member: Member,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let place = app.place();
    let f = &mut filled.fields;
    let (what, fate) = (f.raw("what").to_owned(), f.raw("fate").to_owned());
    let note = f.text("note", "a note", 0..=500).unwrap_or_default();
    let what = MISHAPS.iter().find(|m| m.0 == what).map(|m| m.1);
    let fate = FATES.iter().find(|m| m.0 == fate).map(|m| m.2);
    let back = format!("/runs/{id}");
    let (Some(what), Some(fate)) = (what, fate) else {
        let word = Flash::bad("Please choose what happened and what becomes of the film.");
        return Ok(go(&back, Some(word)));
    };
    let once = filled.once(&app, Some(&member))?;
    let (person, mishap) = (member.0.clone(), Mishap { what, fate, note });
    let done = app
        .db
        .write_once(once, move |tx| {
            at_sink::abort(tx, &place, &person, (id, &mishap)).map(|_run| ())
        })
        .await;
    let word = match done {
        Ok(()) => Flash::note("Given up and written down. The owners and the leads are told."),
        Err(Error::Refused { sentence, .. }) => Flash::bad(sentence),
        Err(e) => return Err(e),
    };
    Ok(go(&back, Some(word)))
}

/// Says whether a bottle is the one for the present step.
pub(super) async fn check_bottle(
    app: web::Data<App>,
    req: HttpRequest,
    _member: Member,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    let (now, typed) = (app.clock.now(), filled.fields.raw("bottle").to_owned());
    let (tone, sentence) = app
        .db
        .read(move |conn| {
            let seen = at_sink::see(conn, id)?;
            bottle::judge(conn, now, &seen, &typed)
        })
        .await?;
    if wants_data(&req) {
        let answer = serde_json::json!({ "tone": tone, "sentence": sentence });
        return Ok(HttpResponse::Ok().json(answer));
    }
    let word = match tone {
        "good" => Flash::good(sentence),
        "bad" => Flash::bad(sentence),
        _ => Flash::note(sentence),
    };
    Ok(go(&format!("/runs/{id}"), Some(word)))
}
