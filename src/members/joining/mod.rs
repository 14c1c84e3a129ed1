//! Coming in: the first lead, the invited, and those who apply.

mod pages;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::links::{self, Link, Purpose};
use crate::members::{self, Email, Member, NewMember, State, addressed, email, mail, store};
use crate::outbox::Recipient;
use crate::secrets::Key;
use crate::sessions::Role;
use crate::studio::Studio;
use crate::web::Routes;

/// What the first lead says about the studio and themselves.
#[derive(Clone, Debug)]
pub(super) struct First {
    /// The studio as it shall be.
    pub(super) studio: Studio,
    /// The first lead.
    pub(super) lead: NewMember,
}

/// Whether this secret may set the studio up.
pub(super) fn setting_up(
    conn: &mut Conn,
    now: Moment,
    (key, secret): (&Key, &str),
) -> Result<Link, Error> {
    let link = links::open(conn, key, now, secret, &[Purpose::SetUp])?;
    if store::is_empty(conn)? {
        return Ok(link);
    }
    Err(Error::refused(
        "set-up-done",
        "The studio is set up already. Sign in, or ask a lead for an invitation.",
    ))
}

/// Sets the studio up with its first lead, whose link was printed on this very machine.
pub(super) fn set_up(
    tx: &mut Tx<'_>,
    now: Moment,
    (key, secret): (&Key, &str),
    first: &First,
) -> Result<i64, Error> {
    let link = setting_up(tx, now, (key, secret))?;
    links::use_up(tx, now, &link)?;
    let studio = Studio { version: crate::studio::load(tx)?.version, ..first.studio.clone() };
    crate::studio::change(tx, &studio)?;
    members::put(tx, now, &first.lead)
}

/// Who asks to come in. Their row is made only when they have proven their address.
#[derive(Clone, Debug, serde::Serialize, serde::Deserialize)]
pub(super) struct Application {
    pub(super) name: String,
    pub(super) email: String,
    pub(super) note: String,
}

/// Answers an application by letter: to an unknown address, how to prove it; to a known one, that
/// it is known. Both take the same writes.
pub(super) fn apply(
    tx: &mut Tx<'_>,
    now: Moment,
    studio: &str,
    wish: &Application,
) -> Result<(), Error> {
    let about = mail::About { studio: studio.to_owned(), ..mail::About::default() };
    let payload = serde_json::to_string(wish).map_err(|e| Error::broken("application", e))?;
    let known = store::by_key(tx, &email::key(&wish.email))?;
    let (kind, purpose, member, to) = match known {
        None => {
            let to =
                Recipient { member_id: None, name: wish.name.clone(), address: wish.email.clone() };
            ("application_proof", Purpose::Verify, None, to)
        }
        Some(member) if member.state.may_sign_in() => {
            let to = addressed(member).ok_or(Error::NotFound)?;
            ("application_known", Purpose::Reset, to.member_id, to)
        }
        Some(member) => {
            let to = addressed(member).ok_or(Error::NotFound)?;
            ("application_waits", Purpose::Verify, to.member_id, to)
        }
    };
    let carries = (purpose == Purpose::Verify && member.is_none()).then_some(payload.as_str());
    let link = links::issue(tx, now, purpose, member, carries)?;
    mail::with_link(tx, now, kind, (to, &link), &about)
}

/// The application that this secret proves.
pub(super) fn proving(
    conn: &mut Conn,
    now: Moment,
    (key, secret): (&Key, &str),
) -> Result<(Link, Application), Error> {
    let link = links::open(conn, key, now, secret, &[Purpose::Verify])?;
    let payload = link.payload.as_deref().ok_or(Error::NotFound)?;
    let wish = serde_json::from_str(payload).map_err(|e| Error::broken("application", e))?;
    Ok((link, wish))
}

/// Makes an application whose address is proven, and tells the applicant and the leads.
pub(super) fn prove(
    tx: &mut Tx<'_>,
    now: Moment,
    (key, secret): (&Key, &str),
    studio: &str,
) -> Result<(), Error> {
    let (link, wish) = proving(tx, now, (key, secret))?;
    links::use_up(tx, now, &link)?;
    let email = Email::read(&wish.email)?;
    if store::by_key(tx, email.key())?.is_some() {
        return Err(Error::refused(
            "known-already",
            "The studio knows this address already. Sign in, or wait for the answer by letter.",
        ));
    }
    let new = NewMember {
        name: wish.name,
        email: wish.email,
        role: Role::Newcomer,
        password_hash: None,
        verified: true,
    };
    let id = store::insert(tx, now, &new, &email, State::Applied)?;
    store::set_note(tx, id, &wish.note)?;
    let about = mail::About { studio: studio.to_owned(), who: new.name, ..mail::About::default() };
    let applicant = members::recipient(tx, id)?;
    mail::plain(tx, now, "application_received", (applicant, format!("member {id}")), &about)?;
    for lead in members::leads(tx)? {
        let cause = format!("member {id} to {}", lead.member_id.unwrap_or_default());
        mail::plain(tx, now, "application_waiting", (lead, cause), &about)?;
    }
    Ok(())
}

/// Invites somebody whose row exists, and makes earlier invitations useless.
pub(in crate::members) fn invite(
    tx: &mut Tx<'_>,
    now: Moment,
    (member, kind): (i64, &'static str),
    about: &mail::About,
) -> Result<Link, Error> {
    links::cancel(tx, now, member, &[Purpose::Invitation])?;
    let link = links::issue(tx, now, Purpose::Invitation, Some(member), None)?;
    let to = members::recipient(tx, member)?;
    mail::with_link(tx, now, kind, (to, &link), about)?;
    Ok(link)
}

/// Who this invitation is for.
pub(super) fn invited(
    conn: &mut Conn,
    now: Moment,
    (key, secret): (&Key, &str),
) -> Result<(Link, Member), Error> {
    let link = links::open(conn, key, now, secret, &[Purpose::Invitation])?;
    let member = store::by_id(conn, link.member_id.ok_or(Error::NotFound)?)?;
    if member.state != State::Invited {
        return Err(Error::refused(
            "come-already",
            "This invitation was taken up already. Sign in instead.",
        ));
    }
    Ok((link, member))
}

/// An invited person comes in with a name and a password.
pub(super) fn welcome(
    tx: &mut Tx<'_>,
    now: Moment,
    (key, secret): (&Key, &str),
    (name, hash): (&str, &str),
) -> Result<i64, Error> {
    let (link, member) = invited(tx, now, (key, secret))?;
    links::use_up(tx, now, &link)?;
    store::come_in(tx, now, member.id, (name, hash))?;
    Ok(member.id)
}

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}
