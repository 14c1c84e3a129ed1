//! Letters about a day: what is planned, what was taken back, what went wrong, what to mix.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::Serialize;

use super::sheet::{self, ml};
use super::store::Run;
use crate::bookings::Place;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::members;
use crate::outbox::{self, Letter, Recipient};
use crate::rolls::{Roll, State};
use crate::sessions::Taste;
use crate::web::{Words, spoken};

#[derive(Serialize)]
struct About<'a> {
    name: &'a str,
    date: String,
    rolls: Vec<String>,
    what: String,
    fate: String,
    mix: Vec<String>,
    cool: Vec<String>,
    dry: Vec<String>,
    buy: Vec<String>,
    runs: Vec<String>,
    address: String,
}

struct Post<'a> {
    kind: &'static str,
    key: String,
    date: NaiveDate,
    to: &'a Recipient,
    optional: bool,
}

fn about<'a>(place: &Place, date: NaiveDate, to: &'a Recipient) -> About<'a> {
    About {
        name: &to.name,
        date: words(place).date(date),
        rolls: Vec::new(),
        what: String::new(),
        fate: String::new(),
        mix: Vec::new(),
        cool: Vec::new(),
        dry: Vec::new(),
        buy: Vec::new(),
        runs: Vec::new(),
        address: format!("{}/days/{date}", place.address.trim_end_matches('/')),
    }
}

fn words(place: &Place) -> Words {
    Words::in_studio(place.zone, &Taste::default())
}

fn post(tx: &mut Tx<'_>, now: Moment, post: &Post<'_>, about: &About<'_>) -> Result<bool, Error> {
    let (subject, body) = outbox::write(post.kind, about)?;
    let letter = Letter {
        kind: post.kind,
        to: post.to.clone(),
        subject,
        body,
        optional: post.optional,
        link: None,
        dedupe_key: format!("{} {} {}", post.kind, post.date, post.key),
        send_after: now,
    };
    outbox::post(tx, now, &letter)
}

/// The rolls of these runs by owner, each with its ticket and film.
fn by_owner(runs: &[Run], words: &Words, ready_after_s: i64) -> BTreeMap<i64, Vec<String>> {
    let mut owners: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for run in runs {
        let ready = words.moment(run.to.plus(ready_after_s));
        for roll in &run.rolls {
            let line = format!("{}, {}: ready about {ready}", spoken(&roll.ticket), roll.film);
            owners.entry(roll.owner_id).or_default().push(line);
        }
    }
    owners
}

/// Tells everybody whose rolls a newly published plan develops.
pub(super) fn published(
    tx: &mut Tx<'_>,
    place: &Place,
    (date, plan, ready_after_s): (NaiveDate, i64, i64),
    runs: &[Run],
) -> Result<(), Error> {
    for (owner, rolls) in by_owner(runs, &words(place), ready_after_s) {
        let Some(to) = members::reader(tx, owner)? else { continue };
        let about = About { rolls, ..about(place, date, &to) };
        let key = format!("{plan} {owner}");
        let letter = Post { kind: "rolls_planned", key, date, to: &to, optional: true };
        post(tx, place.now, &letter, &about)?;
    }
    Ok(())
}

/// Tells the owner of a roll that joined a run when it is developed, and the leads what changed.
pub(super) fn joined(
    tx: &mut Tx<'_>,
    place: &Place,
    (run, roll): (&Run, &Roll),
    (sentence, ready_after_s): (&str, i64),
) -> Result<(), Error> {
    let ready = words(place).moment(run.to.plus(ready_after_s));
    let key = format!("joined {} {}", run.id, roll.id);
    if let Some(to) = members::reader(tx, roll.member_id)? {
        let line = format!("{}, {}: ready about {ready}", spoken(&roll.ticket), roll.film);
        let about = About { rolls: vec![line], ..about(place, run.date, &to) };
        let (key, date) = (key.clone(), run.date);
        let letter = Post { kind: "rolls_planned", key, date, to: &to, optional: true };
        post(tx, place.now, &letter, &about)?;
    }
    for to in members::leads(tx)? {
        let about = About { what: sentence.to_owned(), ..about(place, run.date, &to) };
        let key = format!("{key} {}", to.member_id.unwrap_or(0));
        let letter = Post { kind: "run_joined", key, date: run.date, to: &to, optional: true };
        post(tx, place.now, &letter, &about)?;
    }
    Ok(())
}

/// Tells the owners of a run that was taken out of a published day.
pub(super) fn taken_back(
    tx: &mut Tx<'_>,
    place: &Place,
    run: &Run,
    why: &str,
) -> Result<(), Error> {
    for (owner, rolls) in by_owner(std::slice::from_ref(run), &words(place), 0) {
        let Some(to) = members::reader(tx, owner)? else { continue };
        let rolls = rolls.into_iter().filter_map(|r| Some(r.split(": ").next()?.to_owned()));
        let about =
            About { rolls: rolls.collect(), what: why.to_owned(), ..about(place, run.date, &to) };
        let key = format!("{} {owner}", run.id);
        let letter =
            Post { kind: "rolls_taken_back", key, date: run.date, to: &to, optional: false };
        post(tx, place.now, &letter, &about)?;
    }
    Ok(())
}

