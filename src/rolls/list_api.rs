//! Rolls found by programs: by state, words and days.

use actix_web::{HttpResponse, web};
use chrono::NaiveDate;
use serde::Serialize;
use utoipa::ToSchema;

use super::api::{DescribedRoll, described};
use super::rules::State;
use super::store::{self, Search};
use super::whose;
use crate::app::App;
use crate::error::Error;
use crate::web::{Asked, Fields, Member, Problems, Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/rolls", Who::Member, list);
}

#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RollList {
    items: Vec<DescribedRoll>,
    /// Ask again with `?after=` this for the rest.
    next: Option<String>,
}

const PAGE: usize = 100;

/// A place in a list by time: when, and which of that moment.
pub(super) fn read_place(text: &str) -> Option<(i64, i64)> {
    let (at, id) = text.split_once('.')?;
    Some((at.parse().ok()?, id.parse().ok()?))
}

/// The first and the last day that are asked for.
fn days(f: &mut Fields) -> Result<(Option<NaiveDate>, Option<NaiveDate>), Error> {
    let mut day = |name: &str| if f.raw(name).is_empty() { None } else { f.date(name, "a day") };
    let (from, to) = (day("from"), day("to"));
    f.done()?;
    if from.zip(to).is_some_and(|(from, to)| to < from) {
        return Err(Error::field("to", "The last day comes before the first."));
    }
    Ok((from, to))
}

/// Rolls, the latest first: a member's own, or for a lead all; a hundred at a time.
#[utoipa::path(get, path = "/api/v1/rolls", tag = "rolls",
    params(("status" = Option<String>, Query), ("mine" = Option<bool>, Query),
        ("search" = Option<String>, Query, description = "Words of film, owner, index; a ticket"),
        ("from" = Option<String>, Query, format = Date,
            description = "YYYY-MM-DD: handed in on this day of the studio or later"),
        ("to" = Option<String>, Query, format = Date,
            description = "YYYY-MM-DD: handed in on this day of the studio or earlier"),
        ("after" = Option<String>, Query, description = "The `next` of the page before")),
    responses((status = 200, body = RollList), Problems))]
pub(crate) async fn list(
    app: web::Data<App>,
    member: Member,
    mut asked: Asked,
) -> Result<HttpResponse, Error> {
    let (from, to) = days(&mut asked.0)?;
    let (f, zone) = (&asked.0, app.zone());
    let state = match f.raw("status") {
        "" => None,
        word => Some(State::from_word(word).ok_or_else(|| {
            Error::field("status", "There is no such status; see the description of a roll.")
        })?),
    };
    let after = f.after(read_place)?;
    let words: String = f.raw("search").chars().take(100).collect();
    let search = Search {
        of: if f.ticked("mine") { Some(member.id) } else { whose(&member) },
        words: words.split_whitespace().take(8).map(ToOwned::to_owned).collect(),
        state,
        from: from.map(|d| zone.day_start(d)),
        to: to.map(|d| zone.day(d).to),
        after,
        limit: i64::try_from(PAGE + 1).unwrap_or(i64::MAX),
    };
    let mut rolls = app.db.read(move |conn| store::found(conn, &search)).await?;
    let more = rolls.len() > PAGE;
    rolls.truncate(PAGE);
    let next = rolls.last().filter(|_| more).map(|r| format!("{}.{}", r.handed_in.0, r.id));
    let items = rolls.into_iter().map(|r| described(&app, r)).collect();
    Ok(HttpResponse::Ok().json(RollList { items, next }))
}
