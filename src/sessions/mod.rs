//! Sessions and API tokens: who is asking.

mod browsers;
mod store;

use serde::Serialize;

use crate::clock::{Moment, Zone};
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::secrets;
pub use browsers::Browsers;
pub use store::{SessionRow, TokenRow};

/// What a person may do; each includes those before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Learning the room; books while a lead is on duty.
    Newcomer,
    /// Books alone and hands in rolls.
    Member,
    /// Runs the studio.
    Lead,
}

impl Role {
    /// The word for it, in code, database and pages.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Role::Newcomer => "newcomer",
            Role::Member => "member",
            Role::Lead => "lead",
        }
    }

    /// The role of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Role> {
        [Role::Newcomer, Role::Member, Role::Lead].into_iter().find(|r| r.word() == word)
    }
}

/// How a person likes dates, times and amounts written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taste {
    /// Their own time zone, if it is not the studio's.
    pub zone: Option<Zone>,
    /// Which part of a date comes first.
    pub day_order: DayOrder,
    /// Hours to 24 rather than a.m. and p.m.
    pub hours_24: bool,
    /// US units beside the metric ones.
    pub us_units: bool,
}

impl Default for Taste {
    fn default() -> Taste {
        Taste { zone: None, day_order: DayOrder::DayMonth, hours_24: true, us_units: false }
    }
}

/// Which part of a date comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DayOrder {
    /// Tuesday 14 October 2026
    DayMonth,
    /// Tuesday, October 14, 2026
    MonthDay,
    /// Tuesday 2026-10-14
    YearMonth,
}

impl DayOrder {
    /// The word for it in the database and in forms.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            DayOrder::DayMonth => "day_month",
            DayOrder::MonthDay => "month_day",
            DayOrder::YearMonth => "year_month",
        }
    }

    /// The order of that word; the first where there is none.
    #[must_use]
    pub fn from_word(word: &str) -> DayOrder {
        match word {
            "month_day" => DayOrder::MonthDay,
            "year_month" => DayOrder::YearMonth,
            _ => DayOrder::DayMonth,
        }
    }
}

/// By what a person was recognised.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Via {
    /// A browser's session.
    Session(i64),
    /// An API token.
    Token(i64),
}

/// Somebody who is signed in.
#[derive(Clone, Debug)]
pub struct Person {
    /// Member id.
    pub id: i64,
    /// Name as they gave it.
    pub name: String,
    /// What they may do.
    pub role: Role,
    /// On a break: may look, but not book or hand in.
    pub paused: bool,
    /// How they like things written.
    pub taste: Taste,
    /// By what they were recognised.
    pub via: Via,
}

/// A session nobody used for this long is over.
pub const IDLE_S: i64 = 14 * 86_400;
/// However much it is used, a session is over after this long.
pub const LONGEST_S: i64 = 60 * 86_400;
/// An API token's life.
pub const TOKEN_S: i64 = 365 * 86_400;
/// How stale the "last seen" of a session may be; so that reading pages seldom writes.
const SEEN_EVERY_S: i64 = 600;

/// What else is known of a session or token.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Proof {
    /// It should be marked as seen.
    pub is_stale: bool,
    /// A second factor was shown for it.
    pub second_factor: bool,
    /// The pulse's count when it was looked up.
    pub beat: i64,
}

/// Whose token this is, if it stands.
///
/// # Errors
/// As the database's.
pub fn of_token(
    conn: &mut Conn,
    now: Moment,
    token: &str,
) -> Result<Option<(Person, Proof)>, Error> {
    let found = store::token(conn, &secrets::hash(token))?;
    Ok(found.filter(|(_, row, _)| now.0 < row.expires_s).map(|(person, row, counts)| {
        let is_stale = row.seen_s.is_none_or(|s| now.0 - s > SEEN_EVERY_S);
        (person, Proof { is_stale, second_factor: row.second_factor, beat: counts.beat })
    }))
}

/// Notes that a session or token was used just now.
///
/// # Errors
/// As the database's.
pub fn mark_seen(tx: &mut Tx<'_>, now: Moment, via: Via) -> Result<(), Error> {
    store::mark_seen(tx, now, via)
}

/// Opens a session and returns its token, which is shown to the browser and kept nowhere.
///
/// # Errors
/// As the database's.
pub fn open(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    agent: &str,
    address: &str,
) -> Result<String, Error> {
    let token = secrets::token();
    let agent: String = agent.chars().filter(|c| !c.is_control()).take(200).collect();
    store::insert_session(tx, now, member, &secrets::hash(&token), (&agent, address))?;
    Ok(token)
}

/// Issues an API token, shown once.
///
/// # Errors
/// As the database's.
pub fn issue_token(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    label: &str,
) -> Result<String, Error> {
    let token = secrets::token();
    store::insert_token(tx, now, member, &secrets::hash(&token), label)?;
    Ok(token)
}

/// Notes that whoever holds this new session or token showed a second factor.
///
/// # Errors
/// As the database's.
pub fn raise(tx: &mut Tx<'_>, token: &str) -> Result<(), Error> {
    store::raise(tx, &secrets::hash(token))
}

/// As [`raise`], for a session that is open.
///
/// # Errors
/// As the database's.
pub fn raise_session(tx: &mut Tx<'_>, session: i64) -> Result<(), Error> {
    store::raise_session(tx, session)
}

/// Ends one of a member's own sessions; others' are not found.
///
/// # Errors
/// [`Error::NotFound`] where there is none such.
pub fn close(tx: &mut Tx<'_>, member: i64, session: i64) -> Result<(), Error> {
    store::delete_session(tx, member, session)
}

/// Ends one of a member's own tokens.
///
/// # Errors
/// [`Error::NotFound`] where there is none such.
pub fn revoke_token(tx: &mut Tx<'_>, member: i64, token: i64) -> Result<(), Error> {
    store::delete_token(tx, member, token)
}

/// Signs a member out everywhere: sessions (but `keep`) and tokens.
///
/// # Errors
/// As the database's.
pub fn close_all(tx: &mut Tx<'_>, member: i64, keep: Option<i64>) -> Result<(), Error> {
    store::delete_all(tx, member, keep)
}

/// A member's own sessions, the latest used first.
///
/// # Errors
/// As the database's.
pub fn of_member(conn: &mut Conn, member: i64) -> Result<Vec<SessionRow>, Error> {
    store::sessions_of(conn, member)
}

/// A member's own API tokens.
///
/// # Errors
/// As the database's.
pub fn tokens_of_member(conn: &mut Conn, member: i64) -> Result<Vec<TokenRow>, Error> {
    store::tokens_of(conn, member)
}

/// Forgets sessions and tokens that are over.
///
/// # Errors
/// As the database's.
pub fn sweep(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    store::delete_expired(tx, now)
}
