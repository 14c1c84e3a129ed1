//! What a ledger comes to: the worst of capacity, volume, age and test, computed and never stored.

use serde::Serialize;

use super::rules::{Bath, Cause, Condition, Entry, EntryKind, Kind, Way};
use crate::chemistry::fixing_time;
use crate::clock::Moment;
use crate::units::Seconds;

/// A test whose clearing time is this many times the fresh one has failed (NAVEDTRA 14209, web
/// p. 249: exhausted when the clearing time is double the fresh value).
const SPENT_TIMES: i64 = 2;
/// Near its limit from 1.6 times on, in tenths: 80 % of the limit (common practice, no source).
const NEAR_TENTHS: i64 = 16;
/// A clearing time above this has failed whatever the fresh one was: film would stay in it for
/// more than 20 min (F-5 formula page, atelierelealbe.eu: discard when 2 x clearing exceeds 20 min).
const LONGEST_CLEARING_S: i64 = 600;
/// A developer older than this is tried with a scrap of leader before a run; such a test holds for
/// two weeks (common practice, no source).
const TEST_HOLDS_S: i64 = 14 * 86_400;

/// What a bath is judged by beside its own ledger.
#[derive(Clone, Debug)]
pub struct Measures {
    /// Near its limit from this share of its capacity on, in percent.
    pub near_percent: i64,
    /// A developer older than this many days asks for a scrap test.
    pub long_days: i64,
    /// Clearing times of the same product at the same dilution, measured on earlier baths.
    pub fresh: Vec<Clearing>,
}

impl Measures {
    /// The usual ones, without any earlier bath.
    #[must_use]
    pub fn usual(near_percent: i64) -> Measures {
        Measures { near_percent, long_days: 60, fresh: Vec::new() }
    }
}

/// A measured clearing time, and what must be the same for two of them to be compared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clearing {
    /// The film of the scrap.
    pub film: String,
    /// The temperature in whole degrees C, where it was written down.
    pub degrees: Option<i64>,
    /// Whether the scrap was wetted first.
    pub pre_wet: bool,
    /// Seconds until it was clear.
    pub seconds: i64,
}

impl Clearing {
    /// The clearing time of a test; nothing for any other entry.
    #[must_use]
    pub fn of(entry: &Entry) -> Option<Clearing> {
        let seconds = entry.seconds.filter(|_| entry.kind == EntryKind::ClipTest)?;
        let degrees = entry.temperature_mc.map(|mc| mc.saturating_add(500).div_euclid(1000));
        Some(Clearing { film: entry.film.clone(), degrees, pre_wet: entry.pre_wet, seconds })
    }

    /// Whether the two may be compared: the same film, temperature and pre-wetting.
    #[must_use]
    pub fn is_like(&self, other: &Clearing) -> bool {
        (&self.film, self.degrees, self.pre_wet) == (&other.film, other.degrees, other.pre_wet)
    }
}

/// What a bath's ledger comes to.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct State {
    /// The worst that is true of it.
    pub condition: Condition,
    /// Film it has taken, in thousandths of a roll's worth.
    pub used_milli: i64,
    /// Film it can still take; below nought when it was used past its limit.
    pub remaining_milli: i64,
    /// Age in whole days.
    pub age_days: i64,
    /// What is left of it, in microlitres.
    pub left_ul: i64,
    /// The clearing time measured last, in seconds.
    pub clearing_s: Option<i64>,
    /// The fresh clearing time that one is compared with, in seconds.
    pub fresh_s: Option<i64>,
    /// How long film stays in it, in seconds.
    pub fix_s: i64,
    /// How many thousandths of the recipe's time a developer needs now.
    pub time_permille: i64,
    /// Whether a scrap of leader must be tried before the next run.
    pub asks_scrap_test: bool,
    /// Everything leads are to be told, with how often it began anew.
    pub causes: Vec<(Cause, i64)>,
}

