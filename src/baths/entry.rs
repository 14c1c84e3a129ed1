//! A line of a bath's ledger.

use super::rules::words;
use crate::clock::Moment;

/// What an entry of the ledger records.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum EntryKind {
    /// Film went through.
    Use,
    /// A scrap was cleared against the clock.
    ClipTest,
    /// An earlier entry was wrong by so much, or did not happen.
    Correction,
    /// Working solution was added, which restores no capacity.
    TopUp,
    /// A developer was replenished for the film it took.
    Replenish,
    /// Stock was poured off to be diluted.
    Drawn,
    /// A scrap of leader was tried in a developer.
    ScrapTest,
    /// It was moved to another place.
    Moved,
    /// The owners of the film were written to.
    Recalled,
    /// It was retired.
    Retired,
}

words!(EntryKind, 10, [
    Use = "use", "Film went through";
    ClipTest = "clip_test", "Clip test";
    Correction = "correction", "Correction";
    TopUp = "top_up", "Topped up";
    Replenish = "replenish", "Replenished";
    Drawn = "drawn", "Poured off";
    ScrapTest = "scrap_test", "Scrap test";
    Moved = "moved", "Moved";
    Recalled = "recalled", "Films called back";
    Retired = "retired", "Retired";
]);

/// One line of the ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its id; 0 before it is written.
    pub id: i64,
    /// When.
    pub at: Moment,
    /// Who.
    pub by: Option<i64>,
    /// What.
    pub kind: EntryKind,
    /// The load on the bath, in thousandths of a roll's worth: film times its factor.
    pub milli: i64,
    /// The film itself, in thousandths of a roll's worth.
    pub film_milli: i64,
    /// Change of volume in microlitres.
    pub volume_ul: i64,
    /// Seconds to clear, for a clip test.
    pub seconds: Option<i64>,
    /// The film of the scrap, for a clip test.
    pub film: String,
    /// The temperature of the test, in thousandths of a degree C.
    pub temperature_mc: Option<i64>,
    /// Whether the scrap was wetted first.
    pub pre_wet: bool,
    /// Whether a scrap test was passed.
    pub passed: Option<bool>,
    /// The run, where it was one.
    pub run: Option<i64>,
    /// The entry it corrects.
    pub corrects: Option<i64>,
    /// Anything to remember.
    pub note: String,
}

impl Entry {
    /// An entry of a kind, of which the rest is yet to be said.
    #[must_use]
    pub fn of(kind: EntryKind, at: Moment) -> Entry {
        Entry {
            id: 0,
            at,
            by: None,
            kind,
            milli: 0,
            film_milli: 0,
            volume_ul: 0,
            seconds: None,
            film: String::new(),
            temperature_mc: None,
            pre_wet: false,
            passed: None,
            run: None,
            corrects: None,
            note: String::new(),
        }
    }

    /// The same with a note.
    #[must_use]
    pub fn noted(self, note: &str) -> Entry {
        Entry { note: note.to_owned(), ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::EntryKind;

    #[test]
    fn every_kind_of_entry_has_its_word() {
        for (kind, word, _) in EntryKind::ALL {
            assert_eq!((EntryKind::from_word(word), kind.word()), (Some(kind), word));
        }
    }
}
