//! Words looked for inside texts, on both engines alike.

use diesel::dsl::sql;
use diesel::expression::SqlLiteral;
use diesel::sql_types::Bool;

diesel::define_sql_function! {
    /// Small letters.
    fn lower(text: diesel::sql_types::Text) -> diesel::sql_types::Text;
}

/// The pattern of `LIKE` that finds a word anywhere in [`lower()`] letters; signs of `LIKE` in the
/// word stand for themselves, with `\` before them.
#[must_use]
pub fn pattern(word: &str) -> String {
    let mut safe = String::new();
    for c in word.to_lowercase().chars() {
        if matches!(c, '%' | '_' | '\\') {
            safe.push('\\');
        }
        safe.push(c);
    }
    format!("%{safe}%")
}

/// Whether each of the words stands somewhere in these texts, in whatever letters: for lists short
/// enough to be read whole.
#[must_use]
pub fn holds(texts: &[&str], words: &[String]) -> bool {
    let texts: Vec<String> = texts.iter().map(|t| t.to_lowercase()).collect();
    words.iter().map(|w| w.to_lowercase()).all(|w| texts.iter().any(|t| t.contains(&w)))
}

/// Belongs to every question for a few rows by keys that were just found: it is not kept, so that
/// PostgreSQL thinks of it each time with the keys at hand. For keys it does not know it would
/// rather read every row.
pub(crate) fn thought_of_anew() -> SqlLiteral<Bool> {
    sql("TRUE")
}

#[cfg(test)]
mod tests {
    use super::{holds, pattern};

    #[test]
    fn every_word_must_stand_in_one_of_the_texts() {
        let words = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        assert!(holds(&["Stop bath 3", "Éva"], &words("éVA bath")));
        assert!(!holds(&["Stop bath 3"], &words("stop fixer")));
        assert!(!holds(&[], &words("stop")));
    }

    #[test]
    fn signs_of_like_stand_for_themselves() {
        assert_eq!(pattern("Half_Tone 5%"), "%half\\_tone 5\\%%");
        assert_eq!(pattern("a\\b"), "%a\\\\b%");
        assert_eq!(pattern(""), "%%");
    }
}
