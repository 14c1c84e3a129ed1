use actix_web::{HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::rules::{Care, Check, FORMATS, Format, Length, Look, NewRoll, State};
use super::store;
use super::{Move, Roll, ticket, whose};
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::web::{Body, Lead, Member, Problems, Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.post("/api/v1/rolls", Who::Member, hand_in);
    open.get("/api/v1/rolls/{ticket}", Who::Member, one);
    open.post("/api/v1/rolls/{ticket}/state", Who::Lead, set_state);
    open.post("/api/v1/rolls/{ticket}/results", Who::Member, note_result);
}

/// A roll as programs see it.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedRoll {
    id: i64,
    ticket: String,
    member: String,
    film: String,
    format: String,
    /// How many sheets, where it is not a roll.
    sheets: Option<i64>,
    ei: i64,
    recipe_id: Option<i64>,
    /// `handed_in`, `planned`, `loaded`, `on_the_hook`, `ready`, `picked_up`, `re_fix`, `spoiled`,
    /// `lost` or `withdrawn`.
    status: String,
    /// RFC 3339: since when.
    since: String,
    /// `ordinary`, `alone`, `exact` or `after_test`.
    care: String,
    /// Whether it may share a tank with film of other owners.
    shares: bool,
    tolerance_percent: Option<i64>,
    tank_id: Option<i64>,
    /// Its place on the column, counted from the bottom.
    place: Option<i64>,
    peg: Option<String>,
    note: String,
    /// RFC 3339.
    ready: Option<String>,
    /// RFC 3339.
    due: Option<String>,
    /// RFC 3339.
    handed_in: String,
}

