use actix_web::{HttpRequest, HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;

use super::first_steps::{Step, first_steps};
use super::waits::{self, Waits};
use crate::app::App;
use crate::baths::{self, Bath, Condition, State};
use crate::bookings;
use crate::clock::{Moment, Span, Zone};
use crate::db::Conn;
use crate::error::Error;
use crate::incidents::{self, Eyewash};
use crate::safety::{self, Missing, Note};
use crate::sessions::{Person, Role};
use crate::sinks;
use crate::studio::Joining;
use crate::web::{Routes, Visitor, Who, Words, show};

pub(super) fn routes(open: &mut Routes) {
    open.get("/", Who::Anyone, front);
}

#[derive(Serialize)]
struct FrontPage {
    open_today: String,
    hours: Vec<DayHours>,
    closures: Vec<String>,
    how_to_join: &'static str,
    /// Whether anybody may apply.
    applies: bool,
    notes: Vec<NoteLine>,
    bath_states: Vec<BathLine>,
    eyewash: Option<&'static str>,
    next: Option<Next>,
    steps: Vec<Step>,
    waits: Vec<Waits>,
    my_day: Vec<Entry>,
}

#[derive(Serialize)]
struct DayHours {
    day: &'static str,
    text: String,
}

#[derive(Serialize)]
struct NoteLine {
    href: String,
    title: String,
    summary: String,
}

#[derive(Serialize)]
struct BathLine {
    href: String,
    label: String,
    state_word: &'static str,
    tone: &'static str,
    sentence: String,
}

#[derive(Serialize)]
struct Next {
    href: String,
    text: &'static str,
}

#[derive(Serialize)]
struct Entry {
    when: String,
    text: String,
    href: String,
}

struct Facts {
    today: Vec<Span>,
    week: Vec<sinks::Hours>,
    special: Vec<sinks::SpecialDay>,
    notes: Vec<Note>,
    baths: Vec<(Bath, State)>,
    bookings: Vec<bookings::Booking>,
    sinks: Vec<sinks::Sink>,
    missing: Vec<Missing>,
    eyewash: Option<Eyewash>,
    steps: Vec<Step>,
    waits: Option<waits::Facts>,
}

fn facts(
    conn: &mut Conn,
    (now, zone, date): (Moment, Zone, NaiveDate),
    person: Option<&Person>,
) -> Result<Facts, Error> {
    let signed_in = person.is_some();
    let missing = person.map(|p| safety::missing_before_booking(conn, p)).transpose()?;
    let month_on = date.checked_add_days(chrono::Days::new(31)).unwrap_or(date);
    let eyewash = if signed_in && !safety::calling_for_eyewash(conn)?.is_empty() {
        Some(incidents::eyewash(conn, now)?)
    } else {
        None
    };
    Ok(Facts {
        steps: if person.is_some_and(|p| p.role == Role::Lead) {
            first_steps(conn)?
        } else {
            Vec::new()
        },
        eyewash,
        missing: missing.unwrap_or_default(),
        today: sinks::opening(conn, zone, date)?,
        week: sinks::hours(conn)?,
        special: sinks::special_days(conn, (date, month_on))?,
        notes: safety::current(conn)?,
        baths: if signed_in { baths::on_the_shelf(conn, now)? } else { Vec::new() },
        bookings: match person {
            Some(person) => {
                let month = Span { from: zone.day_start(date), to: zone.day_start(month_on) };
                bookings::of_member(conn, person.id, month)?
            }
            None => Vec::new(),
        },
        waits: person.map(|p| waits::facts(conn, (now, date), p)).transpose()?,
        sinks: if signed_in { sinks::all_sinks(conn)? } else { Vec::new() },
    })
}

async fn front(
    app: web::Data<App>,
    req: HttpRequest,
    visitor: Visitor,
) -> Result<HttpResponse, Error> {
    let (now, zone) = (app.clock.now(), app.zone());
    let date = zone.date(now);
    let person = visitor.0.clone();
    let facts = app.db.read(move |conn| facts(conn, (now, zone, date), person.as_ref())).await?;
    let words = app.words(visitor.0.as_ref());
    let studio = app.studio();
    let page = FrontPage {
        open_today: open_today(&facts.today, &words),
        hours: hours(&facts.week),
        closures: facts.special.iter().map(|d| d.sentence(|d| words.date(d))).collect(),
        how_to_join: match studio.joining {
            Joining::Application => "Anyone may apply. A lead reads every application.",
            Joining::Invitation => "A lead of the studio invites you by mail. Ask one of them.",
        },
        applies: studio.joining == Joining::Application,
        notes: facts.notes.iter().map(note).collect(),
        bath_states: facts.baths.iter().map(|(b, s)| bath(b, s)).collect(),
        eyewash: facts.eyewash.and_then(eyewash_warning),
        next: visitor.0.as_ref().and_then(|p| next(p, &facts, date)),
        my_day: my_day(&facts, (zone, date), &words),
        waits: match (&visitor.0, &facts.waits) {
            (Some(p), Some(f)) => {
                let is_at_work = p.role == Role::Lead && facts.steps.is_empty();
                let first = if is_at_work { waits::without_fixer(&facts.baths) } else { None };
                let others = waits::in_words((f, &facts.baths), (zone, date), p);
                first.into_iter().chain(others).collect()
            }
            _ => Vec::new(),
        },
        steps: facts.steps,
    };
    show(&app, &req, "Today", "front.html", &page)
}

fn open_today(today: &[Span], words: &Words) -> String {
    if today.is_empty() {
        return "Closed today.".to_owned();
    }
    let stretches: Vec<String> =
        today.iter().map(|s| format!("{} to {}", words.time(s.from), words.time(s.to))).collect();
    format!("Open today, {}.", stretches.join(" and "))
}

fn hours(week: &[sinks::Hours]) -> Vec<DayHours> {
    const DAYS: [(i64, &str); 7] = [
        (1, "Monday"),
        (2, "Tuesday"),
        (3, "Wednesday"),
        (4, "Thursday"),
        (5, "Friday"),
        (6, "Saturday"),
        (7, "Sunday"),
    ];
    let wall = |min: i64| format!("{:02}:{:02}", min / 60, min % 60);
    DAYS.iter()
        .map(|(number, day)| {
            let open: Vec<String> = week
                .iter()
                .filter(|h| h.weekday == *number)
                .map(|h| format!("{} to {}", wall(h.from_min), wall(h.to_min)))
                .collect();
            let text = if open.is_empty() { "closed".to_owned() } else { open.join(", ") };
            DayHours { day, text }
        })
        .collect()
}

fn note(n: &Note) -> NoteLine {
    NoteLine {
        href: format!("/notes/{}", n.slug),
        title: n.title.clone(),
        summary: n.summary.clone(),
    }
}

fn bath(bath: &Bath, state: &State) -> BathLine {
    let fit = match state.condition {
        Condition::Good => "Fit for use.",
        Condition::NearLimit => "Mix the next one soon.",
        _ => "Do not put film in it.",
    };
    let sentence = match baths::timing(bath, state).filter(|_| state.is_usable()) {
        Some(timing) => format!("{fit} {timing}"),
        None => fit.to_owned(),
    };
    BathLine {
        href: format!("/baths/{}", bath.id),
        label: bath.label.clone(),
        state_word: state.word(),
        tone: state.tone(),
        sentence,
    }
}

/// What is said while something on the shelf calls for an eyewash that is not known to work.
fn eyewash_warning(state: Eyewash) -> Option<&'static str> {
    match state {
        Eyewash::Good(_) => None,
        Eyewash::NeverRun => Some("and no run of the eyewash is on record."),
        Eyewash::Overdue(_) => Some("and the eyewash was last run more than a week ago."),
        Eyewash::Broken(_) => Some("and the eyewash did not work at its last run."),
    }
}

