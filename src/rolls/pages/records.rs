//! “What did we do last time with this film at 800?”

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::Choice;
use crate::app::App;
use crate::error::Error;
use crate::recipes;
use crate::rolls::rules::Look;
use crate::rolls::store::{self, BathThen, Looked, Record};
use crate::sessions::{Person, Role};
use crate::web::{Asked, Form, Member, Routes, Who, show, spoken};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls/results", Who::Member, results);
}

/// Records on one page.
const PAGE: usize = 30;

/// A record in words. Whose film it was stays between its owner and the leads.
#[derive(Serialize)]
pub(super) struct Recorded {
    ticket: Option<String>,
    spoken: String,
    film: String,
    ei: i64,
    at: String,
    by: Option<String>,
    developer: String,
    recipe_id: Option<i64>,
    agitation: String,
    temperature: String,
    time: String,
    tank: String,
    volume: String,
    baths: Vec<BathLine>,
    note: String,
    results: Vec<Told>,
}

#[derive(Serialize)]
struct BathLine {
    what: String,
    text: String,
}

fn bath_line(bath: &BathThen) -> BathLine {
    let what = if bath.what.is_empty() { "Bath" } else { &bath.what };
    BathLine { what: what.to_owned(), text: bath.in_words() }
}

#[derive(Serialize)]
struct Told {
    at: String,
    look: &'static str,
    note: String,
}

pub(super) fn recorded(app: &App, person: &Person, record: &Record) -> Recorded {
    let words = app.words(Some(person));
    let told = &record.told;
    let own = person.role == Role::Lead || record.member_id == person.id;
    let degrees = |mc: i64| format!("{}\u{202f}°C", recipes::decimal(mc));
    let minutes = |s: i64| format!("{}\u{202f}min", recipes::clock_of(s));
    let ml = |ul: i64| format!("{}\u{202f}ml", recipes::decimal(ul));
    Recorded {
        spoken: spoken(&record.ticket),
        ticket: own.then(|| record.ticket.clone()),
        film: record.film.clone(),
        ei: record.ei,
        at: words.moment(record.at),
        by: record.by.clone().filter(|_| own),
        developer: told.developer.clone(),
        recipe_id: told.recipe_id,
        agitation: told.agitation.clone(),
        temperature: match told.measured_mc {
            Some(mc) => format!("{} measured", degrees(mc)),
            None => format!("{} planned, not measured", degrees(told.planned_mc)),
        },
        time: match told.actual_s {
            Some(s) => minutes(s),
            None => format!("{} planned", minutes(told.planned_s)),
        },
        tank: match told.place {
            Some(place) => format!("{}, place {place} from the bottom", told.tank),
            None => told.tank.clone(),
        },
        volume: format!("{} and {} of water", ml(told.concentrate_ul), ml(told.water_ul)),
        baths: told.baths.iter().map(bath_line).collect(),
        note: told.note.clone(),
        results: record
            .results
            .iter()
            .map(|n| Told { at: words.moment(n.at), look: n.look.name(), note: n.note.clone() })
            .collect(),
    }
}

#[derive(Serialize)]
struct ResultsPage {
    form: Form,
    films: Vec<Choice>,
    looks: Vec<Choice>,
    records: Vec<Recorded>,
    later: Option<String>,
    first: Option<String>,
}

async fn results(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let f = asked.0;
    let number = |name: &str| f.raw(name).trim().parse::<i64>().ok();
    let looked = Looked {
        film: number("film"),
        ei: number("ei"),
        word: f.raw("search").trim().chars().take(60).collect(),
        look: Look::from_word(f.raw("look")),
        after: number("after").zip(number("after_id")),
        limit: i64::try_from(PAGE + 1).unwrap_or(i64::MAX),
    };
    let (asked, first) = (looked.clone(), looked.after.is_some());
    let (mut records, films) =
        app.db.read(move |conn| Ok((store::records(conn, &asked)?, recipes::films(conn)?))).await?;
    let more = records.len() > PAGE;
    records.truncate(PAGE);
    let address = |place: Option<(i64, i64)>| {
        let kept = ["film", "ei", "search", "look"];
        let mut pairs: Vec<(&str, String)> = kept
            .iter()
            .filter(|name| !f.raw(name).is_empty())
            .map(|name| (*name, f.raw(name).to_owned()))
            .collect();
        if let Some((at, id)) = place {
            pairs.extend([("after", at.to_string()), ("after_id", id.to_string())]);
        }
        format!("/rolls/results?{}", serde_urlencoded::to_string(pairs).unwrap_or_default())
    };
    let mut form = Form::new("/rolls/results");
    form.values = f.values();
    let page = ResultsPage {
        later: records.last().filter(|_| more).map(|r| address(Some((r.at.0, r.id)))),
        first: first.then(|| address(None)),
        films: films.into_iter().map(|f| Choice::new(f.id, f.name)).collect(),
        looks: Look::ALL.iter().map(|l| Choice::new(l.word(), l.name())).collect(),
        records: records.iter().map(|r| recorded(&app, &member, r)).collect(),
        form,
    };
    show(&app, &req, "Results", "rolls/results.html", &page)
}
