use std::collections::{BTreeMap, BTreeSet};

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use super::day_of;
use crate::app::App;
use crate::bookings;
use crate::clock::Moment;
use crate::day::facts;
use crate::day::rules::{LeftOver, Sums, Wish};
use crate::day::sheet::{self, Bench, SheetRun, ml};
use crate::day::store::{self, Plan, Run};
use crate::day::timeline::{Booked, Timeline, timeline};
use crate::error::Error;
use crate::sinks::{Sink, Tank};
use crate::web::{Filled, Flash, Form, Lead, Words, go, show, spoken};
use crate::{members, rolls, sinks};

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

impl Choice {
    #[expect(
        clippy::needless_pass_by_value,
        reason = "numbers and words are handed in as they are"
    )]
    fn of(value: impl ToString, text: impl Into<String>) -> Choice {
        Choice { value: value.to_string(), text: text.into() }
    }
}

#[derive(Serialize)]
struct DraftPage {
    date: String,
    day: String,
    number: i64,
    said: String,
    made_by: String,
    made: String,
    sums: Vec<Line>,
    proof: &'static str,
    drawing: Option<Timeline>,
    cards: Vec<Card>,
    left_over: Vec<Left>,
    publish: Form,
    again: Form,
    undo: Option<Form>,
    conditions: Form,
    temperatures: Vec<Temperature>,
    people: Vec<Pourer>,
    roll_form: Form,
    rolls: Vec<Choice>,
    acts: Vec<Choice>,
    tanks: Vec<Choice>,
    sinks: Vec<Choice>,
}

#[derive(Serialize)]
struct Line {
    term: &'static str,
    text: String,
}

#[derive(Serialize)]
struct Card {
    run: SheetRun,
    pinned: bool,
    prefix: String,
    pin: Form,
    unpin: Form,
}

#[derive(Serialize)]
struct Left {
    ticket: String,
    reason: String,
    release: Option<Form>,
    roll: i64,
}

#[derive(Serialize)]
struct Temperature {
    name: String,
    label: String,
    help: String,
}

#[derive(Serialize)]
struct Pourer {
    id: i64,
    name: String,
    chosen: bool,
}

/// What of the house the page shows beside the draft.
struct Around {
    runs: Vec<Run>,
    all: Vec<Run>,
    bench: Bench,
    sinks: Vec<Sink>,
    tanks: Vec<Tank>,
    booked: Vec<Booked>,
    leads: Vec<(i64, String)>,
    developers: BTreeMap<i64, (String, BTreeSet<i64>)>,
    waiting: Vec<(i64, String)>,
    figures: crate::day::figures::Figures,
}

fn around(conn: &mut crate::db::Conn, date: NaiveDate, plan: &Plan) -> Result<Around, Error> {
    let runs = store::runs(conn, plan.id)?;
    let mut all = store::published_runs(conn, date)?;
    let bench = Bench::load(conn, &runs)?;
    all.extend(runs.iter().cloned());
    let booked = bookings::on(conn, date)?
        .into_iter()
        .map(|b| Booked { sink_id: b.sink_id, span: b.span, name: b.member_name })
        .collect();
    let leads =
        members::leads(conn)?.into_iter().filter_map(|r| Some((r.member_id?, r.name))).collect();
    let mut developers: BTreeMap<i64, (String, BTreeSet<i64>)> = BTreeMap::new();
    let mut waiting = Vec::new();
    for roll in rolls::waiting(conn)? {
        let chosen = plan.wish.recipes.get(&roll.id).copied().or(roll.recipe_id);
        let recipe = match chosen {
            Some(id) => Some(crate::recipes::today_of(conn, id)?),
            None => crate::recipes::for_film(conn, roll.film_id, roll.ei)?.into_iter().next(),
        };
        if let Some(recipe) = recipe {
            let entry = developers.entry(recipe.developer.id);
            entry
                .or_insert_with(|| (recipe.developer.name.clone(), BTreeSet::new()))
                .1
                .insert(recipe.temperature_mc);
        }
        waiting.push((
            roll.id,
            format!("{}, {}, {}", spoken(&roll.ticket), roll.film, roll.member_name),
        ));
    }
    Ok(Around {
        runs,
        all,
        bench,
        sinks: sinks::sinks(conn)?,
        tanks: sinks::tanks(conn)?,
        booked,
        leads,
        developers,
        waiting,
        figures: facts::figures(conn)?,
    })
}

pub(super) async fn draft(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let found = app
        .db
        .read(move |conn| {
            let Some(plan) = store::draft(conn, date)? else { return Ok(None) };
            let around = around(conn, date, &plan)?;
            Ok(Some((plan, around)))
        })
        .await?;
    let Some((plan, around)) = found else {
        let word = Flash::note("There is no draft for that day. Choose the day and plan it.");
        return Ok(go("/days", Some(word)));
    };
    let words = app.words(Some(&lead));
    let page = fill(&app, &words, date, &plan, &around);
    show(&app, &req, "Plan a day", "day/draft.html", &page)
}