pub(super) fn described(app: &App, r: Roll) -> DescribedRoll {
    let zone = app.zone();
    DescribedRoll {
        id: r.id,
        ticket: r.ticket,
        member: r.member_name,
        film: r.film,
        format: r.format,
        sheets: r.sheets,
        ei: r.ei,
        recipe_id: r.recipe_id,
        status: r.state.word().to_owned(),
        since: zone.rfc3339(r.since),
        care: r.check.care.word().to_owned(),
        shares: r.shares,
        tolerance_percent: r.tolerance_percent,
        tank_id: r.tank_id,
        place: r.place,
        peg: r.peg,
        note: r.note,
        ready: r.ready.map(|d| zone.rfc3339(d)),
        due: r.due.map(|d| zone.rfc3339(d)),
        handed_in: zone.rfc3339(r.handed_in),
    }
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct RollWish {
    /// `135-36`, `135-24`, `120`, `220`, `127`, or sheets `4x5`, `5x7`, `8x10`. It is understood
    /// that it is black-and-white negative film.
    format: String,
    /// The film's name as the time chart has it.
    film: String,
    /// Exposure index, 1 to 25600.
    #[schema(minimum = 1, maximum = 25600)]
    ei: i64,
    /// A recipe of the time chart; absent: the lead decides.
    recipe_id: Option<i64>,
    /// How many sheets, for sheets.
    #[schema(minimum = 1, maximum = 100)]
    sheets: Option<i64>,
    /// RFC 3339: not before.
    ready: Option<String>,
    /// RFC 3339: needed by.
    due: Option<String>,
    #[schema(max_length = 500)]
    note: Option<String>,
    /// `ordinary`, `alone`, `exact` or `after_test`.
    care: Option<String>,
    /// `usual`, `short` or `long`.
    length: Option<String>,
    /// Its backing must be taken off.
    backing: Option<bool>,
    /// The spool is to be returned.
    spool: Option<bool>,
    /// Its leader is torn.
    torn: Option<bool>,
    /// The index is a guess.
    guessed: Option<bool>,
    /// Whether it may share a tank with film of other owners; it may, where nothing is said.
    shares: Option<bool>,
    /// By how many per cent its time may differ, 0 to 20.
    #[schema(minimum = 0, maximum = 20)]
    tolerance_percent: Option<i64>,
    /// The number of the drop-off terms that are accepted with this.
    accept_terms: Option<i64>,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct RollAnswer {
    id: i64,
    ticket: String,
}

fn within(name: &str, n: Option<i64>, least: i64, most: i64) -> Result<(), Error> {
    match n {
        Some(n) if !(least..=most).contains(&n) => {
            Err(Error::field(name, format!("{n} is not between {least} and {most}.")))
        }
        _ => Ok(()),
    }
}

fn moment(name: &str, text: Option<&str>) -> Result<Option<Moment>, Error> {
    let read = text.map(chrono::DateTime::parse_from_rfc3339).transpose();
    let read = read.map_err(|e| Error::field(name, format!("Write an RFC 3339 time: {e}.")))?;
    Ok(read.map(|d| Moment(d.timestamp())))
}

fn read_wish(wish: &RollWish, films: &[crate::recipes::Film]) -> Result<NewRoll, Error> {
    let film = films
        .iter()
        .find(|f| f.name == wish.film)
        .ok_or_else(|| Error::field("film", "That film is not on the time chart."))?;
    let format = Format::named(&wish.format).ok_or_else(|| {
        let names: Vec<&str> = FORMATS.iter().map(|f| f.name).collect();
        Error::field("format", format!("Write one of {}.", names.join(", ")))
    })?;
    within("ei", Some(wish.ei), 1, 25_600)?;
    within("sheets", wish.sheets, 1, 100)?;
    within("tolerance_percent", wish.tolerance_percent, 0, 20)?;
    let note = wish.note.clone().unwrap_or_default();
    if note.chars().count() > 500 {
        return Err(Error::field("note", "A note may have 500 characters."));
    }
    let care = match wish.care.as_deref() {
        None => Care::Ordinary,
        Some(word) => Care::from_word(word)
            .ok_or_else(|| Error::field("care", "Write ordinary, alone, exact or after_test."))?,
    };
    let length = match wish.length.as_deref() {
        None => Length::Usual,
        Some(word) => Length::from_word(word)
            .ok_or_else(|| Error::field("length", "Write usual, short or long."))?,
    };
    let check = Check {
        backing: wish.backing.unwrap_or(false),
        spool: wish.spool.unwrap_or(false),
        torn: wish.torn.unwrap_or(false),
        guessed: wish.guessed.unwrap_or(false),
        length,
        care,
    };
    Ok(NewRoll {
        film_id: film.id,
        format,
        sheets: wish.sheets.or(format.is_sheet().then_some(1)),
        ei: wish.ei,
        recipe_id: wish.recipe_id,
        note,
        due: moment("due", wish.due.as_deref())?,
        ready: moment("ready", wish.ready.as_deref())?,
        check,
        shares: wish.shares.unwrap_or(true),
        tolerance_percent: wish.tolerance_percent,
    })
}

/// Hands a roll in.
#[utoipa::path(post, path = "/api/v1/rolls", tag = "rolls", request_body = RollWish,
    params(("Idempotency-Key" = Option<String>, Header)),
    responses((status = 201, body = RollAnswer), Problems))]
pub(crate) async fn hand_in(
    app: web::Data<App>,
    member: Member,
    body: Body<RollWish>,
) -> Result<HttpResponse, Error> {
    let films = app.db.read(crate::recipes::films).await?;
    let new = read_wish(&body.value, &films)?;
    let terms = body.value.accept_terms;
    let (now, by, once) = (app.clock.now(), member.id, body.once(&app, &member)?);
    let answer = app
        .db
        .write_once(once, move |tx| {
            if let Some(number) = terms {
                super::accept_terms(tx, now, by, number)?;
            }
            let (id, ticket) = super::hand_in(tx, now, by, &new)?;
            Ok(RollAnswer { id, ticket })
        })
        .await?;
    Ok(HttpResponse::Created().json(answer))
}

/// The roll of a ticket.
#[utoipa::path(get, path = "/api/v1/rolls/{ticket}", tag = "rolls",
    params(("ticket" = String, Path)), responses((status = 200, body = DescribedRoll), Problems))]
