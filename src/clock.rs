//! Time: instants as UTC seconds, spans of them, and the studio's own clock on the wall.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use chrono::{DateTime, Datelike, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

/// One instant, in whole seconds since 1970-01-01T00:00:00Z.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Moment(pub i64);

impl Moment {
    /// The instant this many seconds later (earlier if negative); the far ends saturate.
    #[must_use]
    pub fn plus(self, seconds: i64) -> Moment {
        Moment(self.0.saturating_add(seconds))
    }

    /// Seconds from `earlier` to this instant; negative if it lies ahead.
    #[must_use]
    pub fn since(self, earlier: Moment) -> i64 {
        self.0.saturating_sub(earlier.0)
    }

    /// The instant as UTC date and time; instants beyond the calendar become its epoch.
    #[must_use]
    pub fn utc(self) -> DateTime<Utc> {
        DateTime::from_timestamp(self.0, 0).unwrap_or_default()
    }
}

/// A half-open stretch of time, `from` included and `to` not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Span {
    /// The first instant inside.
    pub from: Moment,
    /// The first instant after.
    pub to: Moment,
}

impl Span {
    /// A span that is not empty, or nothing.
    #[must_use]
    pub fn new(from: Moment, to: Moment) -> Option<Span> {
        (from < to).then_some(Span { from, to })
    }

    /// Whether the two share an instant.
    #[must_use]
    pub fn meets(&self, other: &Span) -> bool {
        self.from < other.to && other.from < self.to
    }

    /// Length in seconds.
    #[must_use]
    pub fn seconds(&self) -> i64 {
        self.to.since(self.from)
    }
}

/// The clock the program reads: the real one, or one that a test sets by hand.
#[derive(Clone, Debug)]
pub enum Clock {
    /// The machine's own clock.
    Real,
    /// A clock that moves only when told to.
    Fixed(Arc<AtomicI64>),
    /// A demonstration's clock: it began at an instant of its choosing and may run faster.
    Shown {
        /// The machine's clock when it began, in milliseconds.
        real_ms: i64,
        /// What it showed then, in milliseconds.
        shown_ms: i64,
        /// How many times as fast it runs, 1 or more.
        times: i64,
    },
}

impl Clock {
    /// A clock that stands at this instant until it is moved.
    #[must_use]
    pub fn fixed(at: Moment) -> Clock {
        Clock::Fixed(Arc::new(AtomicI64::new(at.0)))
    }

    /// A clock that begins at this instant, or now, and runs so many times as fast.
    #[must_use]
    pub fn shown(from: Option<Moment>, times: i64) -> Clock {
        let real_ms = Utc::now().timestamp_millis();
        let shown_ms = from.map_or(real_ms, |at| at.0.saturating_mul(1000));
        Clock::Shown { real_ms, shown_ms, times: times.max(1) }
    }

    /// How many times as fast as the world it runs.
    #[must_use]
    pub fn pace(&self) -> i64 {
        match self {
            Clock::Shown { times, .. } => *times,
            Clock::Real | Clock::Fixed(_) => 1,
        }
    }

    /// What the clock says.
    #[must_use]
    pub fn now(&self) -> Moment {
        match self {
            Clock::Real => Moment(Utc::now().timestamp()),
            Clock::Fixed(at) => Moment(at.load(Ordering::SeqCst)),
            Clock::Shown { real_ms, shown_ms, times } => {
                let passed = (Utc::now().timestamp_millis() - real_ms).saturating_mul(*times);
                Moment((shown_ms + passed).div_euclid(1000))
            }
        }
    }

    /// Moves a fixed clock on; a real one cannot be moved.
    pub fn advance(&self, seconds: i64) {
        if let Clock::Fixed(at) = self {
            at.fetch_add(seconds, Ordering::SeqCst);
        }
    }
}

/// A time zone by its IANA name, such as `Europe/Dublin`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Zone(Tz);

/// Why a wall-clock time names no single instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WallFault {
    /// The clocks go forward over it: it does not exist that day.
    Missing,
    /// The clocks go back over it: it happens twice, at these two instants.
    Twice(Moment, Moment),
}

impl Zone {
    /// Coordinated universal time.
    pub const UTC: Zone = Zone(Tz::UTC);

    /// The zone of that IANA name, or nothing if there is none.
    #[must_use]
    pub fn named(name: &str) -> Option<Zone> {
        name.parse::<Tz>().ok().map(Zone)
    }

    /// Its IANA name.
    #[must_use]
    pub fn name(&self) -> &'static str {
        self.0.name()
    }

    /// The local date and time of an instant.
    #[must_use]
    pub fn wall(&self, at: Moment) -> NaiveDateTime {
        at.utc().with_timezone(&self.0).naive_local()
    }

    /// The local date of an instant.
    #[must_use]
    pub fn date(&self, at: Moment) -> NaiveDate {
        self.wall(at).date()
    }

    /// The instant as RFC 3339 with this zone's offset.
    #[must_use]
    pub fn rfc3339(&self, at: Moment) -> String {
        at.utc().with_timezone(&self.0).to_rfc3339_opts(chrono::SecondsFormat::Secs, false)
    }

    /// The instant at which the wall clock shows this.
    ///
    /// # Errors
    /// [`WallFault`] where the zone skips or repeats that time.
    pub fn instant(&self, wall: NaiveDateTime) -> Result<Moment, WallFault> {
        match self.0.from_local_datetime(&wall) {
            LocalResult::Single(t) => Ok(Moment(t.timestamp())),
            LocalResult::Ambiguous(a, b) => {
                Err(WallFault::Twice(Moment(a.timestamp()), Moment(b.timestamp())))
            }
            LocalResult::None => Err(WallFault::Missing),
        }
    }

    /// The first instant of a local date (some zones skip midnight, and one skipped a whole date:
    /// its day is empty, and begins where the next one does).
    #[must_use]
    pub fn day_start(&self, date: NaiveDate) -> Moment {
        let midnight = date.and_time(NaiveTime::MIN);
        (0..=26 * 4)
            .find_map(|quarters| {
                let wall = midnight + chrono::Duration::minutes(15 * quarters);
                match self.instant(wall) {
                    Ok(m) | Err(WallFault::Twice(m, _)) => Some(m),
                    Err(WallFault::Missing) => None,
                }
            })
            .unwrap_or(Moment(midnight.and_utc().timestamp()))
    }

    /// The whole local day, 23 to 25 hours long.
    #[must_use]
    pub fn day(&self, date: NaiveDate) -> Span {
        let next = date.succ_opt().unwrap_or(date);
        Span { from: self.day_start(date), to: self.day_start(next) }
    }
}

