//! Once-keys: the same form or call sent twice has one effect and one answer.

use diesel::prelude::*;
use serde::Serialize;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use super::schema::once_keys;
use super::{Db, Tx};
use crate::clock::Moment;
use crate::error::Error;

/// A request that names itself, so that its repetition can be recognised.
#[derive(Clone, Debug)]
pub struct Once {
    scope: String,
    key: String,
    print: Vec<u8>,
    at: Moment,
}

impl Once {
    /// `scope` says whose key and which door; `body` is what must be the same the second time.
    ///
    /// # Errors
    /// When the key is empty or longer than 100 characters.
    pub fn new(scope: String, key: &str, body: &[u8], at: Moment) -> Result<Once, Error> {
        if key.is_empty() || key.chars().count() > 100 {
            return Err(Error::Unreadable(
                "The key against double sending must have 1 to 100 characters.".to_owned(),
            ));
        }
        Ok(Once { scope, key: key.to_owned(), print: Sha256::digest(body).to_vec(), at })
    }

    fn earlier(&self, tx: &mut Tx<'_>) -> Result<Option<String>, Error> {
        let found: Option<(Vec<u8>, String)> = once_keys::table
            .filter(once_keys::scope.eq(&self.scope))
            .filter(once_keys::key.eq(&self.key))
            .select((once_keys::print, once_keys::answer))
            .get_result(tx.conn())
            .optional()?;
        match found {
            None => Ok(None),
            Some((print, answer)) if print == self.print => Ok(Some(answer)),
            Some(_) => Err(Error::field(
                "Idempotency-Key",
                "This key was already used for another request. Use a new key for a new request.",
            )),
        }
    }

    fn keep(&self, tx: &mut Tx<'_>, answer: &str) -> Result<(), Error> {
        diesel::insert_into(once_keys::table)
            .values((
                once_keys::scope.eq(&self.scope),
                once_keys::key.eq(&self.key),
                once_keys::print.eq(&self.print),
                once_keys::answer.eq(answer),
                once_keys::at_s.eq(self.at.0),
            ))
            .execute(tx.conn())?;
        Ok(())
    }
}

impl Db {
    /// A change that happens once however often it is sent: the second time its first answer is
    /// given again. Without a key it is an ordinary [`Db::write`].
    ///
    /// # Errors
    /// As [`Db::write`]; [`Error::Invalid`] when the key was used for something else.
    pub async fn write_once<T: Serialize + DeserializeOwned + Send + 'static>(
        &self,
        once: Option<Once>,
        change: impl Fn(&mut Tx<'_>) -> Result<T, Error> + Send + 'static,
    ) -> Result<T, Error> {
        let Some(once) = once else { return self.write(change).await };
        self.write(move |tx| {
            if let Some(answer) = once.earlier(tx)? {
                tx.leaves_no_line();
                return serde_json::from_str(&answer).map_err(|e| Error::broken("once-key", e));
            }
            let value = change(tx)?;
            let answer = serde_json::to_string(&value).map_err(|e| Error::broken("once-key", e))?;
            once.keep(tx, &answer)?;
            Ok(value)
        })
        .await
    }

    /// Forgets once-keys older than this.
    ///
    /// # Errors
    /// As [`Db::write`].
    pub fn forget_once_keys(&self, before: Moment) -> Result<usize, Error> {
        self.write_now(|tx| {
            Ok(diesel::delete(once_keys::table.filter(once_keys::at_s.lt(before.0)))
                .execute(tx.conn())?)
        })
    }
}
