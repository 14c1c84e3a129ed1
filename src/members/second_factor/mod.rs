//! A second factor: a code by time from a device of one's own (RFC 6238), recovery codes for the
//! day it is lost.
//!
//! What a device makes its codes from is worked out from the key file and a number drawn at random
//! that the database keeps, so whoever steals the database makes no code.

mod pages;
mod rules;
mod store;

use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

use crate::app::App;
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::members::{Member, mail, recipient};
use crate::secrets::{self, Key};
use crate::sessions;
use crate::throttle::{self, Limit};
use crate::web::Routes;

pub(in crate::members) use pages::ask_code;

/// Recovery codes that are given at once.
const RECOVERY_CODES: usize = 10;
/// Wrong codes for one account: whoever gets so far knows the password already.
const PER_ACCOUNT: [Limit; 2] =
    [Limit { tries: 5, within_s: 300 }, Limit { tries: 40, within_s: 86_400 }];
/// How long the code may be typed after the password, in seconds.
const HALF_WAY_S: i64 = 600;

/// Where a member stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Standing {
    Off,
    Begun,
    On { codes_left: i64 },
}

fn standing(conn: &mut Conn, member: i64) -> Result<Standing, Error> {
    Ok(match store::of(conn, member)?.map(|f| f.confirmed_s) {
        None => Standing::Off,
        Some(None) => Standing::Begun,
        Some(Some(_)) => Standing::On { codes_left: store::codes_left(conn, member)? },
    })
}

/// Whether this member is asked for a code after the password.
pub(in crate::members) fn is_on(conn: &mut Conn, member: i64) -> Result<bool, Error> {
    Ok(store::of(conn, member)?.is_some_and(|f| f.confirmed_s.is_some()))
}

/// How wrong codes for a member are counted.
fn counted(member: i64) -> Vec<(String, Limit)> {
    PER_ACCOUNT.iter().map(|l| (format!("code {} account {member}", l.within_s), *l)).collect()
}

fn secret(key: &Key, member: i64, drawn: &[u8]) -> Vec<u8> {
    key.bits(&format!("second factor {member} {}", rules::base32(drawn)))
}

/// What a device reads from the picture: the address form that such devices share.
fn device_address(studio: &str, account: &str, secret: &[u8]) -> String {
    let plain =
        |text: &str| utf8_percent_encode(&text.replace(':', " "), NON_ALPHANUMERIC).to_string();
    format!(
        "otpauth://totp/{issuer}:{account}?secret={secret}&issuer={issuer}&algorithm=SHA1&digits=6\
         &period=30",
        issuer = plain(studio),
        account = plain(account),
        secret = rules::base32(secret)
    )
}

fn begin(tx: &mut Tx<'_>, now: Moment, member: i64) -> Result<(), Error> {
    if is_on(tx, member)? {
        return Err(Error::refused("second-factor", "Your second factor is on already."));
    }
    let drawn: [u8; 16] = rand::random();
    store::begin(tx, now, member, &drawn)
}

/// Takes a code of the device, or a recovery code, and uses it up.
///
/// # Errors
/// A sentence beside `code` when it does not fit or was used before.
pub(in crate::members) fn take(
    tx: &mut Tx<'_>,
    now: Moment,
    (key, member): (&Key, i64),
    typed: &str,
) -> Result<(), Error> {
    let factor = store::of(tx, member)?.ok_or(Error::NotFound)?;
    if let Some(step) = rules::step_of(&secret(key, member, &factor.drawn), typed, now) {
        return if step > factor.last_step && store::use_step(tx, member, step)? {
            Ok(())
        } else {
            Err(Error::field(
                "code",
                "This code was used already. Wait for the next one, at most half a minute.",
            ))
        };
    }
    let is_on = factor.confirmed_s.is_some();
    if let (true, Some(code)) = (is_on, rules::recovery_code(typed))
        && store::use_code(tx, now, member, &secrets::hash(&code))?
    {
        return Ok(());
    }
    Err(Error::field(
        "code",
        "This code does not fit. Type the six figures your device shows now, or an unused recovery \
         code. If they never fit, look at the clock of the device.",
    ))
}

