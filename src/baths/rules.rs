//! What a bath's ledger says about it.

use serde::Serialize;

use crate::clock::Moment;

/// What a bath is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Takes the undeveloped silver out.
    Fixer,
    /// Ends development.
    Stop,
    /// Shortens the wash.
    WashAid,
    /// Lets the last water run off.
    WettingAgent,
    /// Re-used or replenished developer.
    Developer,
}

impl Kind {
    /// All kinds, with their words for people.
    pub const ALL: [(Kind, &'static str, &'static str); 5] = [
        (Kind::Fixer, "fixer", "Fixer"),
        (Kind::Stop, "stop", "Stop bath"),
        (Kind::WashAid, "wash_aid", "Wash aid"),
        (Kind::WettingAgent, "wetting_agent", "Wetting agent"),
        (Kind::Developer, "developer", "Developer"),
    ];

    /// The word in the database and the API.
    #[must_use]
    pub fn word(self) -> &'static str {
        Kind::ALL.iter().find(|k| k.0 == self).map_or("fixer", |k| k.1)
    }

    /// The word on a label.
    #[must_use]
    pub fn name(self) -> &'static str {
        Kind::ALL.iter().find(|k| k.0 == self).map_or("Fixer", |k| k.2)
    }

    /// The kind of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Kind> {
        Kind::ALL.iter().find(|k| k.1 == word).map(|k| k.0)
    }
}

/// A mixed bath.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bath {
    /// Its id.
    pub id: i64,
    /// What it is for.
    pub kind: Kind,
    /// What its label says.
    pub label: String,
    /// How much of it there is, in microlitres.
    pub volume_ul: i64,
    /// What it can take, in thousandths of a roll's worth, the studio's margin already off.
    pub capacity_milli: i64,
    /// How long film stays in it, in seconds.
    pub fix_s: i64,
    /// When it was mixed.
    pub mixed: Moment,
    /// How many days it keeps.
    pub keeps_days: i64,
    /// When it was retired, if it was.
    pub retired: Option<Moment>,
}

/// What an entry of the ledger records.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EntryKind {
    /// Film went through.
    Use,
    /// A scrap was cleared against the clock.
    ClipTest,
    /// An earlier entry was wrong by so much.
    Correction,
}

impl EntryKind {
    /// The word in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            EntryKind::Use => "use",
            EntryKind::ClipTest => "clip_test",
            EntryKind::Correction => "correction",
        }
    }
}

/// One line of the ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// When.
    pub at: Moment,
    /// What.
    pub kind: EntryKind,
    /// Film in thousandths of a roll's worth; nought for a test.
    pub milli: i64,
    /// Seconds to clear, for a test.
    pub seconds: Option<i64>,
    /// The run, where it was one.
    pub run: Option<i64>,
    /// Anything to remember.
    pub note: String,
}

impl Entry {
    /// A use.
    #[must_use]
    pub fn of_use(at: Moment, milli: i64, run: Option<i64>, note: &str) -> Entry {
        Entry { at, kind: EntryKind::Use, milli, seconds: None, run, note: note.to_owned() }
    }

    /// A clip test.
    #[must_use]
    pub fn of_clip_test(at: Moment, seconds: i64) -> Entry {
        let (kind, note) = (EntryKind::ClipTest, String::new());
        Entry { at, kind, milli: 0, seconds: Some(seconds), run: None, note }
    }
}

/// How good a bath still is; the worst of capacity, age and test.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    /// Use it.
    Good,
    /// Use it, and mix the next one.
    NearLimit,
    /// Too old to be trusted.
    TooOld,
    /// It has taken all it can.
    AtLimit,
    /// A clip test took twice the fresh time or longer.
    FailedTest,
    /// Out of use.
    Retired,
}

impl Condition {
    /// The stable word for programs.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Condition::Good => "good",
            Condition::NearLimit => "near_limit",
            Condition::TooOld => "too_old",
            Condition::AtLimit => "at_limit",
            Condition::FailedTest => "failed_test",
            Condition::Retired => "retired",
        }
    }
}

/// What a bath's ledger comes to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    /// The worst that is true of it.
    pub condition: Condition,
    /// Film it has taken, in thousandths of a roll's worth.
    pub used_milli: i64,
    /// Film it can still take; below nought when it was used past its limit.
    pub remaining_milli: i64,
    /// Age in whole days.
    pub age_days: i64,
}

impl State {
    /// The word for people.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self.condition {
            Condition::Good => "Good",
            Condition::NearLimit => "Near its limit",
            Condition::TooOld => "Too old",
            Condition::AtLimit => "At its limit",
            Condition::FailedTest => "Failed its clip test",
            Condition::Retired => "Retired",
        }
    }

    /// How grave it is, as pages show it: `good`, `note`, `bad` or `off`.
    #[must_use]
    pub fn tone(&self) -> &'static str {
        match self.condition {
            Condition::Good => "good",
            Condition::NearLimit => "note",
            Condition::Retired => "off",
            _ => "bad",
        }
    }

    /// Whether film may go into it.
    #[must_use]
    pub fn is_usable(&self) -> bool {
        self.condition <= Condition::NearLimit
    }

    /// What the leads have to be told about, if anything.
    #[must_use]
    pub fn cause(&self) -> Option<&'static str> {
        match self.condition {
            Condition::Good | Condition::Retired => None,
            Condition::NearLimit => Some("near"),
            Condition::TooOld => Some("old"),
            Condition::AtLimit => Some("limit"),
            Condition::FailedTest => Some("test"),
        }
    }
}

