use actix_web::{HttpResponse, web};
use chrono::NaiveDate;

use super::day_of;
use super::list::{Made, make};
use crate::app::App;
use crate::clock::Moment;
use crate::day::drafting::{self, Edit};
use crate::day::planning::Change;
use crate::day::rules::Wish;
use crate::day::store;
use crate::error::Error;
use crate::web::{Filled, Flash, Lead, go};

/// Makes one change to the draft the form was made from, and says what it cost; a refusal goes back
/// to the same page as a sentence.
async fn edit(
    app: &web::Data<App>,
    lead: &Lead,
    filled: &Filled,
    date: NaiveDate,
    edit: Result<Edit, Error>,
) -> Result<HttpResponse, Error> {
    let back = format!("/days/{date}/plan");
    let done = match edit {
        Ok(edit) => changed(app, lead, filled, date, edit).await,
        Err(e) => Err(e),
    };
    match done {
        Ok(Made::Job(id)) => Ok(go(&format!("/days/planning/{id}"), None)),
        Ok(Made::Draft(date)) => {
            let draft = app.db.read(move |conn| store::draft(conn, date)).await?;
            let said = draft.map(|d| d.said).unwrap_or_default();
            Ok(go(&back, Some(Flash::good(format!("{said}.")))))
        }
        Err(Error::Refused { sentence, .. }) => Ok(go(&back, Some(Flash::bad(sentence)))),
        Err(Error::Invalid(faults)) => {
            let all: Vec<String> = faults.into_values().collect();
            Ok(go(&back, Some(Flash::bad(all.join(" ")))))
        }
        Err(e) => Err(e),
    }
}

async fn changed(
    app: &web::Data<App>,
    lead: &Lead,
    filled: &Filled,
    date: NaiveDate,
    edit: Edit,
) -> Result<Made, Error> {
    let (at, by) = ((app.clock.now(), app.zone(), date), lead.id);
    let number = Some(filled.version()).filter(|n| *n > 0);
    let (change, basis) = app
        .db
        .read(move |conn| {
            let plan = drafting::still(conn, date, number)?;
            let runs = store::runs(conn, plan.id)?;
            let (wish, said) = drafting::apply(&plan, &runs, &edit)?;
            let basis = drafting::basis(conn, at, by, wish)?;
            Ok((Change { of: plan, said }, basis))
        })
        .await?;
    make(app, lead, filled, (basis, Some(change))).await
}

pub(super) async fn again(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    edit(&app, &lead, &filled, day_of(&path)?, Ok(Edit::Again)).await
}

pub(super) async fn undo(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let number = Some(filled.version()).filter(|n| *n > 0);
    let once = filled.once(&app, Some(&lead))?;
    let done = app
        .db
        .write_once(once, move |tx| {
            drafting::still(tx, date, number)?;
            store::step_back(tx, date)
        })
        .await;
    let word = match done {
        Ok(Some(number)) => Flash::good(format!("Undone. This is draft {number} again.")),
        Ok(None) => Flash::note("There is nothing before this draft to go back to."),
        Err(Error::Refused { sentence, .. }) => Flash::bad(sentence),
        Err(e) => return Err(e),
    };
    Ok(go(&format!("/days/{date}/plan"), Some(word)))
}

/// Tolerance, the day's temperature of each developer, and who pours.
pub(super) async fn conditions(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let mut wish = app
        .db
        .read(move |conn| Ok(store::draft(conn, date)?.map(|p| p.wish).unwrap_or_default()))
        .await?;
    let f = &mut filled.fields;
    let under = f.number("under", "a tolerance in percent", 0..=60);
    let over = f.number("over", "a tolerance in percent", 0..=60);
    read_temperatures(f, &mut wish);
    wish.people = f.all("people").iter().filter_map(|id| id.parse().ok()).collect();
    wish.under = under;
    wish.over = over;
    let wanted = filled.fields.done().map(|()| Edit::Wish(Box::new(wish)));
    edit(&app, &lead, &filled, date, wanted).await
}

fn read_temperatures(f: &mut crate::web::Fields, wish: &mut Wish) {
    let names: Vec<String> =
        f.values().into_keys().filter(|n| n.starts_with("temperature-")).collect();
    for name in names {
        let Some(id) = name.trim_start_matches("temperature-").parse::<i64>().ok() else {
            continue;
        };
        if let Some(mc) = temperature(f, &name) {
            wish.temperatures.insert(id, mc);
        }
    }
}

/// A working temperature in thousandths of a degree; a fault beside its field where it is none.
pub(super) fn temperature(f: &mut crate::web::Fields, name: &str) -> Option<i64> {
    let typed = f.raw(name).trim().replace(',', ".");
    let found = typed.parse::<f64>().ok().filter(|c| (10.0..=40.0).contains(c));
    let found = found.and_then(|c| crate::units::Celsius::new(c).ok());
    if found.is_none() {
        let typed: String = typed.chars().take(20).collect();
        let sentence =
            format!("“{typed}” is not a temperature; write one from 10 to 40 °C, like 21.5.");
        f.fault(name, sentence);
    }
    found.map(|c| i64::from(c.millidegrees()))
}

/// Moves, holds back or sets apart one roll.
pub(super) async fn roll(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let roll = filled.fields.number("roll", "a roll of the list", 1..=i64::MAX);
    let act = filled.fields.raw("act").to_owned();
    let wanted = match (roll, act.as_str()) {
        (None, _) => Err(filled.fields.faults()),
        (Some(roll), "hold") => Ok(Edit::Hold { roll, held: true }),
        (Some(roll), "release") => Ok(Edit::Hold { roll, held: false }),
        (Some(roll), "alone") => Ok(Edit::Alone { roll, alone: true }),
        (Some(roll), "share") => Ok(Edit::Alone { roll, alone: false }),
        (Some(roll), "apart") => Ok(Edit::Move { roll, to: None }),
        (Some(roll), act) => match act.strip_prefix("to-").and_then(|id| id.parse().ok()) {
            Some(run) => Ok(Edit::Move { roll, to: Some(run) }),
            None => Err(Error::field("act", "Please choose what to do with the roll.")),
        },
    };
    edit(&app, &lead, &filled, date, wanted).await
}

/// Puts a run at a tank, a sink and a time, and keeps it there.
pub(super) async fn pin(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<(String, i64)>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let (date, run) = path.into_inner();
    let date = day_of(&date)?;
    let f = &mut filled.fields;
    let tank = f.number("tank", "a tank of the list", 1..=i64::MAX);
    let sink = f.number("sink", "a sink of the list", 1..=i64::MAX);
    let start = f.time("from", "a start");
    let wanted = match (tank, sink, start) {
        (Some(tank), Some(sink), Some(start)) => {
            let from: Result<Moment, _> = app.zone().instant(date.and_time(start));
            from.map(|from| Edit::Pin { run, tank, sink, from }).map_err(|_fault| {
                Error::field("from", "The clocks change at that time; choose another start.")
            })
        }
        _ => Err(filled.fields.faults()),
    };
    edit(&app, &lead, &filled, date, wanted).await
}

pub(super) async fn unpin(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<(String, i64)>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (date, run) = path.into_inner();
    edit(&app, &lead, &filled, day_of(&date)?, Ok(Edit::Unpin { run })).await
}
