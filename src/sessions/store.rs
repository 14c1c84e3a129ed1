use diesel::prelude::*;

use super::{DayOrder, IDLE_S, LONGEST_S, Person, Role, TOKEN_S, Taste, Via};
use crate::clock::{Moment, Zone};
use crate::db::schema::{api_tokens, members, pulse, sessions};
use crate::db::{Conn, Tx, ask_engine};
use crate::error::Error;

/// One session as its owner sees it.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = sessions)]
pub struct SessionRow {
    /// Its id.
    pub id: i64,
    /// The browser's own description of itself.
    pub agent: String,
    /// The network address it was opened from.
    pub address: String,
    /// When it was opened, UTC seconds.
    pub created_s: i64,
    /// When it was last used, to within ten minutes.
    pub seen_s: i64,
    /// When it ends at the latest.
    pub expires_s: i64,
    /// Whether a second factor was shown in it.
    pub second_factor: bool,
}

/// One API token as its owner sees it.
#[derive(Clone, Debug, Queryable, Selectable)]
#[diesel(table_name = api_tokens)]
pub struct TokenRow {
    /// Its id.
    pub id: i64,
    /// What its owner calls it.
    pub label: String,
    /// When it was issued, UTC seconds.
    pub created_s: i64,
    /// When it was last used, if ever.
    pub seen_s: Option<i64>,
    /// When it ends.
    pub expires_s: i64,
    /// Whether it was issued to somebody who showed a second factor.
    pub second_factor: bool,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = members)]
struct Holder {
    id: i64,
    name: String,
    role: String,
    state: String,
    time_zone: Option<String>,
    day_order: String,
    hours_24: bool,
    us_units: bool,
}

impl Holder {
    fn person(self, via: Via) -> Result<Person, Error> {
        let role = Role::from_word(&self.role)
            .ok_or_else(|| Error::broken("reading a member", "unknown role"))?;
        let taste = Taste {
            zone: self.time_zone.as_deref().and_then(Zone::named),
            day_order: DayOrder::from_word(&self.day_order),
            hours_24: self.hours_24,
            us_units: self.us_units,
        };
        Ok(Person {
            id: self.id,
            name: self.name,
            role,
            paused: self.state == "paused",
            taste,
            via,
        })
    }
}

/// Whether the member has come in and not left. Not as a list of words: SQLite would read such a
/// question anew at every request.
#[diesel::dsl::auto_type(no_type_alias)]
fn is_in() -> _ {
    members::state.eq("active").or(members::state.eq("paused"))
}

/// What goes up with every change, as of one moment: the pulse's count, and that of the people.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = pulse)]
pub(super) struct Counts {
    /// The pulse's own: of changes of what a board shows.
    #[diesel(column_name = n)]
    pub(super) beat: i64,
    /// Of changes of people, and of sessions that ended.
    pub(super) people: i64,
}

pub(super) fn counts(conn: &mut Conn) -> Result<Counts, Error> {
    Ok(
        ask_engine!(conn, conn => pulse::table.find(1).select(Counts::as_select()).get_result(conn))?,
    )
}

/// Somebody, by what they were recognised, and the counts of that moment: they come with who is
/// asking, so that a page need not ask for them.
pub(super) type Recognised<R> = Option<(Person, R, Counts)>;

pub(super) fn session(conn: &mut Conn, hash: &[u8]) -> Result<Recognised<SessionRow>, Error> {
    let found: Option<(SessionRow, Holder, Counts)> = ask_engine!(conn, conn => sessions::table
        .inner_join(members::table.on(members::id.eq(sessions::member_id)))
        .inner_join(pulse::table.on(pulse::id.eq(1)))
        .filter(sessions::token_hash.eq(hash))
        .filter(is_in())
        .select((SessionRow::as_select(), Holder::as_select(), Counts::as_select()))
        .get_result(conn)
        .optional())?;
    found
        .map(|(row, holder, counts)| Ok((holder.person(Via::Session(row.id))?, row, counts)))
        .transpose()
}

pub(super) fn token(conn: &mut Conn, hash: &[u8]) -> Result<Recognised<TokenRow>, Error> {
    let found: Option<(TokenRow, Holder, Counts)> = api_tokens::table
        .inner_join(members::table.on(members::id.eq(api_tokens::member_id)))
        .inner_join(pulse::table.on(pulse::id.eq(1)))
        .filter(api_tokens::token_hash.eq(hash))
        .filter(is_in())
        .select((TokenRow::as_select(), Holder::as_select(), Counts::as_select()))
        .get_result(conn)
        .optional()?;
    found
        .map(|(row, holder, counts)| Ok((holder.person(Via::Token(row.id))?, row, counts)))
        .transpose()
}

