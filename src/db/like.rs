//! Words looked for inside texts, on both engines alike.

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

#[cfg(test)]
mod tests {
    use super::pattern;

    #[test]
    fn signs_of_like_stand_for_themselves() {
        assert_eq!(pattern("Half_Tone 5%"), "%half\\_tone 5\\%%");
        assert_eq!(pattern("a\\b"), "%a\\\\b%");
        assert_eq!(pattern(""), "%%");
    }
}
