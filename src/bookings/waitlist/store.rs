use chrono::{NaiveDate, NaiveTime};
use diesel::prelude::*;

use super::{NewWish, Offer, State, Wish};
use crate::clock::{Moment, Span};
use crate::db::schema::{members, offers, wishes};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sessions::Role;

impl State {
    const ALL: [State; 5] =
        [State::Waiting, State::Offered, State::Taken, State::Withdrawn, State::Lapsed];

    fn word(self) -> &'static str {
        match self {
            State::Waiting => "waiting",
            State::Offered => "offered",
            State::Taken => "taken",
            State::Withdrawn => "withdrawn",
            State::Lapsed => "lapsed",
        }
    }
}

#[derive(Queryable)]
struct Row {
    id: i64,
    member_id: i64,
    member_name: String,
    role: String,
    date: NaiveDate,
    from_wall: String,
    to_wall: String,
    length_min: i64,
    sink_id: Option<i64>,
    state: String,
}

fn wall(text: &str) -> NaiveTime {
    NaiveTime::parse_from_str(text, "%H:%M").unwrap_or(NaiveTime::MIN)
}

impl From<Row> for Wish {
    fn from(r: Row) -> Wish {
        Wish {
            id: r.id,
            member_id: r.member_id,
            member_name: r.member_name,
            role: Role::from_word(&r.role).unwrap_or(Role::Newcomer),
            what: NewWish {
                date: r.date,
                from: wall(&r.from_wall),
                to: wall(&r.to_wall),
                length_min: r.length_min,
                sink_id: r.sink_id,
            },
            state: State::ALL.into_iter().find(|s| s.word() == r.state).unwrap_or(State::Withdrawn),
        }
    }
}

#[diesel::dsl::auto_type(no_type_alias)]
fn rows() -> _ {
    wishes::table.inner_join(members::table.on(members::id.eq(wishes::member_id))).select((
        wishes::id,
        wishes::member_id,
        members::name,
        members::role,
        wishes::date,
        wishes::from_wall,
        wishes::to_wall,
        wishes::length_min,
        wishes::sink_id,
        wishes::state,
    ))
}

pub(super) fn insert(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    new: &NewWish,
) -> Result<i64, Error> {
    Ok(diesel::insert_into(wishes::table)
        .values((
            wishes::member_id.eq(member),
            wishes::date.eq(new.date),
            wishes::from_wall.eq(new.from.format("%H:%M").to_string()),
            wishes::to_wall.eq(new.to.format("%H:%M").to_string()),
            wishes::length_min.eq(new.length_min),
            wishes::sink_id.eq(new.sink_id),
            wishes::state.eq(State::Waiting.word()),
            wishes::made_s.eq(now.0),
        ))
        .returning(wishes::id)
        .get_result(tx.conn())?)
}

pub(super) fn wish(conn: &mut Conn, id: i64) -> Result<Wish, Error> {
    let row: Row = rows().filter(wishes::id.eq(id)).get_result(conn)?;
    Ok(row.into())
}

/// A member's wishes that wait or are offered something, by date.
pub(super) fn open_of(conn: &mut Conn, member: i64) -> Result<Vec<Wish>, Error> {
    let found: Vec<Row> = rows()
        .filter(wishes::member_id.eq(member))
        .filter(wishes::state.eq_any([State::Waiting.word(), State::Offered.word()]))
        .order(wishes::date)
        .load(conn)?;
    Ok(found.into_iter().map(Wish::from).collect())
}

/// Everybody's wishes that wait or are offered something, in the order they are served.
pub(super) fn open(conn: &mut Conn) -> Result<Vec<Wish>, Error> {
    let found: Vec<Row> = rows()
        .filter(wishes::state.eq_any([State::Waiting.word(), State::Offered.word()]))
        .order((wishes::date, wishes::id))
        .load(conn)?;
    Ok(found.into_iter().map(Wish::from).collect())
}

/// Who waits for a date and can come, in the order they came.
pub(super) fn waiting(conn: &mut Conn, date: NaiveDate) -> Result<Vec<Wish>, Error> {
    let found: Vec<Row> = rows()
        .filter(wishes::state.eq(State::Waiting.word()))
        .filter(wishes::date.eq(date))
        .filter(members::state.eq("active"))
        .order(wishes::id)
        .load(conn)?;
    Ok(found.into_iter().map(Wish::from).collect())
}

