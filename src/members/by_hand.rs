//! What whoever keeps the server does for members by hand. For threads that may block.

use crate::app::App;
use crate::db::Tx;
use crate::db::acting::{Acting, By, on_behalf};
use crate::error::Error;
use crate::members::{
    Email, Member, NewMember, change, email, mail, people, recipient, reset, second_factor, store,
};
use crate::sessions;

/// A change made by whoever is at the machine, with its line in the trail.
fn at_machine<T>(
    app: &App,
    door: &str,
    change: impl Fn(&mut Tx<'_>) -> Result<T, Error>,
) -> Result<T, Error> {
    let acting = Acting {
        at: app.clock.now(),
        actor: None,
        by: By::Machine,
        door: door.to_owned(),
        thing: String::new(),
    };
    on_behalf(Some(acting), || app.db.write_now(change))
}

fn known(app: &App, typed: &str) -> Result<Member, Error> {
    let key = email::key(typed);
    let found = app.db.read_now(|conn| store::by_key(conn, &key))?;
    found.filter(|m| m.state.may_sign_in()).ok_or_else(|| {
        let typed: String = typed.chars().filter(|c| !c.is_control()).take(100).collect();
        Error::refused("unknown", format!("No member signs in with {typed}."))
    })
}

/// Invites somebody and returns the link that the letter also carries.
///
/// # Errors
/// A sentence about the field that is wrong.
pub fn invite_now(app: &App, new: &NewMember) -> Result<String, Error> {
    let (now, studio) = (app.clock.now(), app.studio().name.clone());
    let about = mail::About { studio, ..mail::About::default() };
    let (_, link) = at_machine(app, "member add", |tx| {
        let (id, link) = people::invite(tx, now, new, &about)?;
        tx.concerns(id);
        Ok((id, link))
    })?;
    Ok(link.url(&app.key, &app.config.base_url))
}

/// A link that sets a member's password; the letter carries it too.
///
/// # Errors
/// A sentence when nobody signs in with this address.
pub fn reset_now(app: &App, typed: &str) -> Result<String, Error> {
    let member = known(app, typed)?;
    let (now, studio) = (app.clock.now(), app.studio().name.clone());
    let link = at_machine(app, "member reset", |tx| {
        tx.concerns(member.id);
        let to = recipient(tx, member.id)?;
        reset::send(tx, now, to, &studio)
    })?;
    Ok(link.url(&app.key, &app.config.base_url))
}

/// Begins a change of address for who lost the old mailbox: only the new one is asked to agree.
/// Returns the link that its letter also carries.
///
/// # Errors
/// A sentence when nobody signs in with the old address, or the new one cannot be used.
pub fn readdress_now(app: &App, typed: &str, new: &str) -> Result<String, Error> {
    let (member, email) = (known(app, typed)?, Email::read(new)?);
    let (now, studio) = (app.clock.now(), app.studio().name.clone());
    let link = at_machine(app, "member address", |tx| {
        tx.concerns(member.id);
        if store::by_key(tx, email.key())?.is_some() {
            return Err(Error::refused(
                "known-already",
                format!("An entry of the studio has the address {} already.", email.shown()),
            ));
        }
        change::ask_new_address(tx, now, &member, &email, &studio)
    })?;
    Ok(link.url(&app.key, &app.config.base_url))
}

/// Takes the second factor from somebody who lost their device and their recovery codes.
///
/// # Errors
/// A sentence when nobody signs in with this address, or they have none.
pub fn forget_second_factor_now(app: &App, typed: &str) -> Result<(), Error> {
    let (member, now, studio) = (known(app, typed)?, app.clock.now(), app.studio().name.clone());
    at_machine(app, "member forget-second-factor", |tx| {
        tx.concerns(member.id);
        second_factor::take_away(tx, now, member.id, &studio)
    })
}

/// Signs a member out everywhere: sessions and tokens end.
///
/// # Errors
/// A sentence when nobody signs in with this address.
pub fn sign_out_now(app: &App, typed: &str) -> Result<(), Error> {
    let member = known(app, typed)?;
    at_machine(app, "member sign-out", |tx| {
        tx.concerns(member.id);
        sessions::close_all(tx, member.id, None)
    })
}

/// An API token for a member.
///
/// # Errors
/// A sentence when nobody signs in with this address, or the label does not fit.
pub fn token_now(app: &App, typed: &str, label: &str) -> Result<String, Error> {
    let label = label.trim();
    if !(1..=60).contains(&label.chars().count()) || label.contains(char::is_control) {
        return Err(Error::field("label", "Give the token a name of 1 to 60 characters."));
    }
    let (member, now) = (known(app, typed)?, app.clock.now());
    at_machine(app, "token", |tx| {
        tx.concerns(member.id);
        sessions::issue_token(tx, now, member.id, label)
    })
}
