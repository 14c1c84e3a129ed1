use std::collections::BTreeMap;

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, web};
use chrono::{DateTime, NaiveDate};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Entry, Wish, known};
use crate::app::App;
use crate::clock::{Moment, Span, Zone};
use crate::error::Error;
use crate::sessions::Person;
use crate::sinks::{self, Light, Sink};
use crate::web::{Asked, Body, Newcomer, Problems, Routes, Who, beat};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/board", Who::Member, board);
    open.post("/api/v1/bookings", Who::Newcomer, book);
    open.delete("/api/v1/bookings/{id}", Who::Newcomer, cancel);
}

#[derive(Serialize, ToSchema)]
struct Stretch {
    starts: String,
    ends: String,
}

impl Stretch {
    fn of(zone: Zone, span: Span) -> Stretch {
        Stretch { starts: zone.rfc3339(span.from), ends: zone.rfc3339(span.to) }
    }
}

#[derive(Serialize, ToSchema)]
pub(crate) struct Day {
    #[schema(value_type = String, format = Date)]
    date: NaiveDate,
    time_zone: &'static str,
    /// Why the day is not like its weekday, where it is not.
    special: Option<String>,
    open: Vec<Stretch>,
    sinks: Vec<SinkDay>,
}

#[derive(Serialize, ToSchema)]
struct SinkDay {
    id: i64,
    name: String,
    places: i64,
    bookings: Vec<Slot>,
}

#[derive(Serialize, ToSchema)]
struct Slot {
    /// The booking, where it is one.
    id: Option<i64>,
    /// `booking`, `run`, `out_of_service` or `other`.
    kind: &'static str,
    /// Which place of the sink, from 1.
    place: i64,
    #[serde(flatten)]
    when: Stretch,
    mine: bool,
    label: String,
}

fn sink_day(zone: Zone, person: &Person, sink: &Sink, entries: &[Entry]) -> SinkDay {
    let slot = |e: &Entry| Slot {
        id: e.booking().map(|b| b.id),
        kind: match &e.what {
            super::What::Booking(_) => "booking",
            super::What::Run { .. } => "run",
            super::What::Outage(_) => "out_of_service",
            super::What::Offer => "offer",
            super::What::Other => "other",
        },
        place: e.seat,
        when: Stretch::of(zone, Span { to: e.cleaning, ..e.span }),
        mine: e.is_of(person.id),
        label: e.label(),
    };
    let bookings = entries.iter().filter(|e| e.sink_id == sink.id).map(slot).collect();
    SinkDay { id: sink.id, name: sink.name.clone(), places: sink.places, bookings }
}

/// One day of all sinks.
#[utoipa::path(get, path = "/api/v1/board", tag = "bookings",
    params(("date" = String, Query, description = "YYYY-MM-DD")),
    responses((status = 200, body = Day), (status = 304, description = "As it was at that ETag"),
        Problems))]
pub(crate) async fn board(
    app: web::Data<App>,
    req: HttpRequest,
    person: Newcomer,
    Asked(mut asked): Asked,
) -> Result<HttpResponse, Error> {
    let zone = app.zone();
    let date = asked.date("date", "a day").ok_or_else(|| asked.faults())?;
    let revision = known::revision(&app, beat(&req), date).await?;
    let version = env!("CARGO_PKG_VERSION");
    let tag = format!("\"{revision}-{}-{}-{version}\"", person.id, app.studio().version);
    if req.headers().get(header::IF_NONE_MATCH).is_some_and(|v| v == tag.as_str()) {
        return Ok(HttpResponse::NotModified().insert_header((header::ETAG, tag)).finish());
    }
    let b = known::at_revision(&app, date, revision).await?;
    Ok(HttpResponse::Ok().insert_header((header::ETAG, tag)).json(Day {
        date,
        time_zone: zone.name(),
        special: b.special.clone(),
        open: b.open.iter().map(|s| Stretch::of(zone, *s)).collect(),
        sinks: b.sinks.iter().map(|s| sink_day(zone, &person, s, &b.entries)).collect(),
    }))
}

#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct NewBooking {
    sink_id: i64,
    #[serde(default)]
    tank_ids: Vec<i64>,
    /// How many dry reels of each kind, by its name.
    #[serde(default)]
    reels: BTreeMap<String, i64>,
    /// Loading places and washers.
    #[serde(default)]
    station_ids: Vec<i64>,
    #[serde(default)]
    #[schema(minimum = 0, maximum = 200)]
    hanging_places: i64,
    /// The light in the sink's room; white where nothing is said.
    #[serde(default)]
    light: Light,
    /// RFC 3339; the offset tells the two passes of a repeated hour apart.
    starts: String,
    ends: String,
    #[serde(default)]
    purpose: String,
    /// For whom, if a lead books for somebody else.
    #[serde(default)]
    member_id: Option<i64>,
}

