use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use super::day_of;
use crate::app::App;
use crate::clock::Zone;
use crate::day::qr::{Code, code};
use crate::day::sheet::{self, AfterRun, BathLine, Bench, CautionLine, Pour, SheetRun, Sum};
use crate::day::{shifting, store};
use crate::db::Conn;
use crate::error::Error;
use crate::sessions::Role;
use crate::sinks;
use crate::web::{Asked, Filled, Flash, Form, Lead, Newcomer, counted, go, show};

#[derive(Serialize)]
struct SheetPage {
    date: String,
    day: String,
    runs: Vec<SheetRun>,
    sums: Vec<Sum>,
    ends: Vec<Form>,
    /// Of each run that is not yet due to be over: until when it is planned.
    early: Vec<Option<String>>,
    backs: Vec<Form>,
    slide: Form,
    short: Vec<String>,
    baths: Vec<BathLine>,
    after_runs: Vec<AfterRun>,
    cautions: Vec<CautionLine>,
    pours: Vec<Pour>,
    version: usize,
    address: String,
    us: bool,
    letter: bool,
    code: Option<Code>,
    draft: Option<i64>,
    /// That the room is closed all day, where it is.
    closed: Option<String>,
    lead: bool,
    works: bool,
    versions: Vec<Version>,
}

#[derive(Serialize)]
struct Version {
    number: i64,
    at: String,
    by: String,
    sentence: String,
}

/// That the room is closed all day, and why, where it is.
fn closed(conn: &mut Conn, zone: Zone, date: NaiveDate) -> Result<Option<String>, Error> {
    let open = sinks::openings(conn, zone, (date, date))?;
    if open.get(&date).is_some_and(|spans| !spans.is_empty()) {
        return Ok(None);
    }
    let special = sinks::special_days(conn, (date, date))?.into_iter().next();
    Ok(Some(match special {
        Some(day) => format!("Closed: {}", day.reason),
        None => "Closed".to_owned(),
    }))
}

pub(super) async fn sheet(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    path: web::Path<String>,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let lead = person.role == Role::Lead;
    let now = app.clock.now();
    let zone = app.zone();
    let (runs, bench, left, (short, rules), draft, changes, closed) = app
        .db
        .read(move |conn| {
            let runs = store::published_runs(conn, date)?;
            let bench = Bench::load(conn, &runs)?;
            let left = sheet::baths_now(conn, now, &bench)?;
            let draft = store::draft(conn, date)?.filter(|_| lead).map(|p| p.number);
            let afterwards = (sheet::shortfalls(conn, now)?, sheet::disposal(conn)?);
            let closed = closed(conn, zone, date)?;
            Ok((runs, bench, left, afterwards, draft, store::changes(conn, date)?, closed))
        })
        .await?;
    let mut words = app.words(Some(&person));
    words.us_units = words.us_units || asked.0.ticked("us");
    let baths = sheet::forecast(&runs, &left);
    let page = SheetPage {
        date: words.date(date),
        day: date.to_string(),
        backs: runs
            .iter()
            .map(|r| Form::new(&format!("/days/{date}/runs/{}/take-back", r.id)))
            .collect(),
        slide: Form::new(&format!("/days/{date}/slide")).with("minutes", 12),
        ends: runs.iter().map(|r| Form::new(&format!("/runs/{}/end", r.id))).collect(),
        early: runs.iter().map(|r| (now < r.to).then(|| words.time(r.to))).collect(),
        sums: sheet::sums(&runs, &words),
        short,
        after_runs: sheet::by_run(&baths),
        baths,
        cautions: sheet::cautions(&runs, &bench),
        pours: sheet::pours(&runs, &words, &|kind| rules.get(kind).cloned()),
        version: changes.len(),
        address: format!("{}/days/{date}", app.config.base_url.trim_end_matches('/')),
        us: words.us_units,
        letter: asked.0.raw("paper") == "letter",
        code: code(&format!("{}/days/{date}", app.config.base_url.trim_end_matches('/'))),
        runs: sheet::runs(&runs, &bench, &words),
        draft,
        closed,
        lead,
        works: person.role >= Role::Member,
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

/// Re-times what is left of a day.
pub(super) async fn slide(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let back = format!("/days/{date}");
    let Some(minutes) = filled.fields.number("minutes", "the minutes", 1..=600) else {
        return Ok(go(&back, Some(Flash::bad("Write how many minutes late, 1 to 600."))));
    };
    let place = app.place();
    let (once, person) = (filled.once(&app, Some(&lead))?, lead.0.clone());
    let done = app
        .db
        .write_once(once, move |tx| shifting::slide(tx, &place, &person, (date, minutes)))
        .await;
    let word = match done {
        Ok(slid) if slid.in_the_way.is_empty() => {
            Flash::good(format!("{} moved by {minutes} min.", counted(slid.moved, "run", "runs")))
        }
        Ok(slid) => Flash::note(format!(
            "{} moved by {minutes} min. {}.",
            counted(slid.moved, "run", "runs"),
            slid.in_the_way.join(". ")
        )),
        Err(Error::Refused { sentence, .. }) => Flash::bad(sentence),
        Err(e) => return Err(e),
    };
    Ok(go(&back, Some(word)))
}

/// Takes a run out of its published day.
pub(super) async fn take_back(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<(String, i64)>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (date, run) = path.into_inner();
    let back = format!("/days/{}", day_of(&date)?);
    let Some(why) = filled.fields.text("why", "a reason", 1..=200) else {
        return Ok(go(&back, Some(Flash::bad("Write why, so that its owners know."))));
    };
    let place = app.place();
    let (once, person) = (filled.once(&app, Some(&lead))?, lead.0.clone());
    let done = app
        .db
        .write_once(once, move |tx| {
            shifting::take_back(tx, &place, &person, (run, &why)).map(|r| r.number)
        })
        .await;
    let word = match done {
        Ok(number) => Flash::good(format!("Run {number} is taken back; its owners are told.")),
        Err(Error::Refused { sentence, .. }) => Flash::bad(sentence),
        Err(e) => return Err(e),
    };
    Ok(go(&back, Some(word)))
}
