use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{NewWish, Offer, State, Wish, store};
use crate::app::App;
use crate::error::Error;
use crate::sessions::Role;
use crate::sinks::{self, Sink};
use crate::web::{Asked, Fields, Filled, Flash, Form, Newcomer, Routes, Who, Words, go, show_form};

pub(super) fn routes(open: &mut Routes) {
    open.get("/waiting", Who::Newcomer, waiting);
    open.post("/waiting", Who::Newcomer, join);
    open.post("/waiting/{id}/withdraw", Who::Newcomer, withdraw);
    open.post("/waiting/offers/{id}/take", Who::Newcomer, take);
}

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

#[derive(Serialize)]
struct Offered {
    sink: String,
    when: String,
    until: String,
    take: Form,
    let_go: Form,
}

#[derive(Serialize)]
struct Line {
    what: String,
    name: String,
    is_offered: bool,
    withdraw: Option<Form>,
}

#[derive(Serialize)]
struct WaitingPage {
    offers: Vec<Offered>,
    own: Vec<Line>,
    everybody: Vec<Line>,
    is_lead: bool,
    sinks: Vec<Choice>,
    form: Form,
}

fn sink_name(sinks: &[Sink], id: i64) -> String {
    sinks.iter().find(|s| s.id == id).map_or_else(|| "A sink".to_owned(), |s| s.name.clone())
}

fn what(wish: &Wish, words: &Words, sinks: &[Sink]) -> String {
    let w = &wish.what;
    let sink = w.sink_id.map_or_else(|| "any sink".to_owned(), |id| sink_name(sinks, id));
    let to = if w.to == chrono::NaiveTime::MIN {
        "the end of the day".to_owned()
    } else {
        w.to.format("%H:%M").to_string()
    };
    let (date, length, from) = (words.date(w.date), w.length_min, w.from.format("%H:%M"));
    format!("{date}: {length} minutes between {from} and {to}, {sink}")
}

fn offered(o: &Offer, words: &Words, sinks: &[Sink]) -> Offered {
    Offered {
        sink: sink_name(sinks, o.sink_id),
        when: words.span(o.span.from, o.span.to),
        until: words.moment(o.expires),
        take: Form::new(&format!("/waiting/offers/{}/take", o.id)),
        let_go: Form::new(&format!("/waiting/{}/withdraw", o.wish_id)),
    }
}

async fn shown(
    app: &App,
    req: &HttpRequest,
    person: &Newcomer,
    form: Form,
) -> Result<HttpResponse, Error> {
    let (id, is_lead) = (person.id, person.role == Role::Lead);
    let (own, offers, all, sinks) = app
        .db
        .read(move |conn| {
            let own = store::open_of(conn, id)?;
            let mut offers = Vec::new();
            for wish in own.iter().filter(|w| w.state == State::Offered) {
                offers.extend(store::offer_of(conn, wish.id)?);
            }
            let all = if is_lead { store::open(conn)? } else { Vec::new() };
            Ok((own, offers, all, sinks::sinks(conn)?))
        })
        .await?;
    let words = app.words(Some(person));
    let line = |w: &Wish| Line {
        what: what(w, &words, &sinks),
        name: w.member_name.clone(),
        is_offered: w.state == State::Offered,
        withdraw: (w.member_id == id && w.state == State::Waiting)
            .then(|| Form::new(&format!("/waiting/{}/withdraw", w.id))),
    };
    let any = Choice { value: String::new(), text: "Any sink".to_owned() };
    let choice = |s: &Sink| Choice { value: s.id.to_string(), text: s.name.clone() };
    let page = WaitingPage {
        offers: offers.into_iter().map(|o| offered(&o, &words, &sinks)).collect(),
        own: own.iter().filter(|w| w.state == State::Waiting).map(line).collect(),
        everybody: all.iter().map(line).collect(),
        is_lead,
        sinks: std::iter::once(any).chain(sinks.iter().map(choice)).collect(),
        form,
    };
    show_form(app, req, ("Waiting list", "waiting/list.html"), &page.form, &page)
}

async fn waiting(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    Asked(asked): Asked,
) -> Result<HttpResponse, Error> {
    let form = Form::new("/waiting")
        .with("date", asked.raw("date"))
        .with("from", "")
        .with("length", 90)
        .with("sink", asked.raw("sink"));
    shown(&app, &req, &person, form).await
}

fn read(f: &mut Fields) -> Result<NewWish, Error> {
    let date = f.date("date", "a day");
    let (from, to) = (f.time("from", "a beginning"), f.time("to", "an end"));
    let length = f.number("length", "a number of minutes", 15..=1440);
    let sink_id =
        if f.raw("sink").is_empty() { None } else { f.number("sink", "a sink", 1..=i64::MAX) };
    f.done()?;
    match (date, from, to, length) {
        (Some(date), Some(from), Some(to), Some(length_min)) => {
            Ok(NewWish { date, from, to, length_min, sink_id })
        }
        _ => Err(f.faults()),
    }
}

async fn join(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let new = read(&mut filled.fields);
    let (at, who) = (app.place(), person.0.clone());
    let done =
        filled.keep(&app, &person, new, move |tx, new| super::join(tx, &at, &who, new)).await;
    match done {
        Ok(_) => {
            let word = "You are on the list. A letter comes as soon as something is free.";
            Ok(go("/waiting", Some(Flash::good(word))))
        }
        Err(e) => shown(&app, &req, &person, filled.again(e)?).await,
    }
}

async fn withdraw(
    app: web::Data<App>,
    person: Newcomer,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (at, who, id) = (app.place(), person.0.clone(), id.into_inner());
    let once = filled.once(&app, Some(&person))?;
    app.db.write_once(once, move |tx| super::withdraw(tx, &at, &who, id)).await?;
    Ok(go("/waiting", Some(Flash::good("It is off the list."))))
}

async fn take(
    app: web::Data<App>,
    person: Newcomer,
    id: web::Path<i64>,
    filled: Filled,
) -> Result<HttpResponse, Error> {
    let (at, who, id) = (app.place(), person.0.clone(), id.into_inner());
    let once = filled.once(&app, Some(&person))?;
    match app.db.write_once(once, move |tx| super::take(tx, &at, &who, id)).await {
        Ok(_) => Ok(go("/", Some(Flash::good("The sink is yours.")))),
        Err(Error::Refused { sentence, .. }) => Ok(go("/waiting", Some(Flash::bad(sentence)))),
        Err(e) => Err(e),
    }
}
