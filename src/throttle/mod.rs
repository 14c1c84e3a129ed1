//! Counting tries, in the database, so that several servers count together.

mod store;

use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// How many tries within how many seconds.
#[derive(Clone, Copy, Debug)]
pub struct Limit {
    /// Tries allowed.
    pub tries: i64,
    /// In this many seconds.
    pub within_s: i64,
}

/// Records a try under each key, before it is made, so that tries at the same instant count too.
/// Returns the records, which a success may take back.
///
/// # Errors
/// [`Error::Slow`] with the seconds to wait when one key has had its tries; nothing is recorded.
pub fn record(tx: &mut Tx<'_>, now: Moment, keys: &[(String, Limit)]) -> Result<Vec<i64>, Error> {
    tx.only_tries();
    for (key, limit) in keys {
        wait_for(tx, now, key, *limit)?;
    }
    keys.iter().map(|(key, _)| store::insert(tx, now, key)).collect()
}

fn wait_for(conn: &mut Conn, now: Moment, key: &str, limit: Limit) -> Result<(), Error> {
    let since = now.plus(-limit.within_s);
    match store::nth_latest(conn, key, since, limit.tries)? {
        None => Ok(()),
        Some(at) => Err(Error::Slow(at.plus(limit.within_s).since(now).max(1))),
    }
}

/// Takes records back: what succeeded was no wrong try.
///
/// # Errors
/// As the database's.
pub fn take_back(tx: &mut Tx<'_>, records: &[i64]) -> Result<(), Error> {
    store::delete(tx, records)
}

/// Forgets tries older than a day.
///
/// # Errors
/// As the database's.
pub fn sweep(tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
    store::delete_before(tx, now.plus(-86_400))
}
