//! Opening hours, special days and outages: whom a change hits is shown before it is done.

use actix_web::{HttpRequest, HttpResponse, web};
use chrono::{Days, NaiveDate, NaiveTime};
use serde::Serialize;

use super::InTheWay;
use super::form::Choice;
use crate::app::App;
use crate::bookings::closing::{self, Closing, Hits};
use crate::bookings::{self, Place};
use crate::clock::{Moment, Span};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::Person;
use crate::sinks::{self, FURTHER_NOTICE, Hours, Kind, Outage, SpecialDay, hours_text, read_hours};
use crate::web::{Fields, Filled, Flash, Form, Lead, Words, go, show_form};

const DAYS: [&str; 7] =
    ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

#[derive(Serialize)]
struct ClosingPage {
    form: Form,
    day_form: Form,
    days: Vec<Standing>,
    things: Vec<Choice>,
    hits: Vec<String>,
    runs: Vec<InTheWay>,
    seen: String,
}

/// Something that holds and can be ended.
#[derive(Serialize)]
struct Standing {
    text: String,
    end: Form,
}

/// A change a lead wants to make.
#[derive(Clone)]
enum Change {
    Hours(Vec<Hours>),
    Day(SpecialDay),
    Outage(Outage),
}

impl Change {
    fn hits(&self, conn: &mut Conn, at: &Place) -> Result<Hits, Error> {
        match self {
            Change::Hours(week) => closing::hit_by_hours(conn, (at.now, at.zone), week),
            Change::Day(day) => closing::hit_by_day(conn, (at.now, at.zone), day),
            Change::Outage(outage) => closing::hit_by_outage(conn, outage),
        }
    }

    fn make(&self, tx: &mut Tx<'_>, at: &Place, by: &Closing<'_>) -> Result<usize, Error> {
        match self {
            Change::Hours(week) => bookings::set_hours(tx, at, by, week),
            Change::Day(day) => bookings::add_special_day(tx, at, by, day),
            Change::Outage(outage) => bookings::add_outage(tx, at, by, outage),
        }
    }

    fn reason(&self) -> String {
        match self {
            Change::Hours(_) => "the studio's opening hours change.".to_owned(),
            Change::Day(day) => format!("{}.", day.reason.trim_end_matches('.')),
            Change::Outage(o) => format!("{}.", o.reason.trim_end_matches('.')),
        }
    }
}

fn read_week(f: &mut Fields) -> Result<Change, Error> {
    let mut week = Vec::new();
    for (day, number) in DAYS.iter().zip(1..) {
        match read_hours(number, f.raw(day)) {
            Ok(hours) => week.extend(hours),
            Err(sentence) => {
                let (first, rest) = day.split_at(1);
                f.fault(day, format!("{}{rest}: {sentence}", first.to_uppercase()));
            }
        }
    }
    f.done()?;
    Ok(Change::Hours(week))
}

fn read_day(f: &mut Fields) -> Result<Change, Error> {
    let from = f.date("from_date", "a day");
    let to = if f.raw("to_date").is_empty() { from } else { f.date("to_date", "a day") };
    let reason = f.text("reason", "a reason", 1..=200);
    let hours = match read_hours(1, f.raw("hours")) {
        Ok(hours) => Some(hours_text(&hours, 1)),
        Err(sentence) => {
            f.fault("hours", sentence);
            None
        }
    };
    if from.zip(to).is_some_and(|(a, b)| b < a || b.signed_duration_since(a).num_days() > 366) {
        f.fault("to_date", "The last day must not be before the first, nor a year after it.");
    }
    f.done()?;
    match (from, to, hours, reason) {
        (Some(from), Some(to), Some(hours), Some(reason)) => {
            Ok(Change::Day(SpecialDay { id: 0, from, to, hours, reason }))
        }
        _ => Err(f.faults()),
    }
}

/// The thing as the form names it: `tank 3`.
fn read_thing(f: &mut Fields) -> Option<(Kind, i64)> {
    let thing = f
        .raw("thing")
        .split_once(' ')
        .and_then(|(kind, id)| Some((Kind::from_word(kind)?, id.parse::<i64>().ok()?)));
    if thing.is_none() {
        f.fault("thing", "Please choose what is out of service.");
    }
    thing
}

