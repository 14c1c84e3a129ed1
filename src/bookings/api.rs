use actix_web::{HttpResponse, web};
use chrono::{DateTime, NaiveDate};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{Entry, Wish};
use crate::app::App;
use crate::clock::{Moment, Span, Zone};
use crate::error::Error;
use crate::sessions::Person;
use crate::sinks::Sink;
use crate::web::{Asked, Body, Newcomer, Problems, Routes, Who};

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
    open: Vec<Stretch>,
    sinks: Vec<SinkDay>,
}

#[derive(Serialize, ToSchema)]
struct SinkDay {
    id: i64,
    name: String,
    bookings: Vec<Slot>,
}

#[derive(Serialize, ToSchema)]
struct Slot {
    id: Option<i64>,
    #[serde(flatten)]
    when: Stretch,
    mine: bool,
    label: String,
}

fn sink_day(zone: Zone, person: &Person, sink: Sink, entries: &[Entry]) -> SinkDay {
    let slot = |e: &Entry| Slot {
        id: e.booking,
        when: Stretch::of(zone, e.span),
        mine: e.member == Some(person.id),
        label: e.label.clone(),
    };
    let bookings = entries.iter().filter(|e| e.sink_id == sink.id).map(slot).collect();
    SinkDay { id: sink.id, name: sink.name, bookings }
}

/// One day of all sinks.
#[utoipa::path(get, path = "/api/v1/board", tag = "bookings",
    params(("date" = String, Query, description = "YYYY-MM-DD")),
    responses((status = 200, body = Day), Problems))]
pub(crate) async fn board(
    app: web::Data<App>,
    person: Newcomer,
    Asked(mut asked): Asked,
) -> Result<HttpResponse, Error> {
    let zone = app.zone();
    let date = asked.date("date", "a day").ok_or_else(|| asked.faults())?;
    let b = app.db.read(move |conn| super::board(conn, zone, date)).await?;
    let entries = b.entries;
    Ok(HttpResponse::Ok().json(Day {
        date,
        time_zone: zone.name(),
        open: b.open.into_iter().map(|s| Stretch::of(zone, s)).collect(),
        sinks: b.sinks.into_iter().map(|s| sink_day(zone, &person, s, &entries)).collect(),
    }))
}

#[derive(Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct NewBooking {
    sink_id: i64,
    #[serde(default)]
    tank_ids: Vec<i64>,
    starts: String,
    ends: String,
    #[serde(default)]
    purpose: String,
}

fn moment(field: &str, text: &str) -> Result<Moment, Error> {
    DateTime::parse_from_rfc3339(text).map(|t| Moment(t.timestamp())).map_err(|e| {
        Error::field(field, format!("Write an instant like 2026-10-14T18:30:00+01:00 ({e})."))
    })
}

fn wish(zone: Zone, new: NewBooking) -> Result<Wish, Error> {
    let from = zone.wall(moment("starts", &new.starts)?);
    let to = zone.wall(moment("ends", &new.ends)?);
    if new.purpose.chars().count() > 300 {
        return Err(Error::field("purpose", "The purpose may have 300 characters."));
    }
    let midnight = from.date().succ_opt().map(|d| d.and_time(chrono::NaiveTime::MIN));
    if to.date() != from.date() && Some(to) != midnight {
        return Err(Error::field("ends", "A booking begins and ends on the same local day."));
    }
    Ok(Wish {
        sink_id: new.sink_id,
        tank_ids: new.tank_ids,
        date: from.date(),
        from: from.time(),
        to: to.time(),
        note: new.purpose,
    })
}

#[derive(Serialize, Deserialize, ToSchema)]
pub(crate) struct Made {
    id: i64,
}

/// Books a sink, and tanks with it.
#[utoipa::path(post, path = "/api/v1/bookings", tag = "bookings", request_body = NewBooking,
    params(("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = Made), Problems))]
pub(crate) async fn book(
    app: web::Data<App>,
    person: Newcomer,
    body: Body<NewBooking>,
) -> Result<HttpResponse, Error> {
    let at = super::pages::place(&app);
    let wish = wish(at.zone, body.value.clone())?;
    let (once, who) = (body.once(&app, &person)?, person.0);
    let id = app.db.write_once(once, move |tx| super::book(tx, &at, &who, &wish)).await?;
    Ok(HttpResponse::Created().json(Made { id }))
}

/// Cancels a booking of one's own; a lead any.
#[utoipa::path(delete, path = "/api/v1/bookings/{id}", tag = "bookings", params(("id" = i64, Path)),
    responses((status = 204), Problems))]
pub(crate) async fn cancel(
    app: web::Data<App>,
    person: Newcomer,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let (at, who, id) = (super::pages::place(&app), person.0, id.into_inner());
    app.db.write(move |tx| super::cancel(tx, &at, &who, id)).await?;
    Ok(HttpResponse::NoContent().finish())
}
