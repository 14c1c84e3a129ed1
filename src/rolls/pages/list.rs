use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Choice, Line, line, whose};
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::rolls::rules::State;
use crate::rolls::store::{self, Search};
use crate::rolls::{self, Roll, ticket};
use crate::sessions::{Person, Role};
use crate::web::{Asked, Fields, Filled, Flash, Form, Member, Routes, Who, go, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/rolls", Who::Member, list);
    open.post("/rolls/moves", Who::Member, moves);
}

/// Rolls on one page.
const PAGE: usize = 50;

#[derive(Serialize)]
struct ListPage {
    rolls: Vec<Listed>,
    all: bool,
    lead: bool,
    form: Form,
    states: Vec<Choice>,
    asked: bool,
    first: Option<String>,
    later: Option<String>,
    export: String,
    labels: Option<String>,
    batch: Option<Batch>,
}

/// A roll of the list; whether it is ticked for its next step from the start.
#[derive(Serialize)]
struct Listed {
    #[serde(flatten)]
    roll: Line,
    ticked: bool,
}

/// Film hangs for two hours in still air before it is sleeved (practice, as the drying time).
const DRY_AFTER_S: i64 = 2 * 3600;

/// One step for many of the listed rolls, ticked in the list.
#[derive(Serialize)]
struct Batch {
    form: Form,
    /// The state they come to.
    word: &'static str,
    label: &'static str,
    help: &'static str,
    /// Whether the pegs stand beside the tickets.
    pegs: bool,
}

/// The step that is taken for many at once from this state, where the person may take it.
fn batch(state: Option<State>, is_lead: bool) -> Option<Batch> {
    let (to, label, help) = match state? {
        State::OnTheHook if is_lead => (
            State::Ready,
            "The ticked ones are ready to pick up",
            "Dry, sleeved and on the pick-up shelf. Each owner gets one letter.",
        ),
        State::Ready => (
            State::PickedUp,
            "The ticked ones are picked up",
            if is_lead { "Handed to their owner." } else { "You have them with you." },
        ),
        _ => return None,
    };
    let pegs = to == State::Ready;
    Some(Batch { form: Form::new("/rolls/moves"), word: to.word(), label, help, pegs })
}

/// Moves the ticked rolls on.
async fn moves(app: web::Data<App>, member: Member, filled: Filled) -> Result<HttpResponse, Error> {
    let tickets: Vec<String> =
        filled.fields.all("ticket").into_iter().take(PAGE).map(ToOwned::to_owned).collect();
    let Some(to) = State::from_word(filled.fields.raw("state")) else {
        return Ok(go("/rolls", Some(Flash::bad("Choose one of the buttons of the list."))));
    };
    let from = if to == State::Ready { State::OnTheHook } else { State::Ready };
    let back = match filled.fields.raw("back") {
        "one" => tickets.first().map_or_else(|| "/rolls".to_owned(), |t| format!("/rolls/{t}")),
        _ => format!("/rolls?state={}", from.word()),
    };
    if tickets.is_empty() {
        return Ok(go(&back, Some(Flash::bad("No roll was ticked, so none was moved."))));
    }
    let (now, once) = (app.clock.now(), filled.once(&app, Some(&member))?);
    let by = member.0.clone();
    let moved = app
        .db
        .write_once(once, move |tx| {
            crate::rolls::move_many(tx, now, &by, (&tickets, to)).map(|_| ())
        })
        .await;
    let flash = match moved {
        Ok(()) => Flash::good(format!("Now: {}.", to.name())),
        Err(Error::Refused { sentence, .. }) => {
            Flash::bad(format!("{sentence} None was moved; look at the list again."))
        }
        Err(e) => return Err(e),
    };
    Ok(go(&back, Some(flash)))
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
    let (now, is_lead) = (app.clock.now(), member.role == Role::Lead);
    let ticked = |r: &Roll| match r.state {
        State::OnTheHook => now.since(r.since) >= DRY_AFTER_S,
        _ => !is_lead,
    };
    let mut form = Form::new("/rolls");
    form.values = fields.values();
    let waiting: Vec<&str> = rolls
        .iter()
        .filter(|r| matches!(r.state, State::HandedIn | State::Planned))
        .map(|r| r.ticket.as_str())
        .collect();
    let page = ListPage {
        batch: batch(search.state, is_lead).filter(|_| !rolls.is_empty()),
        labels: (!waiting.is_empty())
            .then(|| format!("/rolls/labels?tickets={}", waiting.join("."))),
        rolls: rolls
            .iter()
            .map(|r| Listed { ticked: ticked(r), roll: line(&app, &member, r) })
            .collect(),
        all: search.of.is_none(),
        lead: is_lead,
        states: State::all().map(|s| Choice::new(s.word(), s.name())).collect(),
        asked: address("/rolls", &fields, None) != "/rolls",
        first: search.after.is_some().then(|| address("/rolls", &fields, None)),
        export: address("/rolls/export.csv", &fields, None),
        later,
        form,
    };
    show(&app, &req, "Rolls", "rolls/list.html", &page)
}
