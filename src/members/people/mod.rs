//! What leads do about people: invite, approve, decline, change roles, pause.

mod pages;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::links::{self, Link, Purpose};
use crate::members::{Member, NewMember, State, joining, keep_a_lead, mail, store};
use crate::outbox;
use crate::sessions::Role;
use crate::studio;
use crate::web::Routes;

/// The member, if still as the form found them.
fn unchanged(conn: &mut Conn, id: i64, version: i64) -> Result<Member, Error> {
    let member = store::by_id(conn, id)?;
    if member.version == version {
        Ok(member)
    } else {
        Err(studio::changed_meanwhile("This member's entry"))
    }
}

/// Invites somebody new by letter.
pub(in crate::members) fn invite(
    tx: &mut Tx<'_>,
    now: Moment,
    new: &NewMember,
    about: &mail::About,
) -> Result<(i64, Link), Error> {
    let id = super::put(tx, now, new)?;
    let link = joining::invite(tx, now, (id, "invitation"), about)?;
    Ok((id, link))
}

/// Sends an invitation that was not taken up once more; the earlier link no longer works.
pub(super) fn invite_again(
    tx: &mut Tx<'_>,
    now: Moment,
    id: i64,
    about: &mail::About,
) -> Result<(), Error> {
    in_state(store::by_id(tx, id)?, &[State::Invited], "has no invitation open")?;
    joining::invite(tx, now, (id, "invitation"), about).map(|_| ())
}

fn in_state(member: Member, states: &[State], else_said: &str) -> Result<Member, Error> {
    if states.contains(&member.state) {
        return Ok(member);
    }
    Err(Error::refused("state", format!("This member {else_said}. Open the page afresh.")))
}

/// Gives a member another role.
pub(super) fn set_role(
    tx: &mut Tx<'_>,
    (id, version): (i64, i64),
    role: Role,
) -> Result<(), Error> {
    let member = unchanged(tx, id, version)?;
    in_state(member, &[State::Invited, State::Active, State::Paused], "cannot have a role now")?;
    if role != Role::Lead {
        keep_a_lead(tx, id)?;
    }
    store::set_role(tx, id, role)
}

/// Puts a member on a break, and tells them.
pub(super) fn pause(
    tx: &mut Tx<'_>,
    now: Moment,
    (id, version): (i64, i64),
    about: &mail::About,
) -> Result<(), Error> {
    in_state(unchanged(tx, id, version)?, &[State::Active], "is not active")?;
    keep_a_lead(tx, id)?;
    store::set_state(tx, id, State::Paused)?;
    tell(tx, now, (id, "paused"), about)
}

/// Ends a member's break, and tells them.
pub(super) fn unpause(
    tx: &mut Tx<'_>,
    now: Moment,
    (id, version): (i64, i64),
    about: &mail::About,
) -> Result<(), Error> {
    in_state(unchanged(tx, id, version)?, &[State::Paused], "is not on a break")?;
    store::set_state(tx, id, State::Active)?;
    tell(tx, now, (id, "unpaused"), about)
}

fn tell(
    tx: &mut Tx<'_>,
    now: Moment,
    (id, kind): (i64, &'static str),
    about: &mail::About,
) -> Result<(), Error> {
    let version = store::by_id(tx, id)?.version;
    let to = super::recipient(tx, id)?;
    mail::plain(tx, now, kind, (to, format!("member {id} version {version}")), about)
}

/// Takes an applicant; the letter lets them in.
pub(super) fn approve(
    tx: &mut Tx<'_>,
    now: Moment,
    id: i64,
    about: &mail::About,
) -> Result<(), Error> {
    in_state(store::by_id(tx, id)?, &[State::Applied], "has no application open")?;
    store::set_state(tx, id, State::Invited)?;
    joining::invite(tx, now, (id, "application_approved"), about).map(|_| ())
}

/// Declines an application, or takes an invitation back; what is known of the person is erased.
pub(super) fn decline(
    tx: &mut Tx<'_>,
    now: Moment,
    id: i64,
    about: &mail::About,
) -> Result<(), Error> {
    let member = store::by_id(tx, id)?;
    let member = in_state(member, &[State::Applied, State::Invited], "has no application open")?;
    let applied = member.state == State::Applied;
    let mut to = super::recipient(tx, id)?;
    links::cancel(tx, now, id, &[Purpose::Invitation, Purpose::Verify])?;
    outbox::forget_member(tx, id)?;
    store::erase(tx, now, id, "Somebody who did not join")?;
    if applied {
        to.member_id = None;
        mail::plain(tx, now, "application_declined", (to, format!("member {id}")), about)?;
    }
    Ok(())
}

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}