pub(crate) async fn one(
    app: web::Data<App>,
    member: Member,
    path: web::Path<String>,
) -> Result<HttpResponse, Error> {
    let ticket = ticket::read(&path).ok_or(Error::NotFound)?;
    let of = whose(&member);
    let roll = app.db.read(move |conn| store::by_ticket(conn, &ticket, of)).await?;
    Ok(HttpResponse::Ok().json(described(&app, roll)))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct StateWish {
    /// What the roll becomes; the same twice changes nothing.
    status: String,
    /// Where it is loaded.
    tank_id: Option<i64>,
    /// Its place on the column, counted from the bottom.
    #[schema(minimum = 1, maximum = 40)]
    place: Option<i64>,
    /// The peg tag that follows it.
    #[schema(max_length = 20)]
    peg: Option<String>,
    #[schema(max_length = 200)]
    note: Option<String>,
}

fn read_move(wish: &StateWish) -> Result<Move, Error> {
    let to = State::from_word(&wish.status).ok_or_else(|| {
        Error::field("status", "There is no such status; see the description of a roll.")
    })?;
    within("place", wish.place, 1, 40)?;
    let short = |name: &str, text: &Option<String>, most: usize| match text {
        Some(t) if t.chars().count() > most => {
            Err(Error::field(name, format!("This may have {most} characters.")))
        }
        other => Ok(other.clone()),
    };
    Ok(Move {
        to,
        tank_id: wish.tank_id,
        place: wish.place,
        peg: short("peg", &wish.peg, 20)?.filter(|p| !p.is_empty()),
        note: short("note", &wish.note, 200)?.unwrap_or_default(),
    })
}

/// Moves a roll on.
#[utoipa::path(post, path = "/api/v1/rolls/{ticket}/state", tag = "rolls",
    request_body = StateWish,
    params(("ticket" = String, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 200, body = DescribedRoll), Problems))]
pub(crate) async fn set_state(
    app: web::Data<App>,
    lead: Lead,
    path: web::Path<String>,
    body: Body<StateWish>,
) -> Result<HttpResponse, Error> {
    let ticket = ticket::read(&path).ok_or(Error::NotFound)?;
    let step = read_move(&body.value)?;
    let (now, by, once) = (app.clock.now(), Some(lead.id), body.once(&app, &lead)?);
    let inside = app.clone();
    let roll = app
        .db
        .write_once(once, move |tx| {
            let roll = store::by_ticket(tx, &ticket, None)?;
            super::move_on(tx, now, (roll.id, by), &step)?;
            Ok(described(&inside, store::one(tx, roll.id)?))
        })
        .await?;
    Ok(HttpResponse::Ok().json(roll))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct ResultWish {
    /// `good`, `thin`, `dense`, `flat`, `contrasty`, `uneven`, `stained`, `fogged`, `milky`,
    /// `scratched` or `other`.
    look: String,
    #[schema(max_length = 500)]
    note: Option<String>,
}

/// Notes how a film came out; its owner may, and a lead.
#[utoipa::path(post, path = "/api/v1/rolls/{ticket}/results", tag = "rolls",
    request_body = ResultWish,
    params(("ticket" = String, Path), ("Idempotency-Key" = Option<String>, Header)),
    responses((status = 204), Problems))]
pub(crate) async fn note_result(
    app: web::Data<App>,
    member: Member,
    path: web::Path<String>,
    body: Body<ResultWish>,
) -> Result<HttpResponse, Error> {
    let ticket = ticket::read(&path).ok_or(Error::NotFound)?;
    let look = Look::from_word(&body.value.look).ok_or_else(|| {
        Error::field("look", "There is no such word; see the description of a result.")
    })?;
    let note = body.value.note.clone().unwrap_or_default();
    if note.chars().count() > 500 {
        return Err(Error::field("note", "A note may have 500 characters."));
    }
    let (now, by, of) = (app.clock.now(), member.id, whose(&member));
    let once = body.once(&app, &member)?;
    app.db
        .write_once(once, move |tx| {
            let roll = store::by_ticket(tx, &ticket, of)?;
            super::note_result(tx, now, (roll.id, by), look, &note)
        })
        .await?;
    Ok(HttpResponse::NoContent().finish())
}
