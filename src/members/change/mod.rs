//! What a member changes only with their password: the password itself, their address, leaving.

mod pages;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::links::{self, Link, Purpose};
use crate::members::{Email, Member, keep_a_lead, mail, recipient, second_factor, store};
use crate::outbox::{self, Recipient};
use crate::secrets::Key;
use crate::sessions;
use crate::web::Routes;

/// Asks for agreement at the present address first; the new one is asked when that is given.
pub(super) fn ask_address(
    tx: &mut Tx<'_>,
    now: Moment,
    id: i64,
    email: &Email,
    studio: &str,
) -> Result<(), Error> {
    links::cancel(tx, now, id, &[Purpose::AddressOld, Purpose::AddressNew])?;
    let link = links::issue(tx, now, Purpose::AddressOld, Some(id), Some(email.shown()))?;
    let to = recipient(tx, id)?;
    mail::with_link(tx, now, "address_old", (to, &link), &about(studio, email.shown()))
}

fn about(studio: &str, address: &str) -> mail::About {
    mail::About { studio: studio.to_owned(), address: address.to_owned(), ..mail::About::default() }
}

/// Asks for agreement at the new address, which is the last that is needed.
pub(super) fn ask_new_address(
    tx: &mut Tx<'_>,
    now: Moment,
    member: &Member,
    email: &Email,
    studio: &str,
) -> Result<Link, Error> {
    let link = links::issue(tx, now, Purpose::AddressNew, Some(member.id), Some(email.shown()))?;
    let about = about(studio, email.shown());
    mail::with_link(tx, now, "address_new", (at(member, email), &link), &about)?;
    Ok(link)
}

/// A member at an address that is not theirs yet.
fn at(member: &Member, email: &Email) -> Recipient {
    Recipient {
        member_id: Some(member.id),
        name: member.name.clone(),
        address: email.shown().to_owned(),
    }
}

/// The change of address that this secret agrees to.
pub(super) fn agreeing(
    conn: &mut Conn,
    now: Moment,
    (key, secret): (&Key, &str),
) -> Result<(Link, Member, Email), Error> {
    let both = [Purpose::AddressOld, Purpose::AddressNew];
    let link = links::open(conn, key, now, secret, &both)?;
    let member = store::by_id(conn, link.member_id.ok_or(Error::NotFound)?)?;
    let email = Email::read(link.payload.as_deref().unwrap_or_default())?;
    Ok((link, member, email))
}

/// Takes an agreement. Says whether the address is changed now, or the new one must still agree.
pub(super) fn agree(
    tx: &mut Tx<'_>,
    now: Moment,
    opening: (&Key, &str),
    studio: &str,
) -> Result<bool, Error> {
    let (link, member, email) = agreeing(tx, now, opening)?;
    links::use_up(tx, now, &link)?;
    if link.purpose == Purpose::AddressOld {
        ask_new_address(tx, now, &member, &email, studio)?;
        return Ok(false);
    }
    let (about, new) = (about(studio, email.shown()), at(&member, &email));
    if store::by_key(tx, email.key())?.is_some_and(|m| m.id != member.id) {
        return Err(Error::refused(
            "known-already",
            "Another entry of the studio has this address. Use another one, or ask a lead.",
        ));
    }
    let old = recipient(tx, member.id)?;
    store::set_email(tx, now, member.id, &email)?;
    links::cancel(tx, now, member.id, &[Purpose::Reset, Purpose::AddressOld])?;
    for (to, which) in [(old, "old"), (new, "new")] {
        mail::plain(tx, now, "address_changed", (to, format!("{which} link {}", link.id)), &about)?;
    }
    Ok(true)
}

/// A member leaves: what they did stays on record, but without name, address or any way in.
pub(super) fn leave(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<(), Error> {
    keep_a_lead(tx, id)?;
    sessions::close_all(tx, id, None)?;
    links::forget_member(tx, now, id)?;
    outbox::forget_member(tx, id)?;
    second_factor::forget_member(tx, id)?;
    store::erase(tx, now, id, "A former member")
}

pub(in crate::members) use pages::prove_again;

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}