pub(super) fn mark_seen(tx: &mut Tx<'_>, now: Moment, via: Via) -> Result<(), Error> {
    match via {
        Via::Session(id) => diesel::update(sessions::table.find(id))
            .set(sessions::seen_s.eq(now.0))
            .execute(tx.conn())?,
        Via::Token(id) => diesel::update(api_tokens::table.find(id))
            .set(api_tokens::seen_s.eq(now.0))
            .execute(tx.conn())?,
    };
    Ok(())
}

/// Notes that whoever holds this showed a second factor.
pub(super) fn raise(tx: &mut Tx<'_>, hash: &[u8]) -> Result<(), Error> {
    diesel::update(sessions::table.filter(sessions::token_hash.eq(hash)))
        .set(sessions::second_factor.eq(true))
        .execute(tx.conn())?;
    diesel::update(api_tokens::table.filter(api_tokens::token_hash.eq(hash)))
        .set(api_tokens::second_factor.eq(true))
        .execute(tx.conn())?;
    Ok(())
}

/// As [`raise`], for a session that is open.
pub(super) fn raise_session(tx: &mut Tx<'_>, id: i64) -> Result<(), Error> {
    diesel::update(sessions::table.find(id))
        .set(sessions::second_factor.eq(true))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn insert_session(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    hash: &[u8],
    (agent, address): (&str, &str),
) -> Result<(), Error> {
    diesel::insert_into(sessions::table)
        .values((
            sessions::member_id.eq(member),
            sessions::token_hash.eq(hash),
            sessions::agent.eq(agent),
            sessions::address.eq(address),
            sessions::created_s.eq(now.0),
            sessions::seen_s.eq(now.0),
            sessions::expires_s.eq(now.plus(LONGEST_S).0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn insert_token(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    hash: &[u8],
    label: &str,
) -> Result<(), Error> {
    diesel::insert_into(api_tokens::table)
        .values((
            api_tokens::member_id.eq(member),
            api_tokens::token_hash.eq(hash),
            api_tokens::label.eq(label),
            api_tokens::created_s.eq(now.0),
            api_tokens::expires_s.eq(now.plus(TOKEN_S).0),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn delete_session(tx: &mut Tx<'_>, member: i64, id: i64) -> Result<(), Error> {
    let own = sessions::table.filter(sessions::id.eq(id)).filter(sessions::member_id.eq(member));
    found(diesel::delete(own).execute(tx.conn())?)
}

pub(super) fn delete_token(tx: &mut Tx<'_>, member: i64, id: i64) -> Result<(), Error> {
    let own =
        api_tokens::table.filter(api_tokens::id.eq(id)).filter(api_tokens::member_id.eq(member));
    found(diesel::delete(own).execute(tx.conn())?)
}

fn found(rows: usize) -> Result<(), Error> {
    if rows == 0 { Err(Error::NotFound) } else { Ok(()) }
}

pub(super) fn delete_all(tx: &mut Tx<'_>, member: i64, keep: Option<i64>) -> Result<(), Error> {
    let keep = keep.unwrap_or(-1);
    diesel::delete(
        sessions::table.filter(sessions::member_id.eq(member)).filter(sessions::id.ne(keep)),
    )
    .execute(tx.conn())?;
    diesel::delete(api_tokens::table.filter(api_tokens::member_id.eq(member)))
        .execute(tx.conn())?;
    Ok(())
}

pub(super) fn sessions_of(conn: &mut Conn, member: i64) -> Result<Vec<SessionRow>, Error> {
    Ok(sessions::table
        .filter(sessions::member_id.eq(member))
        .order((sessions::seen_s.desc(), sessions::id.desc()))
        .select(SessionRow::as_select())
        .load(conn)?)
}

pub(super) fn tokens_of(conn: &mut Conn, member: i64) -> Result<Vec<TokenRow>, Error> {
    Ok(api_tokens::table
        .filter(api_tokens::member_id.eq(member))
        .order(api_tokens::id.desc())
        .select(TokenRow::as_select())
        .load(conn)?)
}

pub(super) fn delete_expired(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    let idle = now.plus(-IDLE_S).0;
    diesel::delete(
        sessions::table.filter(sessions::expires_s.le(now.0).or(sessions::seen_s.le(idle))),
    )
    .execute(tx.conn())?;
    diesel::delete(api_tokens::table.filter(api_tokens::expires_s.le(now.0))).execute(tx.conn())?;
    Ok(())
}
