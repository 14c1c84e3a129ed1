//! What a note must be, whether answers are right, and what stands between somebody and a booking.

use std::collections::BTreeMap;

use crate::error::Faults;

/// What somebody must still do before they may book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Missing {
    /// Essential notes not acknowledged in their current version: address part and title.
    Notes(Vec<(String, String)>),
    /// Things of the induction that no lead has signed yet. Until then a newcomer books only
    /// while a lead is on duty.
    Induction(Vec<String>),
    /// A break that a lead must end.
    EndOfBreak,
}

impl Missing {
    /// The stable word for programs.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Missing::Notes(_) => "safety_notes",
            Missing::Induction(_) => "induction",
            Missing::EndOfBreak => "end_of_break",
        }
    }

    /// Whether nothing can be booked at all while it is missing; what only keeps a newcomer from
    /// being alone is no such thing.
    #[must_use]
    pub fn bars_every_booking(&self) -> bool {
        !matches!(self, Missing::Induction(_))
    }

    /// What is missing and what to do, in a sentence or two.
    #[must_use]
    pub fn sentence(&self) -> String {
        match self {
            Missing::Notes(notes) => {
                let titles: Vec<&str> = notes.iter().map(|(_, title)| title.as_str()).collect();
                format!(
                    "Before you book, read and acknowledge these safety notes in their present \
                     version: {}.",
                    titles.join("; ")
                )
            }
            Missing::Induction(open) if open.is_empty() => "Your induction is still open: a lead \
                shows you the room and makes you a member. Until then you book only while a lead \
                is on duty."
                .to_owned(),
            Missing::Induction(open) => format!(
                "Your induction is still open: {} of its points wait for a lead's signature, given \
                 in person. Until then you book only while a lead is on duty.",
                open.len()
            ),
            Missing::EndOfBreak => {
                "You are on a break, so you cannot book. Ask a lead to end the break.".to_owned()
            }
        }
    }
}

/// A question as its answers are checked: its field, what is right, and why.
pub(super) struct Check<'a> {
    pub(super) id: i64,
    pub(super) right: &'a str,
    pub(super) why: &'a str,
}

/// The name of a question's field in forms.
pub(super) fn field_of(id: i64) -> String {
    format!("question-{id}")
}

/// A sentence beside each question that is not answered right.
pub(super) fn check_answers(questions: &[Check<'_>], given: &BTreeMap<i64, String>) -> Faults {
    let mut faults = Faults::new();
    for question in questions {
        let sentence = match given.get(&question.id).map(|a| a.trim()) {
            None | Some("") => "Please choose an answer.".to_owned(),
            Some(answer) if answer == question.right => continue,
            Some(_) => format!("Not so. {} Read that part of the note again.", question.why),
        };
        faults.insert(field_of(question.id), sentence);
    }
    faults
}

/// The last part of a new note's address, made from its title; `taken` says which there are.
pub(super) fn slug_of(title: &str, taken: impl Fn(&str) -> bool) -> String {
    let mut slug = String::new();
    for c in title.to_lowercase().chars() {
        if c.is_ascii_alphanumeric() {
            slug.push(c);
        } else if !slug.ends_with('-') && !slug.is_empty() {
            slug.push('-');
        }
        if slug.len() >= 60 {
            break;
        }
    }
    let slug = slug.trim_matches('-');
    let slug = if slug.is_empty() { "note" } else { slug };
    // These words lead elsewhere.
    let is_free = |s: &str| !["new", "poster", "changes"].contains(&s) && !taken(s);
    if is_free(slug) {
        return slug.to_owned();
    }
    (2..).map(|n: u32| format!("{slug}-{n}")).find(|s| is_free(s)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_wrong_answer_says_why_and_a_missing_one_asks() {
        let questions = [
            Check { id: 1, right: "Acid into water", why: "It boils up." },
            Check { id: 2, right: "15 minutes", why: "" },
        ];
        let mut given = BTreeMap::from([(1, "Water into acid".to_owned())]);
        let faults = check_answers(&questions, &given);
        assert!(faults["question-1"].contains("It boils up."));
        assert!(faults["question-2"].contains("choose"));
        given.insert(1, "Acid into water".to_owned());
        given.insert(2, " 15 minutes ".to_owned());
        assert!(check_answers(&questions, &given).is_empty());
    }

    #[test]
    fn an_address_is_made_of_the_title() {
        assert_eq!(slug_of("Eyes & hands!", |_| false), "eyes-hands");
        assert_eq!(slug_of("New", |_| false), "new-2");
        assert_eq!(slug_of("Ä", |s| s == "note"), "note-2");
    }

    #[test]
    fn what_is_missing_says_what_to_do() {
        let notes = Missing::Notes(vec![("mixing".to_owned(), "Mixing chemicals".to_owned())]);
        assert!(notes.sentence().contains("Mixing chemicals") && notes.bars_every_booking());
        assert!(!Missing::Induction(Vec::new()).bars_every_booking());
    }

    proptest! {
        #[test]
        fn every_title_has_an_address(title in "\\PC{0,100}") {
            let slug = slug_of(&title, |s| s.len() < 3);
            prop_assert!(slug.len() >= 3 && slug.len() < 70);
            prop_assert!(slug.chars().all(|c| c.is_ascii_alphanumeric() || c == '-'));
        }
    }
}