fn fill(app: &App, words: &Words, date: NaiveDate, plan: &Plan, around: &Around) -> DraftPage {
    let at = |what: &str| format!("/days/{date}/{what}");
    let form = |what: &str| Form::new(&at(what)).of_version(plan.number);
    let wish = &plan.wish;
    let runs = sheet::runs(&around.runs, &around.bench, words);
    let cards = runs
        .into_iter()
        .zip(&around.runs)
        .map(|(shown, run)| Card {
            pinned: run.pinned,
            prefix: format!("run-{}-", run.id),
            pin: form(&format!("runs/{}/pin", run.id))
                .with("tank", run.tank_id)
                .with("sink", run.sink_id)
                .with("from", app.zone().wall(run.from).format("%H:%M")),
            unpin: form(&format!("runs/{}/unpin", run.id)),
            run: shown,
        })
        .collect();
    DraftPage {
        date: words.date(date),
        day: date.to_string(),
        number: plan.number,
        said: plan.said.clone(),
        made_by: plan.made_by.clone(),
        made: words.moment(plan.made),
        sums: sums(&plan.sums, words),
        proof: proof(&plan.sums),
        drawing: timeline(app.zone(), &around.sinks, &around.all, &around.booked),
        cards,
        left_over: left(plan, around, &form),
        publish: form("publish"),
        again: form("again"),
        undo: plan.made_from.map(|_| form("undo")),
        conditions: conditions(form("conditions"), wish, around),
        temperatures: temperatures(around),
        people: people(wish, around),
        roll_form: form("rolls"),
        rolls: around.waiting.iter().map(|(id, text)| Choice::of(id, text)).collect(),
        acts: acts(around),
        tanks: around.tanks.iter().map(|t| Choice::of(t.id, &t.name)).collect(),
        sinks: around.sinks.iter().map(|s| Choice::of(s.id, &s.name)).collect(),
    }
}

fn sums(sums: &Sums, words: &Words) -> Vec<Line> {
    let late = if sums.late.is_empty() { "none".to_owned() } else { sums.late.join(", ") };
    vec![
        Line { term: "Runs", text: sums.runs.to_string() },
        Line { term: "Rolls left over", text: sums.left.to_string() },
        Line { term: "Late", text: late },
        Line { term: "Concentrate", text: format!("{} ml", ml(sums.concentrate_ul)) },
        Line {
            term: "The last run ends",
            text: if sums.ends_s > 0 { words.time(Moment(sums.ends_s)) } else { "-".to_owned() },
        },
    ]
}

fn proof(sums: &Sums) -> &'static str {
    if sums.planner.get("optimal").and_then(serde_json::Value::as_bool) == Some(true) {
        "No plan of these rolls leaves fewer over, is late less often, or needs fewer runs or less \
         concentrate: that is proven."
    } else {
        "A better plan has not been ruled out."
    }
}

fn left(plan: &Plan, around: &Around, form: &impl Fn(&str) -> Form) -> Vec<Left> {
    let id = |ticket: &str| {
        let starts = |(_, text): &&(i64, String)| text.starts_with(&format!("{},", spoken(ticket)));
        around.waiting.iter().find(starts).map_or(0, |(id, _)| *id)
    };
    let line = |left: &LeftOver| {
        let roll = id(&left.ticket);
        Left {
            ticket: spoken(&left.ticket),
            reason: left.reason.clone(),
            release: plan.wish.held_back.contains(&roll).then(|| form("rolls")),
            roll,
        }
    };
    plan.left_over.iter().map(line).collect()
}

fn conditions(form: Form, wish: &Wish, around: &Around) -> Form {
    let mut form = form
        .with("under", wish.under.unwrap_or(around.figures.under_percent))
        .with("over", wish.over.unwrap_or(around.figures.over_percent));
    for (id, (_, own)) in &around.developers {
        let usual = own.iter().next().copied().unwrap_or(20_000);
        let mc = wish.temperatures.get(id).copied().unwrap_or(usual);
        form = form.with(&format!("temperature-{id}"), sheet::degrees(mc));
    }
    form
}

fn temperatures(around: &Around) -> Vec<Temperature> {
    let line = |(id, (name, own)): (&i64, &(String, BTreeSet<i64>))| {
        let own: Vec<String> = own.iter().map(|mc| format!("{} °C", sheet::degrees(*mc))).collect();
        Temperature {
            name: format!("temperature-{id}"),
            label: name.clone(),
            help: format!("Its recipes are for {}.", own.join(" and ")),
        }
    };
    around.developers.iter().map(line).collect()
}

fn people(wish: &Wish, around: &Around) -> Vec<Pourer> {
    let one = |(id, name): &(i64, String)| Pourer {
        id: *id,
        name: name.clone(),
        chosen: wish.people.contains(id),
    };
    around.leads.iter().map(one).collect()
}

fn acts(around: &Around) -> Vec<Choice> {
    let to = |run: &Run| {
        Choice::of(format!("to-{}", run.id), format!("Move it into run {}", run.number))
    };
    let mut acts: Vec<Choice> = around.runs.iter().map(to).collect();
    acts.extend([
        Choice::of("apart", "Take it out of its run"),
        Choice::of("alone", "It shares no run"),
        Choice::of("share", "It may share a run"),
        Choice::of("hold", "Hold it back this day"),
    ]);
    acts
}

pub(super) async fn publish(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let date = day_of(&path)?;
    let by = lead.id;
    let place = bookings::Place {
        now: app.clock.now(),
        zone: app.zone(),
        address: app.config.base_url.clone(),
    };
    let once = filled.once(&app, Some(&lead))?;
    let number = Some(filled.version()).filter(|n| *n > 0);
    let done = app
        .db
        .write_once(once, move |tx| Ok(crate::day::publish(tx, &place, by, (date, number))?.number))
        .await;
    match done {
        Ok(_) => Ok(go(
            &format!("/days/{date}"),
            Some(Flash::good("Published. Sinks, tanks and reels are booked.")),
        )),
        Err(Error::Refused { sentence, .. }) => {
            Ok(go(&format!("/days/{date}/plan"), Some(Flash::bad(sentence))))
        }
        Err(e) => Err(e),
    }
}
