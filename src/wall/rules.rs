//! What the wall says of whom, and how long what it says stays true.

use crate::clock::{Moment, Span};

/// How a member's name stands on the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// Not at all; the choice of who said nothing.
    Nothing,
    /// The first letters.
    Initials,
    /// The first name.
    First,
    /// The whole name.
    Whole,
}

impl Shown {
    /// All choices with their words in forms.
    pub const ALL: [Shown; 4] = [Shown::Nothing, Shown::Initials, Shown::First, Shown::Whole];

    /// The word in the database and in forms.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Shown::Nothing => "nothing",
            Shown::Initials => "initials",
            Shown::First => "first",
            Shown::Whole => "whole",
        }
    }

    /// The choice of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Shown> {
        Shown::ALL.into_iter().find(|s| s.word() == word)
    }
}

/// A name as its owner lets it be shown; nothing where they do not.
#[must_use]
pub fn shown_name(name: &str, shown: Shown) -> Option<String> {
    let mut parts = name.split_whitespace();
    match shown {
        Shown::Nothing => None,
        Shown::Whole => Some(name.to_owned()),
        Shown::First => parts.next().map(ToOwned::to_owned),
        Shown::Initials => {
            let letters: Vec<String> = parts
                .filter_map(|p| p.chars().next())
                .map(|c| c.to_uppercase().collect())
                .collect();
            (!letters.is_empty()).then(|| letters.join(" "))
        }
    }
}

/// After how many seconds the wall must be drawn afresh: at the next beginning or end of
/// something, at the latest in a minute.
#[must_use]
pub(super) fn again_in(now: Moment, spans: &[Span]) -> i64 {
    let edges = spans.iter().flat_map(|s| [s.from, s.to]).filter(|m| *m > now);
    edges.map(|m| m.since(now)).min().unwrap_or(60).clamp(1, 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_shown_only_as_its_owner_lets_it() {
        let of = |shown| shown_name("ilse van Brackwater", shown);
        assert_eq!(of(Shown::Nothing), None);
        assert_eq!(of(Shown::Initials).as_deref(), Some("I V B"));
        assert_eq!(of(Shown::First).as_deref(), Some("ilse"));
        assert_eq!(of(Shown::Whole).as_deref(), Some("ilse van Brackwater"));
        assert_eq!(shown_name("  ", Shown::Initials), None);
    }

    #[test]
    fn it_is_drawn_afresh_when_something_begins_or_ends() {
        let s = |a, b| Span { from: Moment(a), to: Moment(b) };
        assert_eq!(again_in(Moment(100), &[s(0, 130), s(110, 300)]), 10);
        assert_eq!(again_in(Moment(100), &[s(0, 100), s(500, 900)]), 60);
        assert_eq!(again_in(Moment(100), &[]), 60);
    }
}