impl State {
    /// The word for people.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self.condition {
            Condition::Good => "Good",
            Condition::NearLimit => "Near its limit",
            Condition::TooOld => "Too old",
            Condition::TooLittle => "Too little left",
            Condition::AtLimit => "At its limit",
            Condition::FailedTest => "Failed its test",
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
        matches!(self.condition, Condition::Good | Condition::NearLimit)
    }

    /// What is in the way of so much more film, in a sentence with what to do; nothing where it
    /// takes it.
    #[must_use]
    pub fn cannot_take(&self, milli: i64) -> Option<&'static str> {
        match self.condition {
            Condition::Retired => Some("It is retired. Take the bath that stands in its place."),
            Condition::FailedTest => Some("It failed its test. Mix a fresh bath."),
            Condition::AtLimit => Some("It has taken all it can. Mix a fresh bath."),
            Condition::TooLittle => {
                Some("What is left no longer covers the film. Top it up, or mix a fresh bath.")
            }
            Condition::TooOld => Some("It is older than it keeps. Mix a fresh bath."),
            Condition::Good | Condition::NearLimit if milli > self.remaining_milli => {
                Some("That is more than it can still take. Put less film in, or mix a fresh bath.")
            }
            Condition::Good | Condition::NearLimit => None,
        }
    }
}

/// The ledger while it is read from its beginning.
#[derive(Default)]
struct Reading<'a> {
    used: i64,
    volume: i64,
    half_since: Option<Moment>,
    tests: Vec<(i64, Clearing)>,
    scraps: Vec<&'a Entry>,
    counts: [i64; 3],
}

/// Near, limit and test, in the order of the counts.
const COUNTED: [Cause; 3] = [Cause::Near, Cause::Limit, Cause::Test];

impl<'a> Reading<'a> {
    fn flags(&self, bath: &Bath, measures: &Measures) -> [bool; 3] {
        let share = self.used.saturating_mul(100);
        let (failed, slow) = self.tests_say(measures);
        let near = share >= bath.capacity_milli.saturating_mul(measures.near_percent);
        [near || slow, self.used >= bath.capacity_milli, failed || self.scrap_failed()]
    }

    fn scrap_failed(&self) -> bool {
        self.scraps.iter().any(|e| e.passed == Some(false))
    }

    /// The shortest like it: a clearing time only grows, so the shortest is the freshest.
    fn fresh(&self, test: &Clearing, measures: &Measures) -> i64 {
        let own = self.tests.iter().map(|t| &t.1);
        let earlier = measures.fresh.iter().filter(|c| !c.film.is_empty());
        let like = own.chain(earlier).filter(|c| c.is_like(test)).map(|c| c.seconds);
        like.min().unwrap_or(test.seconds)
    }

    /// Whether any test failed, and whether any is near to it.
    fn tests_say(&self, measures: &Measures) -> (bool, bool) {
        let mut said = (false, false);
        for (_, test) in &self.tests {
            let fresh = self.fresh(test, measures);
            said.0 |= test.seconds >= fresh.saturating_mul(SPENT_TIMES)
                || test.seconds > LONGEST_CLEARING_S;
            said.1 |= test.seconds.saturating_mul(10) >= fresh.saturating_mul(NEAR_TENTHS);
        }
        said
    }

    fn read(&mut self, entry: &'a Entry, bath: &Bath, measures: &Measures) {
        let lowers = matches!(entry.kind, EntryKind::Correction | EntryKind::Replenish);
        let before = lowers.then(|| self.flags(bath, measures));
        self.used = self.used.saturating_add(entry.milli);
        self.volume = self.volume.saturating_add(entry.volume_ul);
        let half = self.volume.saturating_mul(2) <= bath.volume_ul;
        self.half_since = if half { self.half_since.or(Some(entry.at)) } else { None };
        match entry.kind {
            EntryKind::ClipTest => self.tests.extend(Clearing::of(entry).map(|c| (entry.id, c))),
            EntryKind::ScrapTest => self.scraps.push(entry),
            EntryKind::Correction => {
                self.tests.retain(|t| Some(t.0) != entry.corrects);
                self.scraps.retain(|e| Some(e.id) != entry.corrects);
            }
            _ => {}
        }
        if let Some(before) = before {
            let after = self.flags(bath, measures);
            for ((count, was), is) in self.counts.iter_mut().zip(before).zip(after) {
                *count += i64::from(was && !is);
            }
        }
    }
}

