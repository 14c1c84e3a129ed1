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
pub(super) const FORMATS: [Format; 8] = [
    Format { name: "135-36", reel: "135", milli: 1000 },
    // Two thirds of the frames; counted in whole so that the shared bath is never overrated.
    Format { name: "135-24", reel: "135", milli: 1000 },
    Format { name: "120", reel: "120", milli: 1000 },
    Format { name: "220", reel: "120", milli: 2000 },
    // About 46 x 650 mm (common practice, no source).
    Format { name: "127", reel: "127", milli: 600 },
    Format { name: "4x5", reel: "4x5", milli: 250 },
    // 35 in2 of 80, rounded up.
    Format { name: "5x7", reel: "5x7", milli: 438 },
    Format { name: "8x10", reel: "8x10", milli: 1000 },
];

impl Format {
    /// The format of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Format> {
        let name = if name == "135" { "135-36" } else { name };
        FORMATS.into_iter().find(|f| f.name == name)
    }

    /// Whether it is counted in sheets.
    #[must_use]
    pub fn is_sheet(&self) -> bool {
        self.name.contains('x')
    }

    /// The same with so many sheets counted together.
    #[must_use]
    pub fn of_sheets(self, sheets: Option<i64>) -> Format {
        Format { milli: self.milli * sheets.unwrap_or(1).max(1), ..self }
    }
}

macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$of:meta])* $variant:ident = $word:literal, $text:literal;)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $name { $($(#[$of])* $variant,)+ }

        impl $name {
            /// All of them, the usual first.
            pub const ALL: &'static [$name] = &[$($name::$variant,)+];

            /// The word in the database and the API.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word,)+ }
            }

            /// The words for people.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $($name::$variant => $text,)+ }
            }

            /// The one of that word.
            #[must_use]
            pub fn from_word(word: &str) -> Option<$name> {
                $name::ALL.iter().find(|one| one.word() == word).copied()
            }
        }
    };
}

words! {
    /// What must be taken care of when a film cannot be replaced.
    Care {
        /// As any film.
        Ordinary = "ordinary", "As any other film";
        /// In a tank of its own.
        Alone = "alone", "Cannot be replaced: alone in its tank";
        /// At its exact time.
        Exact = "exact", "Cannot be replaced: at its exact time";
        /// After a test roll came out well.
        AfterTest = "after_test", "Cannot be replaced: after a test roll";
    }
}

words! {
    /// How long the film is.
    Length {
        /// As its format says.
        Usual = "usual", "As the format says";
        /// Cut short, or a scrap.
        Short = "short", "Shorter: cut, or a scrap";
        /// Loaded in bulk, longer than its format says.
        Long = "long", "Longer: loaded in bulk";
    }
}

words! {
    /// How negatives came out.
    Look {
        /// As they should be.
        Good = "good", "Good";
        /// Too little density.
        Thin = "thin", "Thin";
        /// Too much density.
        Dense = "dense", "Dense";
        /// Too little contrast.
        Flat = "flat", "Flat";
        /// Too much contrast.
        Contrasty = "contrasty", "Contrasty";
        /// Streaks or uneven density.
        Uneven = "uneven", "Uneven";
        /// Stained.
        Stained = "stained", "Stained";
        /// Fogged.
        Fogged = "fogged", "Fogged";
        /// Milky patches: fixing is not complete.
        Milky = "milky", "Milky: fix again";
        /// Scratched.
        Scratched = "scratched", "Scratched";
        /// Anything else.
        Other = "other", "Something else";
    }
}

/// What the hand-in check asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Check {
    /// Its backing must be taken off before it is developed.
    pub backing: bool,
    /// Its owner wants the spool or cassette back.
    pub spool: bool,
    /// Its leader is torn.
    pub torn: bool,
    /// Its exposure index is a guess.
    pub guessed: bool,
    /// How long it is.
    pub length: Length,
    /// What must be taken care of.
    pub care: Care,
}

impl Default for Check {
    fn default() -> Check {
        Check {
            backing: false,
            spool: false,
            torn: false,
            guessed: false,
            length: Length::Usual,
            care: Care::Ordinary,
        }
    }
}

impl Check {
    /// What of it the one who loads the film must know, in words.
    #[must_use]
    pub fn in_words(&self) -> Vec<&'static str> {
        let mut words = Vec::new();
        if self.care != Care::Ordinary {
            words.push(self.care.name());
        }
        if self.backing {
            words.push("Take the backing off first");
        }
        if self.torn {
            words.push("Leader torn");
        }
        match self.length {
            Length::Usual => {}
            Length::Short => words.push("Shorter than its format"),
            Length::Long => words.push("Longer than its format: mind the reel"),
        }
        if self.guessed {
            words.push("EI guessed");
        }
        if self.spool {
            words.push("Return the spool");
        }
        words
    }
}

/// A roll, or a set of sheets, to be handed in.
#[derive(Clone, Debug)]
pub struct NewRoll {
    /// The film.
    pub film_id: i64,
    /// Its format.
    pub format: Format,
    /// How many sheets go together; only for sheets.
    pub sheets: Option<i64>,
    /// The exposure index it was shot at.
    pub ei: i64,
    /// The recipe its owner wants; without one the lead decides.
    pub recipe_id: Option<i64>,
    /// Anything the lead should know.
    pub note: String,
    /// When its owner needs it.
    pub due: Option<Moment>,
    /// Not before this.
    pub ready: Option<Moment>,
    /// What the check asked.
    pub check: Check,
    /// Whether it may share a tank with film of other owners.
    pub shares: bool,
    /// By how many per cent its time may differ; the studio's own rule where nothing is said.
    pub tolerance_percent: Option<i64>,
}

impl NewRoll {
    /// An ordinary roll, about which the lead decides.
    #[must_use]
    pub fn of(film_id: i64, format: Format, ei: i64) -> NewRoll {
        NewRoll {
            film_id,
            format,
            sheets: format.is_sheet().then_some(1),
            ei,
            recipe_id: None,
            note: String::new(),
            due: None,
            ready: None,
            check: Check::default(),
            shares: true,
            tolerance_percent: None,
        }
    }
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

    /// All of them, in the order of a roll's way.
    pub fn all() -> impl Iterator<Item = State> {
        State::ALL.iter().map(|s| s.0)
    }

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
            State::HandedIn => &[State::Planned, State::Withdrawn, State::Lost, State::Spoiled],
            State::Planned => {
                &[State::Loaded, State::OnTheHook, State::HandedIn, State::Lost, State::Spoiled]
            }
            State::Loaded => &[State::OnTheHook, State::Spoiled, State::HandedIn, State::Lost],
            State::OnTheHook => &[State::Ready, State::ReFix, State::Spoiled, State::Lost],
            // Fixed and washed again, it hangs to dry again.
            State::ReFix => &[State::OnTheHook, State::Ready, State::Spoiled, State::Lost],
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