fn next(person: &Person, facts: &Facts, today: NaiveDate) -> Option<Next> {
    let is_unread = facts.missing.iter().any(|m| matches!(m, Missing::Notes(_)));
    let is_running = facts.waits.as_ref().is_some_and(waits::Facts::has_runs);
    let (href, text) = match person.role {
        Role::Newcomer => ("/way-in".to_owned(), "Your way in"),
        _ if is_unread => ("/way-in".to_owned(), "Read what you have not yet acknowledged"),
        Role::Member => ("/board".to_owned(), "Book a sink"),
        // In a studio that is not set up, the list of steps says what is next.
        Role::Lead if !facts.steps.is_empty() => return None,
        Role::Lead if is_running => (format!("/days/{today}"), "The mix sheet of today"),
        Role::Lead => ("/days".to_owned(), "Plan a day"),
    };
    Some(Next { href, text })
}

/// A person's own bookings of today and of the coming month.
fn my_day(facts: &Facts, (zone, today): (Zone, NaiveDate), words: &Words) -> Vec<Entry> {
    let when = |span: Span| {
        if zone.date(span.from) == today {
            format!("Today, {} to {}", words.time(span.from), words.time(span.to))
        } else {
            words.span(span.from, span.to)
        }
    };
    let name = |b: &bookings::Booking| {
        let sink = facts.sinks.iter().find(|s| s.id == b.sink_id);
        sink.map_or_else(String::new, |s| s.name.clone())
    };
    let entry = |b: &bookings::Booking| Entry {
        when: when(b.span),
        text: name(b),
        href: format!("/bookings/{}", b.id),
    };
    facts.bookings.iter().take(8).map(entry).collect()
}