/// Tells the owners of a run that something was in the way of, when it is now.
pub(super) fn moved(
    tx: &mut Tx<'_>,
    place: &Place,
    run: &Run,
    (version, ready_after_s): (i64, i64),
) -> Result<(), Error> {
    for (owner, rolls) in by_owner(std::slice::from_ref(run), &words(place), ready_after_s) {
        let Some(to) = members::reader(tx, owner)? else { continue };
        let about = About { rolls, ..about(place, run.date, &to) };
        let key = format!("{} {version} {owner}", run.id);
        let letter = Post { kind: "rolls_moved", key, date: run.date, to: &to, optional: true };
        post(tx, place.now, &letter, &about)?;
    }
    Ok(())
}

/// Tells owners and leads of a run that was given up.
pub(super) fn aborted(
    tx: &mut Tx<'_>,
    place: &Place,
    run: &Run,
    what: &str,
    fate: State,
) -> Result<(), Error> {
    let mut readers: BTreeMap<String, (Recipient, Vec<String>)> = BTreeMap::new();
    for roll in &run.rolls {
        if let Some(to) = members::reader(tx, roll.owner_id)? {
            let line = format!("{}, {}", spoken(&roll.ticket), roll.film);
            readers.entry(to.address.clone()).or_insert((to, Vec::new())).1.push(line);
        }
    }
    let all = run.rolls.iter().map(|r| format!("{}, {}, {}", spoken(&r.ticket), r.film, r.owner));
    let all: Vec<String> = all.collect();
    for lead in members::leads(tx)? {
        readers.insert(lead.address.clone(), (lead, all.clone()));
    }
    for (to, rolls) in readers.into_values() {
        let about = About {
            rolls,
            what: what.to_owned(),
            fate: fate.name().to_lowercase(),
            ..about(place, run.date, &to)
        };
        let key = format!("{} {}", run.id, to.member_id.unwrap_or(0));
        let letter = Post { kind: "run_given_up", key, date: run.date, to: &to, optional: false };
        post(tx, place.now, &letter, &about)?;
    }
    Ok(())
}

/// What is to be ready before a day begins, a line each.
#[derive(Debug, Default)]
pub(super) struct Ready {
    /// Baths that the day brings to their limit, with what to mix.
    pub(super) next_baths: Vec<String>,
    /// Reels to hang up dry.
    pub(super) dry: Vec<String>,
    /// What the shelf is short of.
    pub(super) buy: Vec<String>,
}

/// The evening before: what to mix, cool, dry and buy. In the morning: the runs of the day.
pub(super) fn coming(
    tx: &mut Tx<'_>,
    place: &Place,
    (kind, date): (&'static str, NaiveDate),
    (runs, ready): (&[Run], &Ready),
) -> Result<(), Error> {
    let words = words(place);
    let mix: Vec<String> = sheet::drawn(runs)
        .into_iter()
        .map(|d| format!("{}: {} for {} ml", d.developer, d.measured(), ml(d.total_ul)))
        .chain(ready.next_baths.iter().cloned())
        .collect();
    let mut cool: Vec<String> = Vec::new();
    for run in runs {
        let line = format!("{} to {} °C", run.developer, sheet::degrees(run.temperature_mc));
        if !cool.contains(&line) {
            cool.push(line);
        }
    }
    let line = |r: &Run| {
        let rolls = r.rolls.len();
        let mixed = match r.developer_bath {
            Some(_) => format!("{} ml from the shared bottle", ml(r.concentrate_ul)),
            None => {
                let measured = sheet::measured(&r.parts, r.concentrate_ul);
                format!("{measured} and {} ml of water", ml(r.water_ul))
            }
        };
        format!(
            "{} run {}, {} at {}, {rolls} {}: {}, {mixed}, {} °C, {} min",
            words.time(r.from),
            r.number,
            sheet::tank_name(r),
            r.sink,
            if rolls == 1 { "roll" } else { "rolls" },
            r.developer,
            sheet::degrees(r.temperature_mc),
            sheet::minutes(r.time_s)
        )
    };
    let lines: Vec<String> = runs.iter().map(line).collect();
    for to in members::leads(tx)? {
        let about = About {
            mix: mix.clone(),
            cool: cool.clone(),
            dry: ready.dry.clone(),
            buy: ready.buy.clone(),
            runs: lines.clone(),
            ..about(place, date, &to)
        };
        let key = to.member_id.unwrap_or(0).to_string();
        let letter = Post { kind, key, date, to: &to, optional: true };
        post(tx, place.now, &letter, &about)?;
    }
    Ok(())
}
