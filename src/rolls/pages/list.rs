use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, Line, line, whose};
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::rolls::rules::State;
use crate::rolls::store::{self, Search};
use crate::rolls::{self, ticket};
use crate::sessions::{Person, Role};
use crate::web::{Asked, Fields, Form, Member, Routes, Who, go, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls", Who::Member, list);
}

/// Rolls on one page.
const PAGE: usize = 50;

#[derive(Serialize)]
struct ListPage {
    rolls: Vec<Line>,
    all: bool,
    lead: bool,
    form: Form,
    states: Vec<Choice>,
    asked: bool,
    first: Option<String>,
    later: Option<String>,
    export: String,
    labels: Option<String>,
}

/// What is looked for, as the address says it. Nonsense is left out: a search never fails.
pub(super) fn read(app: &App, person: &Person, f: &Fields) -> Search {
    let zone = app.zone();
    let day = |name: &str| f.raw(name).trim().parse::<chrono::NaiveDate>().ok();
    let words: String = f.raw("search").chars().take(100).collect();
    let number = |name: &str| f.raw(name).parse::<i64>().ok();
    let mine = f.ticked("mine");
    Search {
        of: if mine { Some(person.id) } else { whose(person) },
        words: words.split_whitespace().take(8).map(ToOwned::to_owned).collect(),
        state: State::from_word(f.raw("state")),
        from: day("from").map(|d| zone.day_start(d)),
        to: day("to").map(|d| zone.day(d).to),
        after: number("after").zip(number("after_id")),
        limit: i64::try_from(PAGE + 1).unwrap_or(i64::MAX),
    }
}

/// The address of this search at another door, without the place where a page ended.
pub(super) fn address(door: &str, f: &Fields, place: Option<(Moment, i64)>) -> String {
    let kept = ["search", "state", "from", "to", "mine"];
    let mut pairs: Vec<(&str, String)> = kept
        .iter()
        .filter(|name| !f.raw(name).is_empty())
        .map(|name| (*name, f.raw(name).to_owned()))
        .collect();
    if let Some((at, id)) = place {
        pairs.push(("after", at.0.to_string()));
        pairs.push(("after_id", id.to_string()));
    }
    let query = serde_urlencoded::to_string(pairs).unwrap_or_default();
    if query.is_empty() { door.to_owned() } else { format!("{door}?{query}") }
}

async fn list(
    app: web::Data<App>,
    req: HttpRequest,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let fields = asked.0;
    // A scanned or typed ticket opens its page at once.
    let (typed, person) = (fields.raw("search").to_owned(), member.0.clone());
    if ticket::read(&typed).is_some()
        && let Some(ticket) =
            app.db.read(move |conn| rolls::ticket_seen_by(conn, &person, &typed)).await?
    {
        return Ok(go(&format!("/rolls/{ticket}"), None));
    }
    let search = read(&app, &member, &fields);
    let looked = search.clone();
    let mut rolls = app.db.read(move |conn| store::found(conn, &looked)).await?;
    let more = rolls.len() > PAGE;
    rolls.truncate(PAGE);
    let last = rolls.last().filter(|_| more);
    let later = last.map(|r| address("/rolls", &fields, Some((r.handed_in, r.id))));
    let mut form = Form::new("/rolls");
    form.values = fields.values();
    let waiting: Vec<&str> = rolls
        .iter()
        .filter(|r| matches!(r.state, State::HandedIn | State::Planned))
        .map(|r| r.ticket.as_str())
        .collect();
    let page = ListPage {
        labels: (!waiting.is_empty())
            .then(|| format!("/rolls/labels?tickets={}", waiting.join("."))),
        rolls: rolls.iter().map(|r| line(&app, &member, r)).collect(),
        all: search.of.is_none(),
        lead: member.role == Role::Lead,
        states: State::all().map(|s| Choice::new(s.word(), s.name())).collect(),
        asked: address("/rolls", &fields, None) != "/rolls",
        first: search.after.is_some().then(|| address("/rolls", &fields, None)),
        export: address("/rolls/export.csv", &fields, None),
        later,
        form,
    };
    show(&app, &req, "Rolls", "rolls/list.html", &page)
}
