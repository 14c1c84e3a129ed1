//! What changed between two versions of a note, in lines and words.

use std::time::Duration;

use serde::Serialize;
use similar::{ChangeTag, DiffOp, TextDiff};

/// A stretch of words that stayed, went or came.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Piece {
    /// `same`, `gone` or `new`.
    pub(super) what: &'static str,
    pub(super) text: String,
}

/// Places that changed, each with a line of what stands around it. Empty where nothing did.
pub(super) fn between(old: &str, new: &str) -> Vec<Vec<Piece>> {
    let lines = TextDiff::configure().timeout(Duration::from_millis(500)).diff_lines(old, new);
    let groups = lines.grouped_ops(1);
    groups
        .iter()
        .map(|ops| {
            let mut pieces = Vec::new();
            for op in ops {
                one(&lines, op, &mut pieces);
            }
            pieces
        })
        .collect()
}

fn one(lines: &TextDiff<'_, '_, str>, op: &DiffOp, pieces: &mut Vec<Piece>) {
    let (mut gone, mut came) = (String::new(), String::new());
    for change in lines.iter_changes(op) {
        match change.tag() {
            ChangeTag::Equal => add(pieces, "same", change.value()),
            ChangeTag::Delete => gone.push_str(change.value()),
            ChangeTag::Insert => came.push_str(change.value()),
        }
    }
    if gone.is_empty() || came.is_empty() {
        add(pieces, "gone", &gone);
        add(pieces, "new", &came);
        return;
    }
    let words = TextDiff::configure()
        .timeout(Duration::from_millis(500))
        .diff_words(gone.as_str(), came.as_str());
    for change in words.iter_all_changes() {
        let what = match change.tag() {
            ChangeTag::Equal => "same",
            ChangeTag::Delete => "gone",
            ChangeTag::Insert => "new",
        };
        add(pieces, what, change.value());
    }
}

fn add(pieces: &mut Vec<Piece>, what: &'static str, text: &str) {
    match pieces.last_mut() {
        _ if text.is_empty() => {}
        Some(last) if last.what == what => last.text.push_str(text),
        _ => pieces.push(Piece { what, text: text.to_owned() }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_changed_word_is_shown_and_what_is_far_from_it_is_not() {
        let old = "one\ntwo\nthree\nRinse for 10 minutes.\nfour\nfive\n";
        let new = "one\ntwo\nthree\nRinse for 15 minutes.\nfour\nfive\n";
        let places = between(old, new);
        assert_eq!(places.len(), 1);
        let said = |what| {
            let of = places[0].iter().filter(|p| p.what == what);
            of.map(|p| p.text.as_str()).collect::<String>()
        };
        assert_eq!((said("gone").trim(), said("new").trim()), ("10", "15"));
        assert!(said("same").contains("three") && !said("same").contains("one"));
        assert_eq!(between(old, old), Vec::<Vec<Piece>>::new());
    }

    proptest! {
        /// With enough around each change, the pieces give both texts back whole.
        #[test]
        fn no_word_is_lost(old in "[a-d \n]{0,60}", new in "[a-d \n]{0,60}") {
            let places = between(&old, &new);
            prop_assert_eq!(places.is_empty(), old == new);
            for place in places {
                let side = |gone: &str| -> String {
                    let of = place.iter().filter(|p| p.what != gone);
                    of.map(|p| p.text.as_str()).collect()
                };
                prop_assert!(old.contains(&side("new")), "{:?} in {:?}", place, old);
                prop_assert!(new.contains(&side("gone")), "{:?} in {:?}", place, new);
            }
        }
    }
}
