//! The room as a lead sets it up: an overview, and a page for each thing.

mod read;
mod things;

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::{Kind, ReelKind, Room, Sink, Station, Tank};
use crate::app::App;
use crate::error::Error;
use crate::web::{Routes, Who, show};
use things::{add, change, new, one};

pub(super) fn routes(open: &mut Routes) {
    open.get("/room", Who::Lead, room);
    open.get("/room/sinks/new", Who::Lead, new::<Sink>);
    open.post("/room/sinks", Who::Lead, add::<Sink>);
    open.get("/room/sinks/{id}", Who::Lead, one::<Sink>);
    open.post("/room/sinks/{id}", Who::Lead, change::<Sink>);
    open.get("/room/tanks/new", Who::Lead, new::<Tank>);
    open.post("/room/tanks", Who::Lead, add::<Tank>);
    open.get("/room/tanks/{id}", Who::Lead, one::<Tank>);
    open.post("/room/tanks/{id}", Who::Lead, change::<Tank>);
    open.get("/room/reels/new", Who::Lead, new::<ReelKind>);
    open.post("/room/reels", Who::Lead, add::<ReelKind>);
    open.get("/room/reels/{id}", Who::Lead, one::<ReelKind>);
    open.post("/room/reels/{id}", Who::Lead, change::<ReelKind>);
    open.get("/room/stations/new", Who::Lead, new::<Station>);
    open.post("/room/stations", Who::Lead, add::<Station>);
    open.get("/room/stations/{id}", Who::Lead, one::<Station>);
    open.post("/room/stations/{id}", Who::Lead, change::<Station>);
    open.get("/room/rooms/new", Who::Lead, new::<Room>);
    open.post("/room/rooms", Who::Lead, add::<Room>);
    open.get("/room/rooms/{id}", Who::Lead, one::<Room>);
    open.post("/room/rooms/{id}", Who::Lead, change::<Room>);
}

#[derive(Serialize)]
struct RoomPage {
    sinks: Vec<Line>,
    tanks: Vec<Line>,
    reels: Vec<Line>,
    stations: Vec<Line>,
    rooms: Vec<Line>,
    hours: Vec<Fact>,
    days: Vec<String>,
    outages: Vec<String>,
}

#[derive(Serialize)]
struct Fact {
    term: &'static str,
    text: String,
}

/// One thing in its table: what it is called, what there is to say, whether it is retired.
#[derive(Serialize)]
struct Line {
    href: String,
    name: String,
    says: Vec<String>,
    note: String,
    retired: bool,
}

const DAYS: [&str; 7] =
    ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];

async fn room(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let (now, zone) = (app.clock.now(), app.zone());
    let today = zone.date(now);
    let words = app.words(None);
    let page = app
        .db
        .read(move |c| {
            let all = super::inventory(c)?;
            let week = super::hours(c)?;
            let last = today.checked_add_days(chrono::Days::new(400)).unwrap_or(today);
            let days = super::special_days(c, (today, last))?;
            let outages = super::outages(c, now)?;
            let outage = |o: &super::Outage| {
                let name = all.name(o.kind, o.of_id);
                let many =
                    if o.kind == Kind::Reel { format!("{} of ", o.count) } else { String::new() };
                format!("{many}{name}: {}", o.reason)
            };
            let in_room = |id: i64| all.room_name(id).to_owned();
            Ok(RoomPage {
                sinks: all.sinks.iter().map(|s| sink_line(s, in_room(s.room_id))).collect(),
                tanks: all.tanks.iter().map(tank_line).collect(),
                reels: all.reels.iter().map(reel_line).collect(),
                stations: all
                    .stations
                    .iter()
                    .map(|s| station_line(s, in_room(s.room_id)))
                    .collect(),
                rooms: all.rooms.iter().map(room_line).collect(),
                hours: hours(&week),
                days: days.iter().map(|d| d.sentence(|d| words.date(d))).collect(),
                outages: outages.iter().map(outage).collect(),
            })
        })
        .await?;
    show(&app, &req, "The room", "sinks/room.html", &page)
}

fn hours(week: &[super::Hours]) -> Vec<Fact> {
    DAYS.iter()
        .zip(1..)
        .map(|(term, weekday)| {
            let text = super::hours_text(week, weekday).replace('-', " to ");
            Fact { term, text: if text.is_empty() { "closed".to_owned() } else { text } }
        })
        .collect()
}

fn sink_line(s: &Sink, room: String) -> Line {
    let what = if s.is_sink { "Sink" } else { "Other station" };
    Line {
        href: format!("/room/sinks/{}", s.id),
        name: s.name.clone(),
        says: vec![what.to_owned(), s.places.to_string(), s.tanks_at_once.to_string(), room],
        note: s.note.clone(),
        retired: s.retired,
    }
}

fn tank_line(t: &Tank) -> Line {
    let holds = read::loads_text(&t.holds);
    let holds = if holds.is_empty() { format!("{} reels", t.max_reels) } else { holds };
    let rotary = t.rotary_ml.map_or_else(|| "not for rotation".to_owned(), |v| format!("{v} ml"));
    Line {
        href: format!("/room/tanks/{}", t.id),
        name: t.name.clone(),
        says: vec![holds, format!("{} ml", t.min_ml), rotary, format!("{} ml", t.max_ml)],
        note: t.note.clone(),
        retired: t.retired,
    }
}

fn reel_line(r: &ReelKind) -> Line {
    let formats: Vec<&str> = r.formats.iter().map(|f| f.format.as_str()).collect();
    Line {
        href: format!("/room/reels/{}", r.id),
        name: r.kind.clone(),
        says: vec![r.owned.to_string(), formats.join(", "), format!("{} min", r.drying_s / 60)],
        note: r.note.clone(),
        retired: false,
    }
}

fn station_line(s: &Station, room: String) -> Line {
    Line {
        href: format!("/room/stations/{}", s.id),
        name: s.name.clone(),
        says: vec![s.kind.name().to_owned(), s.places.to_string(), room],
        note: s.note.clone(),
        retired: s.retired,
    }
}

fn room_line(r: &Room) -> Line {
    Line {
        href: format!("/room/rooms/{}", r.id),
        name: r.name.clone(),
        says: Vec::new(),
        note: r.note.clone(),
        retired: false,
    }
}
