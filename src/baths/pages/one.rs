use std::collections::BTreeMap;

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use super::{Choice, Fact, advice, mix_href, over, timing};
use crate::app::App;
use crate::baths::forecast::{self, Demand, RECENT_DAYS};
use crate::baths::graph::{self, Graph};
use crate::baths::rules::{Bath, Entry, EntryKind, Kind, Place, Way, minutes, rolls_in_words};
use crate::baths::state::{Measures, State};
use crate::baths::{self, ending, reach_store, store, tending, using};
use crate::clock::{Moment, Span, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::hazards::Strength;
use crate::sessions::Role;
use crate::shelf::{self, figure};
use crate::web::{Form, Member, Words, show_form};
use crate::{members, waste};

/// Everything a bath's page needs from the database.
struct Facts {
    bath: Bath,
    state: State,
    ledger: Vec<Entry>,
    measures: Measures,
    names: BTreeMap<i64, String>,
    came_from: Vec<(i64, String, i64, i64)>,
    product: Option<shelf::Product>,
    demand: Demand,
    disposal: String,
    second: bool,
}

fn facts(conn: &mut Conn, (now, zone): (Moment, Zone), id: i64) -> Result<Facts, Error> {
    let bath = store::one(conn, id)?;
    let ledger = store::entries(conn, id)?;
    let measures = baths::measures(conn, &bath, &ledger)?;
    let state = baths::state::state(&bath, &ledger, now, &measures);
    let mut people: Vec<i64> = ledger.iter().filter_map(|e| e.by).collect();
    people.extend(bath.mixed_by);
    Ok(Facts {
        names: members::names(conn, &people)?,
        came_from: shelf::came_from(conn, id)?,
        product: bath.product_id.map(|p| shelf::product(conn, p)).transpose()?,
        demand: demand(conn, (now, zone), &bath)?,
        disposal: waste::disposal_of(conn, ending::waste_of(bath.kind))?,
        second: ending::pair(conn, &bath).is_ok(),
        bath,
        state,
        ledger,
        measures,
    })
}

/// What published days and recent weeks say of the days to come.
pub(super) fn demand(
    conn: &mut Conn,
    (now, zone): (Moment, Zone),
    bath: &Bath,
) -> Result<Demand, Error> {
    let ahead = i64::try_from(forecast::HORIZON_DAYS).unwrap_or(180) * 86_400;
    let soon = Span { from: now.plus(-43_200), to: now.plus(ahead) };
    let planned = reach_store::planned(conn, bath.id, soon)?;
    let since = now.plus(-RECENT_DAYS * 86_400);
    let kind = (bath.kind.word(), bath.material.word());
    let recent = reach_store::used_since(conn, kind, since)?;
    let first = reach_store::first_use(conn, kind)?;
    let written_down = first.map_or(0, |at| now.since(at) / 86_400 + 1);
    Ok(Demand {
        planned: planned.into_iter().map(|(at, milli)| (zone.date(at), milli)).collect(),
        daily_milli: forecast::usual_day(recent, written_down),
    })
}

#[derive(Serialize)]
struct LedgerLine {
    id: i64,
    at: String,
    what: &'static str,
    rolls: String,
    volume: String,
    detail: String,
    who: String,
    correctable: bool,
}

#[derive(Serialize)]
struct Forms {
    test: Form,
    scrap: Form,
    top_up: Form,
    replenish: Form,
    place: Form,
}

#[derive(Serialize)]
struct OnePage {
    id: i64,
    label: String,
    word: &'static str,
    tone: &'static str,
    timing: Option<String>,
    advice: Option<String>,
    remaining: String,
    /// By how much it is over its capacity, where it is.
    over: Option<String>,
    /// Whether no film may go into it any more.
    is_spent: bool,
    mix_href: String,
    capacity: String,
    facts: Vec<Fact>,
    hazards: String,
    graph: Graph,
    forecast: String,
    ledger: Vec<LedgerLine>,
    forms: Forms,
    replenishment: Option<String>,
    places: Vec<Choice>,
    lead: bool,
    in_use: bool,
    takes_film: bool,
    is_fixer: bool,
    is_developer: bool,
    asks_test: bool,
    failed: bool,
    rotates: bool,
}

fn list_of_facts(f: &Facts, words: &Words, zone: Zone) -> Vec<Fact> {
    let (bath, state) = (&f.bath, &f.state);
    let mut all = vec![
        Fact::new("Number", bath.number.to_string()),
        Fact::new("For", format!("{}, {}", bath.kind.name(), bath.material.name())),
        Fact::new("Stands as", bath.place.name()),
        Fact::new("Took", format!("{} rolls' worth", rolls_in_words(state.used_milli))),
        Fact::new(
            "Left of it",
            format!("{} of {} ml", figure(state.left_ul), figure(bath.volume_ul)),
        ),
        Fact::new(
            "Mixed",
            match bath.mixed_by.and_then(|b| f.names.get(&b)) {
                Some(name) => format!("{}, by {name}", words.moment(bath.mixed)),
                None => words.moment(bath.mixed),
            },
        ),
        Fact::new("Keeps until", words.date(zone.date(bath.mixed.plus(bath.keeps_days * 86_400)))),
    ];
    if let Some(product) = &f.product {
        let water = bath.water_parts.map(|w| format!(", 1+{w}")).unwrap_or_default();
        all.push(Fact::new("Mixed from", format!("{}{water}", product.of.name)));
    }
    if !f.came_from.is_empty() {
        let lots: Vec<String> = f
            .came_from
            .iter()
            .map(|(bottle, lot, ..)| format!("number {bottle} of lot {lot}"))
            .collect();
        all.push(Fact::new("Drawn from", lots.join(", ")));
    }
    if bath.least_ul > 0 {
        all.push(Fact::new("Covers the film down to", format!("{} ml", figure(bath.least_ul))));
    }
    if let (Some(last), Some(fresh)) = (state.clearing_s, state.fresh_s) {
        let text = format!("{} min; the freshest like it {} min", minutes(last), minutes(fresh));
        all.push(Fact::new("Clearing time", text));
    }
    if bath.promotions > 0 {
        all.push(Fact::new("Promotions of a second bath", bath.promotions.to_string()));
    }
    all.push(Fact::new("When it is retired", f.disposal.clone()));
    all
}

fn ledger_line(f: &Facts, e: &Entry, words: &Words) -> LedgerLine {
    let mut detail: Vec<String> = Vec::new();
    if let Some(s) = e.seconds {
        detail.push(format!("clear after {} min", minutes(s)));
    }
    if !e.film.is_empty() {
        detail.push(e.film.clone());
    }
    if let Some(mc) = e.temperature_mc {
        detail.push(format!("at {}\u{202f}°C", figure(mc)));
    }
    if e.pre_wet {
        detail.push("wetted first".to_owned());
    }
    match e.passed {
        Some(true) => detail.push("the scrap turned black".to_owned()),
        Some(false) => detail.push("the scrap stayed pale".to_owned()),
        None => {}
    }
    if let Some(of) = e.corrects {
        detail.push(format!("corrects entry {of}"));
    }
    if !e.note.is_empty() {
        detail.push(e.note.clone());
    }
    let taken_back = f.ledger.iter().any(|c| c.corrects == Some(e.id));
    let can = matches!(
        e.kind,
        EntryKind::ClipTest | EntryKind::ScrapTest | EntryKind::TopUp | EntryKind::Drawn
    );
    LedgerLine {
        id: e.id,
        at: words.moment(e.at),
        what: e.kind.name(),
        rolls: if e.milli == 0 { "0".to_owned() } else { rolls_in_words(e.milli) },
        volume: figure(e.volume_ul),
        detail: detail.join(", "),
        who: e.by.and_then(|b| f.names.get(&b)).cloned().unwrap_or_default(),
        correctable: e.kind == EntryKind::Use || (can && !taken_back),
    }
}

fn forecast_sentence(f: &Facts, day: Option<NaiveDate>, words: &Words) -> String {
    let planned: i64 = f.demand.planned.iter().map(|p| p.1).sum();
    let basis = format!(
        "Published days put {} rolls' worth through it; in the last four weeks such baths took \
         about {} a day.",
        rolls_in_words(planned),
        rolls_in_words(f.demand.daily_milli)
    );
    match (f.state.is_usable(), day) {
        (false, _) => "It takes no more film.".to_owned(),
        (true, Some(day)) => format!("{basis} It reaches its limit about {}.", words.date(day)),
        (true, None) => format!("{basis} At that it keeps beyond half a year, or until its date."),
    }
}

fn draw_graph(
    f: &Facts,
    (now, zone): (Moment, Zone),
    day: Option<NaiveDate>,
    sentence: &str,
) -> Graph {
    let short = |m: Moment| zone.date(m).format("%-d %b").to_string();
    let title = format!(
        "{} took {} of {} rolls' worth since {}. {sentence}",
        f.bath.label,
        rolls_in_words(f.state.used_milli),
        rolls_in_words(f.bath.capacity_milli),
        short(f.bath.mixed)
    );
    let at = day.filter(|_| f.state.is_usable()).map(|d| zone.day_start(d).plus(43_200));
    let words = graph::Words { day: &short, title };
    graph::graph(&f.bath, &f.ledger, (now, at, &f.measures), &words)
}

/// What to do to replenish a developer for the film it took, in its order.
fn replenishment(bath: &Bath, state: &State) -> Option<String> {
    if bath.way != Way::Replenished || state.used_milli <= 0 {
        return None;
    }
    let r = tending::replenishment(bath, state).ok()?;
    Some(format!(
        "Take out {:#}, add {:#} of replenisher, put back {:#} of what was taken out, and collect \
         {:#}.",
        r.take_out, r.replenisher, r.put_back, r.discard
    ))
}

pub(super) async fn page(
    app: &web::Data<App>,
    req: &HttpRequest,
    member: &Member,
    (id, shown): (i64, Option<Form>),
) -> Result<HttpResponse, Error> {
    let (now, zone) = (app.clock.now(), app.zone());
    let f = app.db.read(move |conn| facts(conn, (now, zone), id)).await?;
    let words = app.words(Some(member));
    let today = zone.date(now);
    let day = forecast::reaches_limit(f.state.remaining_milli, today, &f.demand);
    let sentence = forecast_sentence(&f, day, &words);
    let form = |what: &str| {
        let action = format!("/baths/{id}/{what}");
        match &shown {
            Some(form) if form.action == action => form.clone(),
            _ => Form::new(&action),
        }
    };
    let page = OnePage {
        id,
        label: f.bath.label.clone(),
        word: f.state.word(),
        tone: f.state.tone(),
        timing: timing(&f.bath, &f.state).filter(|_| f.bath.retired.is_none()),
        advice: advice(&f.bath, &f.state),
        remaining: rolls_in_words(f.state.remaining_milli),
        over: over(&f.state),
        is_spent: !f.state.is_usable(),
        mix_href: mix_href(&f.bath),
        capacity: rolls_in_words(f.bath.capacity_milli),
        facts: list_of_facts(&f, &words, zone),
        hazards: f.product.as_ref().map(|p| p.of.sheet.told(Strength::Working)).unwrap_or_default(),
        graph: draw_graph(&f, (now, zone), day, &sentence),
        forecast: sentence,
        ledger: f.ledger.iter().rev().map(|e| ledger_line(&f, e, &words)).collect(),
        forms: Forms {
            test: form("clip-tests"),
            scrap: form("scrap-tests"),
            top_up: form("top-ups"),
            replenish: form("replenishments"),
            place: match form("place") {
                p if p.values.is_empty() => p.with("place", f.bath.place.word()),
                p => p,
            },
        },
        replenishment: replenishment(&f.bath, &f.state),
        places: Place::ALL.iter().map(|p| Choice::new(&p.1, p.2)).collect(),
        lead: member.role == Role::Lead,
        in_use: f.bath.retired.is_none(),
        takes_film: using::takes_film(&f.bath),
        is_fixer: f.bath.is_fixer(),
        is_developer: f.bath.kind == Kind::Developer,
        asks_test: f.state.asks_scrap_test,
        failed: f.state.condition == baths::Condition::FailedTest,
        rotates: f.second,
    };
    let status = shown.unwrap_or_else(|| Form::new(""));
    show_form(app, req, (&page.label, "baths/one.html"), &status, &page)
}

pub(super) async fn one(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    page(&app, &req, &member, (id.into_inner(), None)).await
}