/// Computes the state of a bath from its ledger; the near limit is a share of its capacity.
///
/// A test can only make it worse, and a top-up adds volume but no capacity.
#[must_use]
pub(super) fn state(bath: &Bath, entries: &[Entry], now: Moment, measures: &Measures) -> State {
    let mut read = Reading { volume: bath.volume_ul, ..Reading::default() };
    for entry in entries {
        read.read(entry, bath, measures);
    }
    let age_days = now.since(bath.mixed).max(0) / 86_400;
    let too_old = age_days > bath.keeps_days
        || bath
            .half_keeps_days
            .zip(read.half_since)
            .is_some_and(|(days, since)| now.since(since).max(0) / 86_400 > days);
    let too_little = bath.least_ul > 0 && read.volume < bath.least_ul;
    let [near, limit, failed] = read.flags(bath, measures);
    let condition = if bath.retired.is_some() {
        Condition::Retired
    } else if failed {
        Condition::FailedTest
    } else if limit {
        Condition::AtLimit
    } else if too_little {
        Condition::TooLittle
    } else if too_old {
        Condition::TooOld
    } else if near {
        Condition::NearLimit
    } else {
        Condition::Good
    };
    let mut causes: Vec<(Cause, i64)> = COUNTED
        .into_iter()
        .zip(read.counts)
        .zip([near && !limit && !failed, limit, failed])
        .filter_map(|(cause, holds)| holds.then_some(cause))
        .collect();
    causes.extend(too_little.then_some((Cause::Little, 0)));
    causes.extend(too_old.then_some((Cause::Old, 0)));
    if bath.retired.is_some() {
        causes.clear();
    }
    let last = read.tests.last().map(|t| &t.1);
    State {
        condition,
        used_milli: read.used,
        remaining_milli: bath.capacity_milli.saturating_sub(read.used),
        age_days,
        left_ul: read.volume,
        clearing_s: last.map(|t| t.seconds),
        fresh_s: last.map(|t| read.fresh(t, measures)),
        fix_s: last.map_or(bath.fix_s, |t| fix_for(t.seconds)),
        time_permille: time_permille(bath, read.used),
        asks_scrap_test: asks_scrap_test(bath, &read, (now, age_days), measures),
        causes,
    }
}

/// Fix for twice the clearing time (NAVEDTRA 14209, web p. 249).
fn fix_for(clearing_s: i64) -> i64 {
    let seconds = u32::try_from(clearing_s).ok().and_then(|s| Seconds::new(s).ok());
    seconds.map_or(0, |s| i64::from(fixing_time(s).get()))
}

/// Whole steps of film already developed, each a share of the first time more.
fn time_permille(bath: &Bath, used: i64) -> i64 {
    let Some(growth) = bath.growth else { return 1000 };
    let steps = used.max(0) / growth.every_milli.max(1);
    steps.saturating_mul(growth.permille).saturating_add(1000)
}

fn asks_scrap_test(
    bath: &Bath,
    read: &Reading<'_>,
    (now, age_days): (Moment, i64),
    measures: &Measures,
) -> bool {
    let tried = read.scraps.iter().any(|e| now.since(e.at) <= TEST_HOLDS_S);
    let old = age_days > measures.long_days.min(bath.keeps_days / 2);
    let kept = bath.way != Way::Shared || bath.kind == Kind::Developer;
    bath.kind == Kind::Developer && kept && old && !tried && bath.retired.is_none()
}

#[cfg(test)]
#[path = "state_tests.rs"]
pub(super) mod tests;
