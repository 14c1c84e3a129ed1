//! What holds of members, without asking anybody: states, and which password is good enough.

use serde::Serialize;

/// Where a member stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// Asked in by a lead, not yet come.
    Invited,
    /// Has asked to come in; a lead decides.
    Applied,
    /// In.
    Active,
    /// On a break: may sign in and look.
    Paused,
    /// Gone; the records stay without the name.
    Left,
}

impl State {
    const ALL: [State; 5] =
        [State::Invited, State::Applied, State::Active, State::Paused, State::Left];

    /// The word in the database and for programs.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            State::Invited => "invited",
            State::Applied => "applied",
            State::Active => "active",
            State::Paused => "paused",
            State::Left => "left",
        }
    }

    /// The state of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<State> {
        State::ALL.into_iter().find(|s| s.word() == word)
    }

    /// Whether somebody in this state can sign in.
    #[must_use]
    pub fn may_sign_in(self) -> bool {
        matches!(self, State::Active | State::Paused)
    }
}

/// Letters a member can do without: their kind, and what they are about.
pub(super) const OPTIONAL_LETTERS: &[(&str, &str)] = &[
    ("booking_made", "That a booking of yours stands, or that you moved it"),
    ("booking_reminder", "A reminder before a booking of yours"),
    ("application_waiting", "For leads: somebody asks to join the studio"),
    ("roll_handed_in", "Your film is in the drop box"),
    ("rolls_planned", "Your film is planned for a run"),
    ("roll_waiting", "Your film still waits, and why"),
    ("roll_ready", "Your negatives are ready to pick up"),
    ("roll_kept", "Your negatives wait to be picked up"),
    ("rolls_overdue", "For leads: film waits longer than the studio wants"),
    ("run_joined", "For leads: a member added a roll to a published run"),
    ("recipe_decided", "A lead decided about a recipe you proposed"),
];

/// The most characters a password may have.
pub(super) const LONGEST_PASSWORD: usize = 256;

/// Why a password is not good enough, if it is not. `least` is the studio's fewest characters;
/// `own` are the person's and the studio's own words.
#[must_use]
pub(super) fn password_fault(password: &str, least: usize, own: &[&str]) -> Option<String> {
    let count = password.chars().count();
    if count < least {
        return Some(format!(
            "A password needs at least {least} characters; this has {count}. Four or five words \
             in a row do well."
        ));
    }
    if count > LONGEST_PASSWORD {
        return Some(format!(
            "A password may have {LONGEST_PASSWORD} characters; this has {count}."
        ));
    }
    let words = own_words(own);
    if is_mostly(password, &words) {
        return Some(
            "This is too close to your own name, your address or the studio's name, which others \
             know. Choose words that have nothing to do with them."
                .to_owned(),
        );
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let weak = zxcvbn::zxcvbn(password, &words).score() < zxcvbn::Score::Three;
    weak.then(|| {
        "This password is among those that are tried first: a common one, a row of keys or a \
         repetition. Choose four or five words that nobody would put together."
            .to_owned()
    })
}

/// The words of four letters and more in names and addresses.
fn own_words(own: &[&str]) -> Vec<String> {
    own.iter()
        .flat_map(|text| text.split(|c: char| !c.is_alphanumeric()))
        .filter(|w| w.chars().count() >= 4)
        .map(str::to_lowercase)
        .collect()
}

/// Whether little is left of a password without these words.
fn is_mostly(password: &str, words: &[String]) -> bool {
    let lower = password.to_lowercase();
    let rest = words.iter().fold(lower.clone(), |rest, word| rest.replace(word.as_str(), ""));
    rest.len() < lower.len() && rest.chars().filter(|c| c.is_alphabetic()).count() < 8
}

/// Whether a text holds characters that turn the order of writing around and could disguise a
/// name.
#[must_use]
pub(super) fn turns_writing(text: &str) -> bool {
    text.contains(|c| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'))
}

/// The network a client is counted under: an IPv4 address, or the 64 bits that one IPv6 customer
/// holds (RFC 6177 gives each site at least as much).
#[must_use]
pub(super) fn network(address: &str) -> String {
    match address.parse::<std::net::Ipv6Addr>() {
        Ok(ip) => {
            let [a, b, c, d, ..] = ip.segments();
            format!("{a:x}:{b:x}:{c:x}:{d:x}::/64")
        }
        Err(_) => address.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const OWN: [&str; 3] =
        ["Maren Oystercatcher", "maren@quillhaven.example", "Quillhaven Commons Darkroom"];

    #[test]
    fn good_passwords_need_no_signs_or_capitals() {
        for good in ["seven gannets over a tin roof", "vmkqpwzrtnxd", "отлив под старым мостом"]
        {
            assert_eq!(password_fault(good, 12, &OWN), None, "{good}");
        }
    }

    #[test]
    fn short_long_common_and_own_ones_are_refused_with_the_reason() {
        let said = |p: &str| password_fault(p, 12, &OWN).unwrap_or_default();
        assert!(said("tin roof").contains("at least 12") && said("tin roof").contains("has 8"));
        assert!(said(&"ab cd".repeat(60)).contains("256"));
        for common in ["password1234", "qwertyuiop123", "aaaaaaaaaaaaaaaa", "abcdefghijklmnop"] {
            assert!(said(common).contains("tried first"), "{common}: {}", said(common));
        }
        for own in ["maren-oystercatcher", "Quillhaven2026!", "commonsDARKROOM7"] {
            assert!(said(own).contains("own name"), "{own}: {}", said(own));
        }
    }

    #[test]
    fn neighbours_on_ipv6_count_as_one() {
        assert_eq!(network("2001:db8:1:2:3::4"), network("2001:db8:1:2:ffff::1"));
        assert_ne!(network("2001:db8:1:2::"), network("2001:db8:1:3::"));
        assert_eq!(network("192.0.2.7"), "192.0.2.7");
    }

    proptest! {
        #[test]
        fn nothing_typed_makes_it_panic(password in "\\PC{0,120}", own in "\\PC{0,30}") {
            let _ = password_fault(&password, 12, &[&own]);
        }
    }
}
