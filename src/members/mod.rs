//! The people of the studio: how they come in, who they are, how they leave.

pub(crate) mod api;
mod by_hand;
mod change;
mod email;
mod joining;
mod mail;
mod own;
pub mod passwords;
mod people;
mod reset;
mod rules;
mod second_factor;
mod settings;
mod sign_in;
mod store;

use std::collections::BTreeMap;

use crate::app::App;
use crate::clock::Moment;
use crate::db::like::holds;
use crate::db::{Conn, Tx};
use crate::error::{Error, Faults};
use crate::links::{self, Purpose};
use crate::outbox::Recipient;
use crate::sessions::{Role, Taste};
use crate::studio::Studio;
use crate::throttle::Limit;
use crate::web::Routes;

pub use by_hand::{
    forget_second_factor_now, invite_now, readdress_now, reset_now, sign_out_now, token_now,
};
pub use email::Email;
pub use rules::State;

/// Somebody of the studio.
#[derive(Clone, Debug)]
pub struct Member {
    /// Their id.
    pub id: i64,
    /// Their name as they gave it.
    pub name: String,
    /// Their address; nobody's who left.
    pub email: Option<String>,
    /// What they may do.
    pub role: Role,
    /// Where they stand.
    pub state: State,
    /// When their address was proven.
    pub verified: Option<Moment>,
    /// How they like things written.
    pub taste: Taste,
    /// What they wrote when they applied.
    pub note: String,
    /// When their row was made.
    pub created: Moment,
    /// The version an edit form is made from.
    pub version: i64,
}

/// Somebody to be put into the members' list.
#[derive(Clone, Debug)]
pub struct NewMember {
    /// Their name.
    pub name: String,
    /// Their address as typed.
    pub email: String,
    /// What they may do.
    pub role: Role,
    /// What [`passwords::hash`] made of their password, if they have one.
    pub password_hash: Option<String>,
    /// Whether the address is known to be theirs: then they are in, else they are invited.
    pub verified: bool,
}

/// Whether nobody has ever come in.
///
/// # Errors
/// As the database's.
pub fn is_empty(conn: &mut Conn) -> Result<bool, Error> {
    store::is_empty(conn)
}

/// To whom a letter for this member goes.
///
/// # Errors
/// [`Error::NotFound`] where there is no such member, or they left.
pub fn recipient(conn: &mut Conn, id: i64) -> Result<Recipient, Error> {
    addressed(store::by_id(conn, id)?).ok_or(Error::NotFound)
}

/// To whom a letter for this member goes, if they can be written to: who left is not.
///
/// # Errors
/// As the database's.
pub fn reader(conn: &mut Conn, id: i64) -> Result<Option<Recipient>, Error> {
    match recipient(conn, id) {
        Err(Error::NotFound) => Ok(None),
        found => found.map(Some),
    }
}

fn addressed(member: Member) -> Option<Recipient> {
    let address = member.email?;
    Some(Recipient { member_id: Some(member.id), name: member.name, address })
}

/// The active leads as recipients of letters.
///
/// # Errors
/// As the database's.
pub fn leads(conn: &mut Conn) -> Result<Vec<Recipient>, Error> {
    Ok(store::leads(conn)?.into_iter().filter_map(addressed).collect())
}

/// Who has this address.
///
/// # Errors
/// As the database's.
pub fn by_address(conn: &mut Conn, address: &str) -> Result<Option<i64>, Error> {
    Ok(store::by_key(conn, &email::key(address))?.map(|m| m.id))
}

/// What somebody may do and what they are called, if they are in the studio now.
///
/// # Errors
/// As the database's.
pub fn standing(conn: &mut Conn, id: i64) -> Result<Option<(Role, String)>, Error> {
    match store::by_id(conn, id) {
        Ok(m) if m.state.may_sign_in() => Ok(Some((m.role, m.name))),
        Ok(_) | Err(Error::NotFound) => Ok(None),
        Err(e) => Err(e),
    }
}

/// Everybody who is in the studio now, by name.
///
/// # Errors
/// As the database's.
pub fn everybody(conn: &mut Conn) -> Result<Vec<(i64, String)>, Error> {
    let all = store::present(conn)?;
    Ok(all.into_iter().filter(|m| m.state.may_sign_in()).map(|m| (m.id, m.name)).collect())
}

impl Member {
    /// Whether each of the words stands in their name or address.
    #[must_use]
    pub fn fits(&self, words: &[String]) -> bool {
        holds(&[&self.name, self.email.as_deref().unwrap_or_default()], words)
    }
}

/// Those on the members' list whose name or address the words fit, by name. For leads.
///
/// # Errors
/// As the database's.
pub fn found(conn: &mut Conn, words: &[String]) -> Result<Vec<Member>, Error> {
    Ok(store::present(conn)?.into_iter().filter(|m| m.fits(words)).collect())
}

/// The names of these members; who left has none of their own.
///
/// # Errors
/// As the database's.
pub fn names(conn: &mut Conn, ids: &[i64]) -> Result<BTreeMap<i64, String>, Error> {
    store::names(conn, ids)
}

