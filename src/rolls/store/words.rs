//! The words of what films were developed in and of what was noted of them, as they are found again.

use std::collections::BTreeSet;

use diesel::prelude::*;

use crate::db::schema::result_words;
use crate::db::{Conn, Tx};
use crate::error::Error;

/// Letters of a word that are kept and looked for.
const LONGEST: usize = 40;

/// The words of a text in small letters, each once.
fn words(text: &str) -> BTreeSet<String> {
    let parts = text.split(|c: char| !c.is_alphanumeric()).filter(|part| !part.is_empty());
    parts.map(|part| part.to_lowercase().chars().take(LONGEST).collect()).collect()
}

/// Keeps the words of what was written of a roll.
pub(super) fn keep(tx: &mut Tx<'_>, roll: i64, text: &str) -> Result<(), Error> {
    for word in words(text) {
        let of_roll = (result_words::word.eq(&word), result_words::roll_id.eq(roll));
        let known = result_words::table.find((roll, &word)).select(result_words::roll_id);
        if known.first::<i64>(tx.conn()).optional()?.is_none() {
            diesel::insert_into(result_words::table).values(of_roll).execute(tx.conn())?;
        }
    }
    Ok(())
}

/// Which words of all that were written one word of a question means: those that begin with it.
#[derive(Clone, Debug)]
pub(super) struct Beginning {
    /// The first of them.
    pub(super) from: String,
    /// What comes after the last of them: no letter comes after this one.
    pub(super) to: String,
}

/// What somebody looks for, a beginning for each word.
pub(super) fn beginnings(asked: &str) -> Vec<Beginning> {
    let word = |from: String| Beginning { to: format!("{from}\u{10ffff}"), from };
    words(asked).into_iter().map(word).collect()
}

impl Beginning {
    /// The rolls of which such a word was written, unless there are more than `few`.
    pub(super) fn rolls(&self, conn: &mut Conn, few: usize) -> Result<Option<Vec<i64>>, Error> {
        let most = i64::try_from(few).unwrap_or(i64::MAX).saturating_add(1);
        let ids: Vec<i64> = result_words::table
            .filter(result_words::word.ge(&self.from))
            .filter(result_words::word.lt(&self.to))
            .select(result_words::roll_id)
            .limit(most)
            .load(conn)?;
        Ok((ids.len() <= few).then_some(ids))
    }
}

#[cfg(test)]
mod tests {
    use super::words;

    #[test]
    fn a_word_is_letters_and_digits_in_small_letters() {
        let found: Vec<String> = words("Über-dense: 1+31,\nat 20°; dense").into_iter().collect();
        assert_eq!(found, ["1", "20", "31", "at", "dense", "über"]);
        assert!(words(" ?! ").is_empty());
    }
}
