use actix_web::{HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::rules::Look;
use super::store::{self, Looked, Record};
use super::ticket;
use crate::app::App;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Asked, Body, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/results", Who::Member, list);
    open.post("/api/v1/rolls/{ticket}/tested", Who::Member, tested);
}

/// How a film came out, as somebody noted it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DescribedResult {
    /// `good`, `thin`, `dense`, `flat`, `contrasty`, `uneven`, `stained`, `fogged`, `milky`,
    /// `scratched` or `other`.
    look: String,
    note: String,
    /// RFC 3339.
    at: String,
}

/// A bath as it was before this film went through it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DescribedBathThen {
    /// `Developer`, `Stop bath`, `Fixer`, `Second fixer`, `Wash aid` or `Wetting agent`; empty in old
    /// records.
    what: String,
    /// What its label said, or in words what stood in its place.
    label: String,
    /// Its state in words; empty where it has no ledger.
    state: String,
    /// How long film was in it, in seconds, where that is known.
    seconds: Option<i64>,
}

/// How a film was developed.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DescribedRecord {
    /// Only for its owner and for leads.
    ticket: Option<String>,
    film: String,
    ei: i64,
    /// RFC 3339.
    at: String,
    recipe_id: Option<i64>,
    run_id: Option<i64>,
    developer: String,
    agitation: String,
    tank: String,
    /// Counted from the bottom of the column.
    place: Option<i64>,
    concentrate_ml: f64,
    water_ml: f64,
    planned_c: f64,
    measured_c: Option<f64>,
    planned_s: i64,
    actual_s: Option<i64>,
    /// The baths as they were when the film went into them: developer that is poured back, stop,
    /// fixer and what follows.
    baths: Vec<DescribedBathThen>,
    /// What was out of the ordinary: steps longer or shorter than planned, pauses, a mishap.
    note: String,
    results: Vec<DescribedResult>,
}

#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RecordList {
    items: Vec<DescribedRecord>,
    /// Ask again with `?after=` this for the rest.
    next: Option<String>,
}

const PAGE: usize = 50;

fn described(app: &App, member: &Member, record: Record) -> DescribedRecord {
    let zone = app.zone();
    let own = member.role == Role::Lead || record.member_id == member.id;
    let told = record.told;
    DescribedRecord {
        ticket: own.then_some(record.ticket),
        film: record.film,
        ei: record.ei,
        at: zone.rfc3339(record.at),
        recipe_id: told.recipe_id,
        run_id: told.run_id,
        developer: told.developer,
        agitation: told.agitation,
        tank: told.tank,
        place: told.place,
        concentrate_ml: thousandths(told.concentrate_ul),
        water_ml: thousandths(told.water_ul),
        planned_c: thousandths(told.planned_mc),
        measured_c: told.measured_mc.map(thousandths),
        planned_s: told.planned_s,
        actual_s: told.actual_s,
        baths: told
            .baths
            .into_iter()
            .map(|b| DescribedBathThen {
                what: b.what,
                label: b.label,
                state: b.state,
                seconds: b.seconds,
            })
            .collect(),
        note: told.note,
        results: record
            .results
            .into_iter()
            .map(|n| DescribedResult {
                look: n.look.word().to_owned(),
                note: n.note,
                at: zone.rfc3339(n.at),
            })
            .collect(),
    }
}

/// What was done before with a film, the latest first; whose it was stays between its owner and
/// the leads.
#[utoipa::path(get, path = "/api/v1/results", tag = "rolls",
    params(("film" = Option<String>, Query, description = "The film's name"),
        ("ei" = Option<i64>, Query),
        ("look" = Option<String>, Query, description = "How it came out"),
        ("search" = Option<String>, Query, description = "Words of developer or note, from their beginning"),
        ("after" = Option<String>, Query, description = "The `next` of the page before")),
    responses((status = 200, body = RecordList), Problems))]
pub(crate) async fn list(
    app: web::Data<App>,
    member: Member,
    mut asked: Asked,
) -> Result<HttpResponse, Error> {
    let f = &mut asked.0;
    let ei = match f.raw("ei") {
        "" => None,
        _ => Some(f.number("ei", "an exposure index", 1..=25_600).ok_or_else(|| f.faults())?),
    };
    let look = match f.raw("look") {
        "" => None,
        word => Some(Look::from_word(word).ok_or_else(|| {
            Error::field("look", "There is no such word; see the description of a result.")
        })?),
    };
    let after = f.after(super::list_api::read_place)?;
    let name = f.raw("film").to_owned();
    let mut looked = Looked {
        film: None,
        ei,
        word: f.raw("search").trim().chars().take(60).collect(),
        look,
        after,
        limit: i64::try_from(PAGE + 1).unwrap_or(i64::MAX),
    };
    if !name.is_empty() {
        let films = app.db.read(crate::recipes::films).await?;
        let film = films.iter().find(|f| f.name == name);
        let none = || Error::field("film", "That film is not on the time chart.");
        looked.film = Some(film.ok_or_else(none)?.id);
    }
    let mut found = app.db.read(move |conn| store::records(conn, &looked)).await?;
    let more = found.len() > PAGE;
    found.truncate(PAGE);
    let next = found.last().filter(|_| more).map(|r| format!("{}.{}", r.at.0, r.id));
    let items = found.into_iter().map(|r| described(&app, &member, r)).collect();
    Ok(HttpResponse::Ok().json(RecordList { items, next }))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct TestedWish {
    /// Which roll it was, and what it showed.
    #[schema(max_length = 200)]
    note: Option<String>,
}

/// Says of a film that waits for a test roll that the test came out well; its owner may, and a
/// lead. Said twice, it changes nothing.
#[utoipa::path(post, path = "/api/v1/rolls/{ticket}/tested", tag = "rolls",
    request_body = TestedWish,
    params(("ticket" = String, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 204), Problems))]
pub(crate) async fn tested(
    app: web::Data<App>,
    member: Member,
    path: web::Path<String>,
    body: Body<TestedWish>,
) -> Result<HttpResponse, Error> {
    let ticket = ticket::read(&path).ok_or(Error::NotFound)?;
    let note = body.value.note.clone().unwrap_or_default();
    if note.chars().count() > 200 {
        return Err(Error::field("note", "A note may have 200 characters."));
    }
    let of = (member.role != Role::Lead).then_some(member.id);
    let (now, by, once) = (app.clock.now(), member.id, body.once(&app, &member)?);
    app.db
        .write_once(once, move |tx| {
            let roll = store::by_ticket(tx, &ticket, of)?;
            super::test_came_out_well(tx, now, (roll.id, by), note.trim())
        })
        .await?;
    Ok(HttpResponse::NoContent().finish())
}
