//! What changed between two versions of a note, in lines and words.

use std::time::{Duration, Instant};

use serde::Serialize;
use similar::algorithms::{Capture, Compact, Replace, myers};
use similar::{DiffOp, group_diff_ops};

/// A stretch of words that stayed, went or came.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Piece {
    /// `same`, `gone` or `new`.
    pub(super) what: &'static str,
    pub(super) text: String,
}

/// Places that changed, each with a line of what stands around it. Empty where nothing did.
pub(super) fn between(old: &str, new: &str) -> Vec<Vec<Piece>> {
    let old: Vec<&str> = old.split_inclusive('\n').collect();
    let new: Vec<&str> = new.split_inclusive('\n').collect();
    let steps = steps(&old, &new);
    if steps.iter().all(|s| matches!(s, DiffOp::Equal { .. })) {
        return Vec::new();
    }
    group_diff_ops(steps, 1)
        .iter()
        .map(|steps| {
            let mut pieces = Vec::new();
            for step in steps {
                match taken(step, &old, &new) {
                    (gone, came) if gone == came => add(&mut pieces, "same", &gone),
                    (gone, came) => words(&gone, &came, &mut pieces),
                }
            }
            pieces
        })
        .collect()
}

/// What one stretch of lines became, word by word where some went and others came.
fn words(gone: &str, came: &str, pieces: &mut Vec<Piece>) {
    if gone.is_empty() || came.is_empty() {
        add(pieces, "gone", gone);
        add(pieces, "new", came);
        return;
    }
    let old: Vec<&str> = gone.split_inclusive(char::is_whitespace).collect();
    let new: Vec<&str> = came.split_inclusive(char::is_whitespace).collect();
    for step in steps(&old, &new) {
        match taken(&step, &old, &new) {
            (gone, came) if gone == came => add(pieces, "same", &gone),
            (gone, came) => {
                add(pieces, "gone", &gone);
                add(pieces, "new", &came);
            }
        }
    }
}

/// From one row of parts to another, by the library's own default way. Called for one type of parts
/// only: its shorter form builds six other ways into the program.
fn steps(old: &[&str], new: &[&str]) -> Vec<DiffOp> {
    let end = Instant::now() + Duration::from_millis(500);
    let mut kept = Compact::new(Replace::new(Capture::new()), old, new);
    let Ok(()) = myers::diff_deadline(&mut kept, old, 0..old.len(), new, 0..new.len(), Some(end));
    kept.into_inner().into_inner().into_ops()
}

fn taken(step: &DiffOp, old: &[&str], new: &[&str]) -> (String, String) {
    let (gone, came) = (step.old_range(), step.new_range());
    let of = |parts: &[&str], range: std::ops::Range<usize>| {
        parts.get(range).unwrap_or_default().concat()
    };
    (of(old, gone), of(new, came))
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