pub(super) fn waiting_dates(conn: &mut Conn) -> Result<Vec<NaiveDate>, Error> {
    Ok(wishes::table
        .filter(wishes::state.eq(State::Waiting.word()))
        .select(wishes::date)
        .distinct()
        .order(wishes::date)
        .load(conn)?)
}

pub(super) fn set_state(tx: &mut Tx<'_>, id: i64, state: State) -> Result<(), Error> {
    diesel::update(wishes::table.find(id))
        .set(wishes::state.eq(state.word()))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn insert_offer(
    tx: &mut Tx<'_>,
    now: Moment,
    wish: i64,
    (sink, span, expires): (i64, Span, Moment),
) -> Result<i64, Error> {
    Ok(diesel::insert_into(offers::table)
        .values((
            offers::wish_id.eq(wish),
            offers::sink_id.eq(sink),
            offers::from_s.eq(span.from.0),
            offers::to_s.eq(span.to.0),
            offers::made_s.eq(now.0),
            offers::expires_s.eq(expires.0),
            offers::state.eq("open"),
        ))
        .returning(offers::id)
        .get_result(tx.conn())?)
}

type OfferRow = (i64, i64, i64, i64, i64, i64, i64, String);

fn noun((id, wish_id, member_id, sink_id, from, to, expires, state): OfferRow) -> Offer {
    Offer {
        id,
        wish_id,
        member_id,
        sink_id,
        span: Span { from: Moment(from), to: Moment(to) },
        expires: Moment(expires),
        is_open: state == "open",
    }
}

#[diesel::dsl::auto_type(no_type_alias)]
fn offer_rows() -> _ {
    offers::table.inner_join(wishes::table.on(wishes::id.eq(offers::wish_id))).select((
        offers::id,
        offers::wish_id,
        wishes::member_id,
        offers::sink_id,
        offers::from_s,
        offers::to_s,
        offers::expires_s,
        offers::state,
    ))
}

pub(super) fn offer(conn: &mut Conn, id: i64) -> Result<Offer, Error> {
    let row: OfferRow = offer_rows().filter(offers::id.eq(id)).get_result(conn)?;
    Ok(noun(row))
}

pub(super) fn offer_of(conn: &mut Conn, wish: i64) -> Result<Option<Offer>, Error> {
    let row: Option<OfferRow> =
        offer_rows().filter(offers::wish_id.eq(wish)).first(conn).optional()?;
    Ok(row.map(noun))
}

pub(super) fn expired(conn: &mut Conn, now: Moment) -> Result<Vec<Offer>, Error> {
    let found: Vec<OfferRow> = offer_rows()
        .filter(offers::state.eq("open"))
        .filter(offers::expires_s.le(now.0))
        .order(offers::id)
        .load(conn)?;
    Ok(found.into_iter().map(noun).collect())
}

/// What is offered and not over.
pub(super) fn open_offers_from(conn: &mut Conn, now: Moment) -> Result<Vec<Offer>, Error> {
    let found: Vec<OfferRow> = offer_rows()
        .filter(offers::state.eq("open"))
        .filter(offers::to_s.gt(now.0))
        .order(offers::id)
        .load(conn)?;
    Ok(found.into_iter().map(noun).collect())
}

/// As if it had never been made, so that its wish can be offered another.
pub(super) fn forget_offer(tx: &mut Tx<'_>, id: i64) -> Result<(), Error> {
    diesel::delete(offers::table.find(id)).execute(tx.conn())?;
    Ok(())
}

pub(super) fn open_offers(conn: &mut Conn) -> Result<i64, Error> {
    Ok(offers::table.filter(offers::state.eq("open")).count().get_result(conn)?)
}

pub(super) fn close_offer(tx: &mut Tx<'_>, id: i64, word: &str) -> Result<(), Error> {
    diesel::update(offers::table.find(id)).set(offers::state.eq(word)).execute(tx.conn())?;
    Ok(())
}