/// Counts a code before it is looked at, does the change, and takes the count back if the code
/// was right. For threads that may block.
pub(in crate::members) fn with_code<T>(
    app: &App,
    member: i64,
    change: impl Fn(&mut Tx<'_>) -> Result<T, Error>,
) -> Result<T, Error> {
    let (now, counted) = (app.clock.now(), counted(member));
    let records = app.db.write_now(|tx| throttle::record(tx, now, &counted))?;
    app.db.write_now(|tx| {
        let done = change(tx)?;
        throttle::take_back(tx, &records)?;
        Ok(done)
    })
}

fn new_codes(tx: &mut Tx<'_>, member: i64) -> Result<Vec<String>, Error> {
    let plain: Vec<String> = (0..RECOVERY_CODES)
        .map(|_| rules::base32(&rand::random::<[u8; rules::RECOVERY_BYTES]>()))
        .collect();
    let hashes: Vec<Vec<u8>> = plain.iter().map(|code| secrets::hash(code)).collect();
    store::put_codes(tx, member, &hashes)?;
    Ok(plain.iter().map(|code| rules::in_fours(code, "-")).collect())
}

/// Turns it on by a first code; every other session and every token ends. Returns the recovery
/// codes, which are kept as hashes only.
fn confirm(
    tx: &mut Tx<'_>,
    now: Moment,
    (key, member, session): (&Key, i64, Option<i64>),
    (typed, studio): (&str, &str),
) -> Result<Vec<String>, Error> {
    match standing(tx, member)? {
        Standing::Begun => take(tx, now, (key, member), typed)?,
        Standing::On { .. } | Standing::Off => {
            return Err(Error::refused(
                "second-factor",
                "There is nothing to confirm. Open the page afresh.",
            ));
        }
    }
    store::confirm(tx, now, member)?;
    sessions::close_all(tx, member, session)?;
    if let Some(session) = session {
        sessions::raise_session(tx, session)?;
    }
    tell(tx, now, (member, "second_factor_on"), studio)?;
    new_codes(tx, member)
}

/// Turns it off by a code.
fn turn_off(
    tx: &mut Tx<'_>,
    now: Moment,
    (key, member): (&Key, i64),
    (typed, studio): (&str, &str),
) -> Result<(), Error> {
    take(tx, now, (key, member), typed)?;
    store::forget(tx, member)?;
    tell(tx, now, (member, "second_factor_off"), studio)
}

/// New recovery codes in the place of the earlier ones, by a code.
fn renew(
    tx: &mut Tx<'_>,
    now: Moment,
    (key, member): (&Key, i64),
    typed: &str,
) -> Result<Vec<String>, Error> {
    take(tx, now, (key, member), typed)?;
    new_codes(tx, member)
}

/// Takes it from somebody who lost their device and their recovery codes; they are signed out
/// everywhere and told.
///
/// # Errors
/// A sentence when they have none.
pub(in crate::members) fn take_away(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    studio: &str,
) -> Result<(), Error> {
    if store::of(tx, member)?.is_none() {
        return Err(Error::refused("second-factor", "This member has no second factor."));
    }
    store::forget(tx, member)?;
    sessions::close_all(tx, member, None)?;
    tell(tx, now, (member, "second_factor_off"), studio)
}

/// Forgets it with its member.
pub(in crate::members) fn forget_member(tx: &mut Tx<'_>, member: i64) -> Result<(), Error> {
    store::forget(tx, member)
}

fn tell(
    tx: &mut Tx<'_>,
    now: Moment,
    (member, kind): (i64, &'static str),
    studio: &str,
) -> Result<(), Error> {
    let to = recipient(tx, member)?;
    let about = mail::About { studio: studio.to_owned(), ..mail::About::default() };
    mail::plain(tx, now, kind, (to, format!("member {member} at {}", now.0)), &about)
}

/// Says that this member's password was right just now; holds ten minutes, and only while nothing
/// about the member changes.
pub(in crate::members) fn half_way(key: &Key, now: Moment, member: &Member) -> String {
    let plain = format!("{}.{}.{}", member.id, member.version, now.plus(HALF_WAY_S).0);
    let seal = key.seal(&format!("half way {plain}"));
    format!("{plain}.{seal}")
}

/// Whose password was right, and the version of their entry.
fn came_half_way(key: &Key, now: Moment, proof: &str) -> Option<(i64, i64)> {
    let (plain, seal) = proof.rsplit_once('.')?;
    let mut parts = plain.split('.').map(str::parse::<i64>);
    let (member, version, until) = (parts.next()?.ok()?, parts.next()?.ok()?, parts.next()?.ok()?);
    let good = key.is_seal(&format!("half way {plain}"), seal) && now.0 < until;
    good.then_some((member, version))
}

pub(super) fn routes(open: &mut Routes) {
    pages::routes(open);
}