fn read_outage(
    f: &mut Fields,
    at: &Place,
    owned: impl Fn(Kind, i64) -> i64,
) -> Result<Change, Error> {
    let thing = read_thing(f);
    let whole = thing.map_or(1, |(kind, id)| owned(kind, id)).max(1);
    let count = if f.raw("count").trim().is_empty() {
        Some(whole)
    } else {
        f.number("count", "how many of it", 1..=whole)
    };
    let from = if f.raw("from_date").is_empty() {
        Some(at.now)
    } else {
        read_moment(f, at, ("from_date", "from_time"), NaiveTime::MIN)
    };
    let to = if f.raw("to_date").is_empty() {
        Some(FURTHER_NOTICE)
    } else {
        read_moment(f, at, ("to_date", "to_time"), NaiveTime::MIN)
    };
    let reason = f.text("reason", "a reason", 1..=200);
    let from = from.map(|m| m.max(at.now));
    if from.zip(to).is_some_and(|(a, b)| b <= a) {
        f.fault("to_date", "The end must come after the beginning, and after now.");
    }
    f.done()?;
    let (Some((kind, of_id)), Some(count), Some((from, to)), Some(reason)) =
        (thing, count, from.zip(to), reason)
    else {
        return Err(f.faults());
    };
    Ok(Change::Outage(Outage { id: 0, kind, of_id, count, span: Span { from, to }, reason }))
}

fn read_moment(
    f: &mut Fields,
    at: &Place,
    (date, time): (&str, &str),
    without: NaiveTime,
) -> Option<Moment> {
    let day = f.date(date, "a day")?;
    let wall = if f.raw(time).is_empty() { without } else { f.time(time, "a time")? };
    match at.zone.instant(day.and_time(wall)) {
        Ok(m) | Err(crate::clock::WallFault::Twice(m, _)) => Some(m),
        Err(crate::clock::WallFault::Missing) => {
            f.fault(time, "The clocks skip that time on that day. Choose another.");
            None
        }
    }
}

/// The bookings the lead was shown, as the form carries them.
fn seen(f: &Fields) -> Vec<i64> {
    f.raw("seen").split(' ').filter_map(|id| id.parse().ok()).collect()
}

/// What the pages say besides their forms.
struct Around {
    days: Vec<SpecialDay>,
    outages: Vec<(Outage, String)>,
    things: Vec<Choice>,
    hits: Hits,
    names: Vec<(i64, String)>,
}

fn around(conn: &mut Conn, at: &Place, change: Option<&Change>) -> Result<Around, Error> {
    let today = at.zone.date(at.now);
    let last = today.checked_add_days(Days::new(800)).unwrap_or(today);
    let all = sinks::inventory(conn)?;
    let mut things = Vec::new();
    let mut thing = |kind: Kind, id: i64| {
        things.push(Choice { value: format!("{} {id}", kind.word()), text: all.name(kind, id) });
    };
    all.sinks.iter().filter(|s| !s.retired).for_each(|s| thing(Kind::SinkPlace, s.id));
    all.tanks.iter().filter(|t| !t.retired).for_each(|t| thing(Kind::Tank, t.id));
    all.reels.iter().for_each(|r| thing(Kind::Reel, r.id));
    all.stations.iter().filter(|s| !s.retired).for_each(|s| thing(s.kind.unit(), s.id));
    let named = |o: Outage| {
        let name = all.name(o.kind, o.of_id);
        let name = if o.kind == Kind::Reel { format!("{} {name}", o.count) } else { name };
        (o, name)
    };
    Ok(Around {
        days: sinks::special_days(conn, (today, last))?,
        outages: sinks::outages(conn, at.now)?.into_iter().map(named).collect(),
        things,
        hits: change.map_or_else(|| Ok(Hits::default()), |c| c.hits(conn, at))?,
        names: all.sinks.iter().map(|s| (s.id, s.name.clone())).collect(),
    })
}

/// The page with its list, its forms, and whom the refused change would hit.
async fn page(
    app: &App,
    req: &HttpRequest,
    (form, day_form): (Form, Form),
    (is_hours, change): (bool, Option<Change>),
) -> Result<HttpResponse, Error> {
    let at = app.place();
    let here = at.clone();
    let around = app.db.read(move |conn| around(conn, &here, change.as_ref())).await?;
    let words = app.words(None);
    let days = if is_hours {
        around.days.iter().map(|d| special(d, &words)).collect()
    } else {
        around.outages.iter().map(|(o, name)| out(o, name, &words)).collect()
    };
    let hit = |b: &bookings::Booking| {
        let sink = around.names.iter().find(|(id, _)| *id == b.sink_id);
        let sink = sink.map_or("", |(_, name)| name.as_str());
        format!("{}: {sink}, {}", b.member_name, words.span(b.span.from, b.span.to))
    };
    let in_the_way = |s: &Span| InTheWay {
        text: words.span(s.from, s.to),
        href: format!("/days/{}", at.zone.date(s.from)),
    };
    let ids: Vec<String> = around.hits.bookings.iter().map(|b| b.id.to_string()).collect();
    let page = ClosingPage {
        hits: around.hits.bookings.iter().map(hit).collect(),
        runs: around.hits.runs.iter().map(in_the_way).collect(),
        seen: ids.join(" "),
        things: around.things,
        days,
        form,
        day_form,
    };
    let status = if page.form.status == 200 { &page.day_form } else { &page.form };
    let what = if is_hours {
        ("Opening hours", "bookings/hours.html")
    } else {
        ("Out of service", "bookings/outages.html")
    };
    show_form(app, req, what, status, &page)
}