fn moment(field: &str, text: &str) -> Result<Moment, Error> {
    let parsed = DateTime::parse_from_rfc3339(text).map_err(|e| {
        Error::field(field, format!("Write an instant like 2026-10-14T18:30:00+01:00 ({e})."))
    })?;
    let at = Moment(parsed.timestamp());
    let years = Moment(946_684_800)..Moment(7_258_118_400);
    if years.contains(&at) && parsed.timestamp_subsec_nanos() == 0 {
        return Ok(at);
    }
    Err(Error::field(field, "Write whole seconds in a year from 2000 to 2199."))
}

fn wish(new: NewBooking, reels: &[sinks::ReelKind]) -> Result<Wish, Error> {
    let (from, to) = (moment("starts", &new.starts)?, moment("ends", &new.ends)?);
    let span = Span::new(from, to)
        .ok_or_else(|| Error::field("ends", "The end must come after the beginning."))?;
    if new.purpose.chars().count() > 300 {
        return Err(Error::field("purpose", "The purpose may have 300 characters."));
    }
    if !(0..=200).contains(&new.hanging_places) {
        return Err(Error::field("hanging_places", "Write a whole number from 0 to 200."));
    }
    let counted = |(kind, count): (&String, &i64)| {
        let reel = reels.iter().find(|r| r.kind == *kind);
        match reel.filter(|_| (0..=200).contains(count)) {
            Some(r) => Ok((r.id, *count)),
            None => Err(Error::field(
                "reels",
                "Name a kind of reels that the studio has, and how many of them, 0 to 200.",
            )),
        }
    };
    Ok(Wish {
        sink_id: new.sink_id,
        tank_ids: new.tank_ids,
        reels: new.reels.iter().map(counted).collect::<Result<_, _>>()?,
        stations: new.station_ids,
        hanging: new.hanging_places,
        light: new.light,
        span: Some(span),
        note: new.purpose,
        member: new.member_id,
    })
}

/// The fields of the form, by their names in the API.
fn api_names(e: Error) -> Error {
    const NAMES: [(&str, &str); 8] = [
        ("sink", "sink_id"),
        ("tanks", "tank_ids"),
        ("stations", "station_ids"),
        ("hanging", "hanging_places"),
        ("from", "starts"),
        ("to", "ends"),
        ("note", "purpose"),
        ("member", "member_id"),
    ];
    let Error::Invalid(faults) = e else { return e };
    let renamed = |(field, sentence): (String, String)| {
        let name = NAMES.iter().find(|(f, _)| *f == field).map_or(field.as_str(), |(_, n)| n);
        (name.to_owned(), sentence)
    };
    Error::Invalid(faults.into_iter().map(renamed).collect())
}

#[derive(Serialize, Deserialize, ToSchema)]
pub(crate) struct Made {
    id: i64,
}

/// Books a sink, and tanks, reels and places with it.
#[utoipa::path(post, path = "/api/v1/bookings", tag = "bookings", request_body = NewBooking,
    params(("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = Made), Problems))]
pub(crate) async fn book(
    app: web::Data<App>,
    person: Newcomer,
    body: Body<NewBooking>,
) -> Result<HttpResponse, Error> {
    let at = app.place();
    let reels = if body.value.reels.is_empty() {
        Vec::new()
    } else {
        app.db.read(sinks::reel_kinds).await?
    };
    let wish = wish(body.value.clone(), &reels)?;
    let (once, who) = (body.once(&app, &person)?, person.0);
    let booked = app.db.write_once(once, move |tx| super::book(tx, &at, &who, &wish)).await;
    Ok(HttpResponse::Created().json(Made { id: booked.map_err(api_names)? }))
}

/// Cancels a booking of one's own; a lead any.
#[utoipa::path(delete, path = "/api/v1/bookings/{id}", tag = "bookings", params(("id" = i64, Path)),
    responses((status = 204), Problems))]
pub(crate) async fn cancel(
    app: web::Data<App>,
    person: Newcomer,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (at, who, id) = (app.place(), person.0, id.into_inner());
    app.db.write(move |tx| super::cancel(tx, &at, &who, id)).await?;
    Ok(HttpResponse::NoContent().finish())
}