/// Puts somebody into the members' list.
///
/// # Errors
/// A sentence beside `name` or `email`, also when the address is somebody's already.
pub fn put(tx: &mut Tx<'_>, now: Moment, new: &NewMember) -> Result<i64, Error> {
    let email = Email::read(&new.email)?;
    check_name(&new.name)?;
    let taken = || {
        Error::field("email", "Somebody of the studio has this address already; look under People.")
    };
    if store::by_key(tx, email.key())?.is_some() {
        return Err(taken());
    }
    let state = if new.verified { State::Active } else { State::Invited };
    store::insert(tx, now, new, &email, state)
}

/// A newcomer whose induction is signed becomes a member, and is told; nobody else is changed. Says
/// whether it was so.
///
/// # Errors
/// As the database's.
pub fn finish_induction(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<bool, Error> {
    if store::by_id(tx, id)?.role != Role::Newcomer {
        return Ok(false);
    }
    store::set_role(tx, id, Role::Member)?;
    let member = store::by_id(tx, id)?;
    let about = mail::About { studio: crate::studio::load(tx)?.name, ..mail::About::default() };
    let cause = format!("member {id} version {}", member.version);
    if let Some(to) = addressed(member) {
        mail::plain(tx, now, "induction_done", (to, cause), &about)?;
    }
    Ok(true)
}

/// What is said of a time zone nobody knows.
const ZONE_FAULT: &str = "This is no time zone. Write its IANA name, such as Europe/Dublin.";

/// Letters that somebody can have sent to an address by asking for them.
const LETTERS_TO_ACCOUNT: Limit = Limit { tries: 5, within_s: 3600 };
/// The same from one network.
const LETTERS_FROM_NETWORK: Limit = Limit { tries: 20, within_s: 3600 };

/// How letters that a stranger asks for are counted.
fn counted_letters(what: &str, typed: &str, address: &str) -> Vec<(String, Limit)> {
    let limits = (LETTERS_TO_ACCOUNT, LETTERS_FROM_NETWORK);
    sign_in::counted(what, &email::key(typed), address, limits)
}

/// The most characters a name may have.
const LONGEST_NAME: usize = 80;

fn check_name(name: &str) -> Result<(), Error> {
    let count = name.trim().chars().count();
    if count == 0 {
        return Err(Error::field("name", "Please give a name."));
    }
    if count > LONGEST_NAME {
        return Err(Error::field(
            "name",
            format!("A name may have {LONGEST_NAME} characters; this has {count}."),
        ));
    }
    if rules::turns_writing(name) || name.contains(['\n', '\t']) {
        return Err(Error::field(
            "name",
            "This name holds an invisible sign that turns the writing around. Please type it \
             afresh.",
        ));
    }
    Ok(())
}

/// Refuses what would leave the studio without an active lead. Inside the change's own
/// transaction, so that two leads cannot both go at once.
fn keep_a_lead(tx: &mut Tx<'_>, going: i64) -> Result<(), Error> {
    let leads: Vec<i64> = store::leads(tx)?.into_iter().map(|m| m.id).collect();
    if leads == [going] {
        return Err(Error::refused(
            "last-lead",
            "This is the studio's last active lead. Make somebody else a lead first, or nobody \
             could let people in any more.",
        ));
    }
    Ok(())
}

/// A name as typed, if it can be taken.
fn read_name(typed: &str) -> Result<String, Error> {
    check_name(typed)?;
    Ok(typed.trim().to_owned())
}

/// Whether a new password is good enough for somebody with these own words.
fn check_password(studio: &Studio, password: &str, own: &[&str]) -> Result<(), Error> {
    let least = usize::try_from(studio.password_length).unwrap_or(12);
    let words: Vec<&str> = own.iter().copied().chain([studio.name.as_str()]).collect();
    match rules::password_fault(password, least, &words) {
        Some(fault) => Err(Error::field("password", fault)),
        None => Ok(()),
    }
}

/// Several readings of one form: all their faults together.
fn all_faults(readings: Vec<Result<(), Error>>) -> Result<(), Error> {
    let mut faults = Faults::new();
    for reading in readings {
        match reading {
            Ok(()) => {}
            Err(Error::Invalid(some)) => faults.extend(some),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() { Ok(()) } else { Err(Error::Invalid(faults)) }
}

/// The one-time address at which the first lead sets the studio up, while there is no member at
/// all. For threads that may block.
///
/// # Errors
/// As the database's.
pub fn first_link(app: &App) -> Result<Option<String>, Error> {
    let now = app.clock.now();
    let link = app.db.write_now(|tx| {
        if !store::is_empty(tx)? {
            return Ok(None);
        }
        links::issue(tx, now, Purpose::SetUp, None, None).map(Some)
    })?;
    Ok(link.map(|l| l.url(&app.key, &app.config.base_url)))
}

/// The doors of this room.
pub fn routes(open: &mut Routes) {
    sign_in::routes(open);
    second_factor::routes(open);
    joining::routes(open);
    reset::routes(open);
    own::routes(open);
    change::routes(open);
    api::routes(open);
    people::routes(open);
    settings::routes(open);
}