/// A month of the calendar, from January 2000 to December 2199.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Month(NaiveDate);

impl Month {
    /// The month of a date; of one beyond those years, the nearest.
    #[must_use]
    pub fn of(date: NaiveDate) -> Month {
        let first = |y, m| NaiveDate::from_ymd_opt(y, m, 1);
        let within = match date.year() {
            ..2000 => first(2000, 1),
            2200.. => first(2199, 12),
            year => first(year, date.month()),
        };
        Month(within.unwrap_or(date))
    }

    /// The month that was written as `2027-03`, if it is one.
    #[must_use]
    pub fn read(text: &str) -> Option<Month> {
        let date = format!("{text}-01").parse().ok()?;
        Some(Month::of(date)).filter(|m| m.to_string() == text)
    }

    /// Its dates in their order.
    pub fn dates(self) -> impl Iterator<Item = NaiveDate> {
        self.0.iter_days().take_while(move |d| Month::of(*d) == self && d.month() == self.0.month())
    }

    /// Its first date.
    #[must_use]
    pub fn first(self) -> NaiveDate {
        self.0
    }

    /// Its last date.
    #[must_use]
    pub fn last(self) -> NaiveDate {
        self.dates().last().unwrap_or(self.0)
    }

    /// The month so many months later, or earlier.
    #[must_use]
    pub fn step(self, months: i32) -> Month {
        let by = chrono::Months::new(months.unsigned_abs());
        let there = match months {
            ..0 => self.0.checked_sub_months(by),
            _ => self.0.checked_add_months(by),
        };
        there.map_or(self, Month::of)
    }

    /// The whole month on the wall clock of a zone.
    #[must_use]
    pub fn span(self, zone: Zone) -> Span {
        Span { from: zone.day_start(self.0), to: zone.day(self.last()).to }
    }

    /// `March 2027`.
    #[must_use]
    pub fn named(self) -> String {
        self.0.format("%B %Y").to_string()
    }
}

impl std::fmt::Display for Month {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0.format("%Y-%m"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_month_is_read_written_and_stepped_over_the_end_of_the_year() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let march = Month::read("2027-03").unwrap();
        assert_eq!((march.to_string().as_str(), march.named().as_str()), ("2027-03", "March 2027"));
        assert_eq!(march.dates().count(), 31);
        // The clocks go forward in it.
        assert_eq!(march.span(dublin).seconds(), 31 * 86_400 - 3600);
        assert_eq!(march.step(-3), Month::read("2026-12").unwrap());
        assert_eq!(march.step(11), Month::read("2028-02").unwrap());
        assert_eq!(march.step(11).last(), date("2028-02-29"));
        for none in ["", "2027", "2027-13", "1999-12", "2200-01", "2027-03-01", "2027-03 "] {
            assert_eq!(Month::read(none), None, "{none}");
        }
        let last = Month::read("2199-12").unwrap();
        assert_eq!((last.step(1), last.dates().count()), (last, 31));
    }

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_day_is_as_long_as_the_clocks_make_it() {
        // EU summer time 2027 begins on 28 March and ends on 31 October (Directive 2000/84/EC).
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let hours = |d| dublin.day(date(d)).seconds() / 3600;
        assert_eq!(hours("2027-03-27"), 24);
        assert_eq!(hours("2027-03-28"), 23);
        assert_eq!(hours("2027-10-31"), 25);
    }

    #[test]
    fn a_date_that_a_zone_left_out_is_empty() {
        // Samoa went from 29 to 31 December 2011 (IANA time zone database, Pacific/Apia).
        let apia = Zone::named("Pacific/Apia").unwrap();
        assert_eq!(apia.day(date("2011-12-29")).seconds(), 86_400);
        assert_eq!(apia.day(date("2011-12-30")).seconds(), 0);
        assert_eq!(apia.day(date("2011-12-30")).to, apia.day(date("2011-12-31")).from);
    }

    #[test]
    fn a_skipped_and_a_repeated_hour_are_told_apart() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let at = |d: &str, h| dublin.instant(date(d).and_hms_opt(h, 30, 0).unwrap());
        assert_eq!(at("2027-03-28", 1), Err(WallFault::Missing));
        assert!(matches!(at("2027-10-31", 1), Err(WallFault::Twice(a, b)) if b.since(a) == 3600));
        assert!(at("2027-10-31", 3).is_ok());
    }

    #[test]
    fn spans_meet_both_ways_or_not_at_all() {
        let s = |a, b| Span::new(Moment(a), Moment(b)).unwrap();
        assert!(s(0, 10).meets(&s(9, 20)) && s(9, 20).meets(&s(0, 10)));
        assert!(!s(0, 10).meets(&s(10, 20)));
        assert_eq!(Span::new(Moment(5), Moment(5)), None);
    }
}
