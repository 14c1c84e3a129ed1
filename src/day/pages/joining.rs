//! Published runs that a member's rolls could join.

use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use crate::app::App;
use crate::day::joining::{self, Basis};
use crate::day::rules::Planned;
use crate::error::Error;
use crate::recipes;
use crate::rolls::{self, Roll};
use crate::web::{Filled, Flash, Form, Member, go, show};

/// Rolls that are looked at in one go; rolls that are alike count once.
const MOST: usize = 20;

#[derive(Serialize)]
struct JoiningPage {
    waiting: Vec<Waiting>,
}

/// One of the member's rolls, or several that are alike.
#[derive(Serialize)]
struct Waiting {
    ticket: String,
    spoken: String,
    text: String,
    runs: Vec<Open>,
    /// Why runs of its chemistry have no room for it.
    closed: Vec<String>,
}

#[derive(Serialize)]
struct Open {
    form: Form,
    roll: i64,
    run: i64,
    day: String,
    when: String,
    text: String,
    loading: String,
}

/// A roll with each run of its chemistry, and what comes of putting it there.
type Looked = (Roll, Vec<(Basis, Result<Planned, Error>)>, Vec<String>);

async fn looked(app: &web::Data<App>, member: &Member) -> Result<Vec<Looked>, Error> {
    let (place, person) = (app.place(), member.0.clone());
    let read = app.db.read(move |conn| {
        let mut all = Vec::new();
        for roll in rolls::waiting_of(conn, person.id)?.into_iter().take(MOST) {
            let (bases, closed) = joining::bases(conn, &place, &person, &roll)?;
            all.push((roll, bases, closed));
        }
        Ok(all)
    });
    let read = read.await?;
    let work = move || {
        let tried = |basis: Basis| {
            let planned = joining::work_out(&basis);
            (basis, planned)
        };
        let one = |(roll, bases, closed): (Roll, Vec<Basis>, Vec<String>)| {
            (roll, bases.into_iter().map(tried).collect(), closed)
        };
        read.into_iter().map(one).collect()
    };
    Ok(web::block(work).await?)
}

fn open(app: &App, member: &Member, basis: &Basis, planned: &Planned) -> Open {
    let (words, run) = (app.words(Some(member)), &basis.run);
    let others = run.rolls.len();
    Open {
        form: Form::new("/rolls/runs"),
        roll: basis.roll.id,
        run: run.id,
        day: format!("/days/{}", run.date),
        when: words.moment(run.from),
        text: format!(
            "{} at {}: {}, {} min at {} °C, with {others} {}",
            run.tank,
            run.sink,
            run.developer,
            recipes::clock_of(run.time_s),
            recipes::decimal(run.temperature_mc),
            if others == 1 { "other" } else { "others" },
        ),
        loading: words.time(planned.load_from),
    }
}

/// The member's waiting rolls, each with the runs it could join.
pub(super) async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
) -> Result<HttpResponse, Error> {
    let waiting = looked(&app, &member).await?.into_iter().map(|(roll, tried, mut closed)| {
        let mut runs = Vec::new();
        let mut whys: BTreeMap<String, ()> = BTreeMap::new();
        for (basis, outcome) in tried {
            match outcome {
                Ok(planned) => runs.push(open(&app, &member, &basis, &planned)),
                Err(e) => {
                    let words = app.words(Some(&member));
                    whys.insert(format!("{}: {e}", words.moment(basis.run.from)), ());
                }
            }
        }
        closed.extend(whys.into_keys());
        closed.dedup();
        let text = format!("{}, {}, EI {}", roll.film, roll.format, roll.ei);
        Waiting { spoken: rolls::spoken(&roll.ticket), ticket: roll.ticket, text, runs, closed }
    });
    let page = JoiningPage { waiting: waiting.collect() };
    show(&app, &req, "Runs my rolls could join", "day/joining.html", &page)
}

/// Adds a roll to a run.
pub(super) async fn join(
    app: web::Data<App>,
    member: Member,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let roll = filled.fields.number("roll", "one of your rolls", 1..=i64::MAX);
    let run = filled.fields.number("run", "one of the runs", 1..=i64::MAX);
    let (Some(roll), Some(run)) = (roll, run) else { return Err(filled.fields.faults()) };
    let once = filled.once(&app, Some(&member))?;
    let (place, person, words) = (app.place(), member.0.clone(), app.words(Some(&member)));
    let done: Result<(String, String), Error> = app
        .db
        .write_once(once, move |tx| {
            let run = joining::join(tx, &place, &person, (roll, run))?;
            let word = format!("Added. It is developed on {}.", words.moment(run.from));
            Ok((rolls::one(tx, roll)?.ticket, word))
        })
        .await;
    match done {
        Ok((ticket, word)) => Ok(go(&format!("/rolls/{ticket}"), Some(Flash::good(word)))),
        Err(Error::Refused { sentence, .. }) => Ok(go("/rolls/runs", Some(Flash::bad(sentence)))),
        Err(e) => Err(e),
    }
}