fn special(day: &SpecialDay, words: &Words) -> Standing {
    Standing {
        text: day.sentence(|d| words.date(d)),
        end: Form::new(&format!("/room/days/{}/end", day.id)),
    }
}

fn out(outage: &Outage, name: &str, words: &Words) -> Standing {
    let when = if outage.span.to == FURTHER_NOTICE {
        format!("from {} until further notice", words.moment(outage.span.from))
    } else {
        words.span(outage.span.from, outage.span.to)
    };
    Standing {
        text: format!("{name}: {when}. {}", outage.reason),
        end: Form::new(&format!("/room/outages/{}/end", outage.id)),
    }
}

fn hours_form(week: &[Hours]) -> Form {
    let mut form = Form::new("/room/hours");
    for (day, weekday) in DAYS.iter().zip(1..) {
        form = form.with(day, hours_text(week, weekday));
    }
    form
}

pub(super) async fn hours(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let week = app.db.read(sinks::hours).await?;
    page(&app, &req, (hours_form(&week), Form::new("/room/days")), (true, None)).await
}

/// Makes the change, or says whom it hits; `Ok` carries what to say.
async fn make(app: &App, lead: &Person, filled: &Filled, change: Change) -> Result<String, Error> {
    let (at, by, seen) = (app.place(), lead.clone(), seen(&filled.fields));
    let once = filled.once(app, Some(lead))?;
    let gone = app
        .db
        .write_once(once, move |tx| {
            let closing = Closing { by: &by, seen: &seen, reason: &change.reason() };
            change.make(tx, &at, &closing)
        })
        .await?;
    Ok(match gone {
        0 => "The change is kept. No booking was in its way.".to_owned(),
        1 => "The change is kept. One booking is cancelled and its owner told.".to_owned(),
        n => format!("The change is kept. {n} bookings are cancelled and their owners told."),
    })
}

pub(super) async fn set_hours(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let change = read_week(&mut filled.fields);
    let tried = match &change {
        Ok(change) => make(&app, &lead, &filled, change.clone()).await,
        Err(e) => Err(e.clone()),
    };
    match tried {
        Ok(said) => Ok(go("/room/hours", Some(Flash::good(said)))),
        Err(e) => {
            let shown = change.ok().filter(|_| closing::is_unseen(&e));
            let forms = (filled.again(e)?, Form::new("/room/days"));
            page(&app, &req, forms, (true, shown)).await
        }
    }
}

pub(super) async fn add_day(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let change = read_day(&mut filled.fields);
    let tried = match &change {
        Ok(change) => make(&app, &lead, &filled, change.clone()).await,
        Err(e) => Err(e.clone()),
    };
    match tried {
        Ok(said) => Ok(go("/room/hours", Some(Flash::good(said)))),
        Err(e) => {
            let shown = change.ok().filter(|_| closing::is_unseen(&e));
            let week = app.db.read(sinks::hours).await?;
            page(&app, &req, (hours_form(&week), filled.again(e)?), (true, shown)).await
        }
    }
}

pub(super) async fn end_day(
    app: web::Data<App>,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let id = id.into_inner();
    app.db.write(move |tx| sinks::remove_special_day(tx, id)).await?;
    Ok(go("/room/hours", Some(Flash::good("Those days are ordinary again."))))
}

pub(super) async fn outages(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let today: NaiveDate = app.zone().date(app.clock.now());
    let form = Form::new("/room/outages").with("from_date", today);
    page(&app, &req, (form, Form::new("")), (false, None)).await
}

pub(super) async fn add_outage(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let at = app.place();
    let now = Span { from: at.now, to: at.now.plus(1) };
    let supply = app.db.read(move |conn| sinks::supply(conn, now)).await?;
    let change = read_outage(&mut filled.fields, &at, |kind, id| supply.owned(kind, id));
    let tried = match &change {
        Ok(change) => make(&app, &lead, &filled, change.clone()).await,
        Err(e) => Err(e.clone()),
    };
    match tried {
        Ok(said) => Ok(go("/room/outages", Some(Flash::good(said)))),
        Err(e) => {
            let shown = change.ok().filter(|_| matches!(e, Error::Refused { .. }));
            page(&app, &req, (filled.again(e)?, Form::new("")), (false, shown)).await
        }
    }
}

pub(super) async fn end_outage(
    app: web::Data<App>,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (now, id) = (app.clock.now(), id.into_inner());
    app.db.write(move |tx| sinks::end_outage(tx, now, id).map(|_| ())).await?;
    Ok(go("/room/outages", Some(Flash::good("It is back in service."))))
}
