//! A new password by a single-use link: the same answer and the same work for every address.

mod pages;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::links::{self, Link, Purpose};
use crate::members::{Member, addressed, email, mail, store};
use crate::outbox::Recipient;
use crate::secrets::Key;
use crate::sessions;
use crate::web::Routes;

/// Writes to whoever has this address. For an address that nobody has, the same is done and taken
/// back.
pub(super) fn ask(tx: &mut Tx<'_>, now: Moment, typed: &str, studio: &str) -> Result<(), Error> {
    let known = store::by_key(tx, &email::key(typed))?.filter(|m| m.state.may_sign_in());
    match known.and_then(addressed) {
        Some(to) => send(tx, now, to, studio).map(|_| ()),
        None => {
            let nobody = Recipient {
                member_id: None,
                name: "Nobody".to_owned(),
                address: "nobody@localhost".to_owned(),
            };
            tx.as_if(|tx| send(tx, now, nobody, studio)).map(|_| ())
        }
    }
}

/// Sends a link, and makes earlier ones useless.
pub(in crate::members) fn send(
    tx: &mut Tx<'_>,
    now: Moment,
    to: Recipient,
    studio: &str,
) -> Result<Link, Error> {
    links::cancel(tx, now, to.member_id.unwrap_or(-1), &[Purpose::Reset])?;
    let link = links::issue(tx, now, Purpose::Reset, to.member_id, None)?;
    let about = mail::About { studio: studio.to_owned(), ..mail::About::default() };
    mail::with_link(tx, now, "reset", (to, &link), &about)?;
    Ok(link)
}

/// Whose password this secret may set.
pub(super) fn opened(
    conn: &mut Conn,
    now: Moment,
    (key, secret): (&Key, &str),
) -> Result<(Link, Member), Error> {
    let link = links::open(conn, key, now, secret, &[Purpose::Reset])?;
    let member = store::by_id(conn, link.member_id.ok_or(Error::NotFound)?)?;
    if member.state.may_sign_in() { Ok((link, member)) } else { Err(Error::NotFound) }
}

/// Sets the password, uses the link up, signs the member out everywhere and tells them.
pub(super) fn set(
    tx: &mut Tx<'_>,
    now: Moment,
    opening: (&Key, &str),
    (hash, studio): (&str, &str),
) -> Result<(), Error> {
    let (link, member) = opened(tx, now, opening)?;
    links::use_up(tx, now, &link)?;
    replace(tx, now, (member.id, None), (hash, studio))
}

/// Replaces a member's password; every other session and every token ends.
pub(in crate::members) fn replace(
    tx: &mut Tx<'_>,
    now: Moment,
    (member, keep): (i64, Option<i64>),
    (hash, studio): (&str, &str),
) -> Result<(), Error> {
    store::set_password(tx, member, hash)?;
    links::cancel(tx, now, member, &[Purpose::Reset])?;
    sessions::close_all(tx, member, keep)?;
    let version = store::by_id(tx, member)?.version;
    let to = super::recipient(tx, member)?;
    let about = mail::About { studio: studio.to_owned(), ..mail::About::default() };
    let cause = format!("member {member} version {version}");
    mail::plain(tx, now, "password_changed", (to, cause), &about)
}

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}
