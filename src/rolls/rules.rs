//! What a roll may be, and what may become of it.

use crate::clock::Moment;
use crate::error::Error;

/// The trade's formats, with the reel they go on and their share of a roll's worth.
///
/// Shares: 80 in2 of film is one roll's worth: one 135-36, one 120, half a 220, four 4x5 in, one
/// 8x10 in (brodie-tyrrell.org wiki, FixerCapacity; Anchell 2008, p. 108).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Format {
    /// Its name.
    pub name: &'static str,
    /// The kind of reel it needs.
    pub reel: &'static str,
    /// Thousandths of a roll's worth.
    pub milli: i64,
}

/// All formats that can be handed in.
pub(super) const FORMATS: [Format; 4] = [
    Format { name: "135-36", reel: "135", milli: 1000 },
    // Two thirds of the frames; counted in whole so that the shared bath is never overrated.
    Format { name: "135-24", reel: "135", milli: 1000 },
    Format { name: "120", reel: "120", milli: 1000 },
    Format { name: "220", reel: "120", milli: 2000 },
];

impl Format {
    /// The format of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Format> {
        FORMATS.into_iter().find(|f| f.name == name)
    }
}

/// A roll to be handed in.
#[derive(Clone, Debug)]
pub struct NewRoll {
    /// The film.
    pub film_id: i64,
    /// Its format.
    pub format: Format,
    /// The exposure index it was shot at.
    pub ei: i64,
    /// The recipe its owner wants; without one the lead decides.
    pub recipe_id: Option<i64>,
    /// Anything the lead should know.
    pub note: String,
    /// When its owner needs it.
    pub due: Option<Moment>,
}

/// Where a roll is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// In the drop box.
    HandedIn,
    /// In a published run.
    Planned,
    /// On a reel in a tank: do not open.
    Loaded,
    /// Washed and hanging.
    OnTheHook,
    /// On the pick-up shelf.
    Ready,
    /// With its owner.
    PickedUp,
    /// To be fixed again.
    ReFix,
    /// Spoiled.
    Spoiled,
    /// Not to be found.
    Lost,
    /// Taken back by its owner.
    Withdrawn,
}

impl State {
    const ALL: [(State, &'static str, &'static str); 10] = [
        (State::HandedIn, "handed_in", "Handed in"),
        (State::Planned, "planned", "Planned"),
        (State::Loaded, "loaded", "Loaded, do not open"),
        (State::OnTheHook, "on_the_hook", "On the hook"),
        (State::Ready, "ready", "Ready to pick up"),
        (State::PickedUp, "picked_up", "Picked up"),
        (State::ReFix, "re_fix", "To be fixed again"),
        (State::Spoiled, "spoiled", "Spoiled"),
        (State::Lost, "lost", "Lost"),
        (State::Withdrawn, "withdrawn", "Withdrawn"),
    ];

    /// The word in the database and the API.
    #[must_use]
    pub fn word(self) -> &'static str {
        State::ALL.iter().find(|s| s.0 == self).map_or("handed_in", |s| s.1)
    }

    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        State::ALL.iter().find(|s| s.0 == self).map_or("Handed in", |s| s.2)
    }

    /// The state of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<State> {
        State::ALL.iter().find(|s| s.1 == word).map(|s| s.0)
    }

    /// What may come next, the usual first.
    #[must_use]
    pub fn next(self) -> &'static [State] {
        match self {
            State::HandedIn => &[State::Planned, State::Withdrawn, State::Lost],
            State::Planned => {
                &[State::Loaded, State::OnTheHook, State::HandedIn, State::Lost, State::Spoiled]
            }
            State::Loaded => &[State::OnTheHook, State::Spoiled, State::HandedIn],
            State::OnTheHook | State::ReFix => {
                &[State::Ready, State::ReFix, State::Spoiled, State::Lost]
            }
            State::Ready => &[State::PickedUp, State::ReFix, State::Lost],
            State::PickedUp => &[State::ReFix],
            State::Lost => &[State::HandedIn, State::Ready],
            State::Spoiled | State::Withdrawn => &[],
        }
    }
}

/// Whether a roll may go from one state to another.
///
/// # Errors
/// A sentence that names both.
pub(super) fn may_follow(from: State, to: State) -> Result<(), Error> {
    if from.next().contains(&to) {
        return Ok(());
    }
    Err(Error::refused(
        "roll-state",
        format!("A roll that is “{}” cannot become “{}”.", from.name(), to.name()),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_state_has_its_word_and_the_usual_way_is_open() {
        for (state, word, _) in State::ALL {
            assert_eq!(State::from_word(word), Some(state));
        }
        let way = [
            State::HandedIn,
            State::Planned,
            State::Loaded,
            State::OnTheHook,
            State::Ready,
            State::PickedUp,
        ];
        for pair in way.windows(2) {
            assert!(may_follow(pair[0], pair[1]).is_ok());
        }
        assert!(may_follow(State::HandedIn, State::Ready).is_err());
        assert!(may_follow(State::Spoiled, State::Ready).is_err());
    }
}
