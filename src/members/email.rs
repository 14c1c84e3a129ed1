//! An e-mail address: how it is written, and the key by which two spellings are the same.

use std::fmt;

use icu_normalizer::ComposingNormalizerBorrowed;

use crate::error::Error;

/// An address that a mail server would take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Email {
    shown: String,
    key: String,
}

impl Email {
    /// Reads an address as somebody typed it.
    ///
    /// # Errors
    /// A sentence beside the field `email`.
    pub fn read(typed: &str) -> Result<Email, Error> {
        let shown = typed.trim();
        if shown.is_empty() {
            return Err(Error::field("email", "Please give an e-mail address."));
        }
        if shown.chars().count() > 254 {
            return Err(Error::field("email", "An e-mail address may have 254 characters."));
        }
        let invisible = shown.chars().any(|c| c.is_control() || is_invisible(c));
        if invisible || shown.parse::<lettre::Address>().is_err() {
            return Err(Error::field(
                "email",
                "This is not an e-mail address; write one like maren@quillhaven.example.",
            ));
        }
        Ok(Email { shown: shown.to_owned(), key: key(shown) })
    }

    /// By what two addresses are compared.
    #[must_use]
    pub fn key(&self) -> &str {
        &self.key
    }

    /// As it was typed.
    #[must_use]
    pub fn shown(&self) -> &str {
        &self.shown
    }
}

impl fmt::Display for Email {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.shown)
    }
}

/// The key of whatever was typed, an address or not: lower case, in Unicode's composed form (NFC).
#[must_use]
pub(super) fn key(typed: &str) -> String {
    composed(&typed.trim().to_lowercase())
}

/// Text in Unicode's composed form (NFC), so that one key press more or less is no difference.
#[must_use]
pub(super) fn composed(text: &str) -> String {
    ComposingNormalizerBorrowed::new_nfc().normalize(text).into_owned()
}

/// Characters nobody sees, by which two addresses could look alike.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings_of_one_address_share_a_key() {
        let a = Email::read(" Maren@Quillhaven.example ").unwrap();
        let b = Email::read("maren@quillhaven.EXAMPLE").unwrap();
        assert_eq!((a.key(), a.shown()), (b.key(), "Maren@Quillhaven.example"));
        assert_eq!(key("re\u{301}ka@a.example"), key("R\u{c9}KA@a.example"));
    }

    #[test]
    fn what_no_mail_server_takes_is_refused() {
        for bad in [
            "",
            "maren",
            "a@",
            "@b.example",
            "a b@c.example",
            "a@b@c.example",
            "a\u{202e}b@c.example",
        ] {
            assert!(Email::read(bad).is_err(), "{bad}");
        }
        assert!(Email::read(&format!("{}@b.example", "a".repeat(300))).is_err());
    }

    proptest! {
        #[test]
        fn nothing_typed_makes_it_panic(text in "\\PC{0,60}") {
            if let Ok(email) = Email::read(&text) {
                prop_assert_eq!(key(email.shown()), email.key());
            }
        }
    }
}