/// Computes the state from the ledger.
///
/// A bath is spent when the clearing time is double the fresh one (NAVEDTRA 14209, web p. 249);
/// the first test in the ledger is the fresh one. `near_percent` is a studio setting (common
/// practice, no source).
#[must_use]
pub(super) fn state(bath: &Bath, entries: &[Entry], now: Moment, near_percent: i64) -> State {
    let used_milli = entries.iter().fold(0_i64, |sum, e| sum.saturating_add(e.milli)).max(0);
    let remaining_milli = bath.capacity_milli.saturating_sub(used_milli);
    let age_days = now.since(bath.mixed).max(0) / 86_400;
    let mut tests = entries.iter().filter_map(|e| e.seconds);
    let fresh = tests.next();
    let failed = fresh.is_some_and(|f| {
        entries.iter().filter_map(|e| e.seconds).any(|s| s >= f.saturating_mul(2))
    });
    let near = used_milli.saturating_mul(100) >= bath.capacity_milli.saturating_mul(near_percent);
    let condition = if bath.retired.is_some() {
        Condition::Retired
    } else if failed {
        Condition::FailedTest
    } else if remaining_milli <= 0 {
        Condition::AtLimit
    } else if age_days > bath.keeps_days {
        Condition::TooOld
    } else if near {
        Condition::NearLimit
    } else {
        Condition::Good
    };
    State { condition, used_milli, remaining_milli, age_days }
}

/// Thousandths of a roll's worth as people write them: `1.5`.
#[must_use]
pub(super) fn rolls_in_words(milli: i64) -> String {
    let sign = if milli < 0 { "-" } else { "" };
    let n = milli.unsigned_abs();
    let text = format!("{sign}{}.{:03}", n / 1000, n % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn bath() -> Bath {
        Bath {
            id: 1,
            kind: Kind::Fixer,
            label: "Fixer 12".to_owned(),
            volume_ul: 2_000_000,
            capacity_milli: 30_000,
            fix_s: 300,
            mixed: Moment(0),
            keeps_days: 60,
            retired: None,
        }
    }

    fn uses(milli: &[i64]) -> Vec<Entry> {
        milli.iter().map(|m| Entry::of_use(Moment(1), *m, None, "")).collect()
    }

    #[test]
    fn a_bath_goes_from_good_by_near_to_its_limit() {
        let at = |m: &[i64]| state(&bath(), &uses(m), Moment(10), 80);
        assert_eq!(at(&[]).condition, Condition::Good);
        assert_eq!(at(&[23_999]).condition, Condition::Good);
        assert_eq!(at(&[20_000, 4000]).condition, Condition::NearLimit);
        assert_eq!(at(&[30_000]).condition, Condition::AtLimit);
        assert_eq!(at(&[31_500]).remaining_milli, -1500);
    }

    #[test]
    fn double_the_fresh_clearing_time_is_spent() {
        // NAVEDTRA 14209, web p. 249: exhausted when the clearing time is double the fresh value.
        let tests =
            |s: &[i64]| s.iter().map(|s| Entry::of_clip_test(Moment(1), *s)).collect::<Vec<_>>();
        let at = |s: &[i64]| state(&bath(), &tests(s), Moment(10), 80).condition;
        assert_eq!(at(&[60, 119]), Condition::Good);
        assert_eq!(at(&[60, 120]), Condition::FailedTest);
        assert_eq!(at(&[60, 120, 70]), Condition::FailedTest, "a later test cannot heal it");
    }

    #[test]
    fn working_fixer_older_than_two_months_is_not_trusted() {
        // S. Anchell, The Darkroom Cookbook, 3rd ed. 2008, p. 108: at most two months.
        let at = |days: i64| state(&bath(), &[], Moment(days * 86_400), 80).condition;
        assert_eq!((at(60), at(61)), (Condition::Good, Condition::TooOld));
    }

    #[test]
    fn rolls_are_written_without_idle_noughts() {
        assert_eq!(rolls_in_words(1500), "1.5");
        assert_eq!(rolls_in_words(20_000), "20");
        assert_eq!(rolls_in_words(-250), "-0.25");
    }

    proptest! {
        #[test]
        fn more_use_never_makes_a_bath_better(
            a in proptest::collection::vec(0_i64..40_000, 0..20), more in 1_i64..40_000,
        ) {
            let before = state(&bath(), &uses(&a), Moment(10), 80);
            let mut b = a.clone();
            b.push(more);
            let after = state(&bath(), &uses(&b), Moment(10), 80);
            prop_assert!(after.condition >= before.condition);
            prop_assert_eq!(after.used_milli, before.used_milli + more);
        }

        #[test]
        fn nothing_makes_it_panic(m in any::<i64>(), s in any::<i64>(), now in any::<i64>(), p in any::<i64>()) {
            let ledger = [Entry::of_use(Moment(now), m, None, ""), Entry::of_clip_test(Moment(now), s)];
            let _ = state(&bath(), &ledger, Moment(now), p);
            let _ = rolls_in_words(m);
        }
    }
}
