use actix_web::{HttpResponse, web};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::rules::{Format, NewRoll, State};
use super::{Roll, store};
use crate::app::App;
use crate::clock::Moment;
use crate::error::Error;
use crate::sessions::Role;
use crate::web::{Asked, Body, Member, Problems, Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/rolls", Who::Member, list);
    open.post("/api/v1/rolls", Who::Member, hand_in);
}

/// A roll as programs see it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DescribedRoll {
    id: i64,
    ticket: String,
    member: String,
    film: String,
    format: String,
    ei: i64,
    recipe_id: Option<i64>,
    /// `handed_in`, `planned`, `loaded`, `on_the_hook`, `ready`, `picked_up`, `re_fix`, `spoiled`,
    /// `lost` or `withdrawn`.
    status: String,
    note: String,
    /// RFC 3339.
    due: Option<String>,
    /// RFC 3339.
    handed_in: String,
}

#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RollList {
    items: Vec<DescribedRoll>,
    next: Option<String>,
}

fn described(app: &App, r: Roll) -> DescribedRoll {
    let zone = app.zone();
    DescribedRoll {
        id: r.id,
        ticket: r.ticket,
        member: r.member_name,
        film: r.film,
        format: r.format,
        ei: r.ei,
        recipe_id: r.recipe_id,
        status: r.state.word().to_owned(),
        note: r.note,
        due: r.due.map(|d| zone.rfc3339(d)),
        handed_in: zone.rfc3339(r.handed_in),
    }
}

/// Rolls, the latest first: a member's own, or for a lead all.
#[utoipa::path(get, path = "/api/v1/rolls", tag = "rolls",
    params(("status" = Option<String>, Query), ("mine" = Option<bool>, Query)),
    responses((status = 200, body = RollList), Problems))]
pub(crate) async fn list(
    app: web::Data<App>,
    member: Member,
    asked: Asked,
) -> Result<HttpResponse, Error> {
    let state = match asked.0.raw("status") {
        "" => None,
        word => Some(State::from_word(word).ok_or_else(|| {
            Error::field("status", "There is no such status; see the description of a roll.")
        })?),
    };
    let own = member.role != Role::Lead || asked.0.ticked("mine");
    let of = own.then_some(member.id);
    let rolls = app.db.read(move |conn| store::list(conn, of, state)).await?;
    let items = rolls.into_iter().map(|r| described(&app, r)).collect();
    Ok(HttpResponse::Ok().json(RollList { items, next: None }))
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct RollWish {
    /// `135-36`, `135-24`, `120` or `220`.
    format: String,
    /// The film's name as the time chart has it.
    film: String,
    /// Exposure index, 1 to 25600.
    #[schema(minimum = 1, maximum = 25600)]
    ei: i64,
    /// A recipe of the time chart; absent: the lead decides.
    recipe_id: Option<i64>,
    /// RFC 3339.
    due: Option<String>,
    #[schema(max_length = 500)]
    note: Option<String>,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct RollAnswer {
    id: i64,
    ticket: String,
}

fn read_wish(wish: &RollWish, films: &[crate::recipes::Film]) -> Result<NewRoll, Error> {
    let film = films
        .iter()
        .find(|f| f.name == wish.film)
        .ok_or_else(|| Error::field("film", "That film is not on the time chart."))?;
    let format = Format::named(&wish.format)
        .ok_or_else(|| Error::field("format", "Write 135-36, 135-24, 120 or 220."))?;
    if !(1..=25_600).contains(&wish.ei) {
        return Err(Error::field("ei", format!("{} is not between 1 and 25600.", wish.ei)));
    }
    let note = wish.note.clone().unwrap_or_default();
    if note.chars().count() > 500 {
        return Err(Error::field("note", "A note may have 500 characters."));
    }
    let due = wish.due.as_deref().map(chrono::DateTime::parse_from_rfc3339).transpose();
    let due = due
        .map_err(|e| Error::field("due", format!("Write an RFC 3339 time: {e}.")))?
        .map(|d| Moment(d.timestamp()));
    Ok(NewRoll { film_id: film.id, format, ei: wish.ei, recipe_id: wish.recipe_id, note, due })
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
    let (now, by, once) = (app.clock.now(), member.id, body.once(&app, &member)?);
    let answer = app
        .db
        .write_once(once, move |tx| {
            let (id, ticket) = super::hand_in(tx, now, by, &new)?;
            Ok(RollAnswer { id, ticket })
        })
        .await?;
    Ok(HttpResponse::Created().json(answer))
}
