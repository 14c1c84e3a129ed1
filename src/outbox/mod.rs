//! The outbox: a letter is a row written in the same transaction as the change that causes it, so
//! that both happen or neither does. A worker takes it to the post later.

mod compose;
mod letters;
mod mailer;
mod pages;
mod store;
mod worker;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::web::Routes;

pub use letters::write;
pub use mailer::{Mailer, Sent, check_smtp_url};
pub use store::{Depth, LetterRow};
pub use worker::{run, turn};

/// Where the worker puts the secret address, which no row may hold.
pub const LINK: &str = "⟦link⟧";

/// Stands in a letter where the studio's own address goes; the worker puts it in.
pub(crate) const SITE: &str = "⟦studio⟧";

/// To whom a letter goes.
#[derive(Clone, Debug)]
pub struct Recipient {
    /// The member, where it is one.
    pub member_id: Option<i64>,
    /// Their name.
    pub name: String,
    /// Their address.
    pub address: String,
}

/// A letter as it will be sent.
#[derive(Clone, Debug)]
pub struct Letter {
    /// What it is about, such as `reset`; a member may turn off optional kinds.
    pub kind: &'static str,
    /// To whom.
    pub to: Recipient,
    /// Its subject.
    pub subject: String,
    /// Its text; [`LINK`] stands where the secret address goes.
    pub body: String,
    /// Whether the reader may do without it.
    pub optional: bool,
    /// The single-use link it carries.
    pub link: Option<i64>,
    /// What must not be written twice, such as `bath 3 at its limit`.
    pub dedupe_key: String,
    /// Not before this.
    pub send_after: Moment,
}

/// Puts a letter into the outbox. A second one with the same dedupe key, and an optional one of a
/// kind its reader does not want, are quietly left out; says whether it was taken.
///
/// # Errors
/// As the database's.
pub fn post(tx: &mut Tx<'_>, now: Moment, letter: &Letter) -> Result<bool, Error> {
    if store::is_known(tx, &letter.dedupe_key)? {
        return Ok(false);
    }
    if let Some(member) = letter.to.member_id
        && letter.optional
        && store::is_unwanted(tx, member, letter.kind)?
    {
        return Ok(false);
    }
    store::insert(tx, now, letter)?;
    Ok(true)
}

/// How many letters wait, how many are parked, how old the oldest waiting one is.
///
/// # Errors
/// As the database's.
pub fn depth(conn: &mut Conn, now: Moment) -> Result<Depth, Error> {
    store::depth(conn, now)
}

/// Turns an optional kind of letter off or on for a member.
///
/// # Errors
/// As the database's.
pub fn want(tx: &mut Tx<'_>, member: i64, kind: &str, wanted: bool) -> Result<(), Error> {
    store::want(tx, member, kind, wanted)
}

/// The optional kinds of letter a member does not want.
///
/// # Errors
/// As the database's.
pub fn unwanted(conn: &mut Conn, member: i64) -> Result<Vec<String>, Error> {
    store::unwanted(conn, member)
}

/// Takes the names and addresses out of a leaver's letters, and drops what was not yet sent.
///
/// # Errors
/// As the database's.
pub fn forget_member(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    store::forget_member(tx, member)
}

/// Takes name, address, subject and text out of at most so many letters that left before this;
/// that they were sent, when and about what kind of thing stays.
///
/// # Errors
/// As the database's.
pub fn forget_texts(tx: &mut Tx<'_>, before: Moment, most: i64) -> Result<usize, Error> {
    store::forget_texts(tx, before, most)
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    pages::routes(open);
}
