//! The studio's clock against an independent time-zone library, over twenty years and more than a
//! dozen zones: other code, and zone data of its own.
//!
//! The two libraries carry data of different dates. A year of a zone is compared where both say
//! the same of its offsets; that must be nearly all of them.

use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use jiff::Timestamp;
use jiff::civil;
use jiff::tz::{AmbiguousOffset, TimeZone};
use wetside::bookings::rules;
use wetside::clock::{Moment, Span, WallFault, Zone};
use wetside::series::rules as series;
use wetside::sinks::{self, Hours};

/// Rules of many kinds: whole and half hours, north and south, changes at night and at midnight,
/// days left out, winter time as the exception, none at all.
const ZONES: [&str; 16] = [
    "Europe/Dublin",
    "Europe/Berlin",
    "America/New_York",
    "America/St_Johns",
    "America/Havana",
    "America/Asuncion",
    "America/Sao_Paulo",
    "Atlantic/Azores",
    "Africa/Casablanca",
    "Asia/Beirut",
    "Asia/Tehran",
    "Asia/Kolkata",
    "Australia/Lord_Howe",
    "Pacific/Apia",
    "Pacific/Chatham",
    "Antarctica/Troll",
];
const YEARS: std::ops::RangeInclusive<i32> = 2010..=2030;

struct Pair {
    ours: Zone,
    theirs: TimeZone,
}

fn civil_of(at: NaiveDateTime) -> civil::DateTime {
    let (d, t) = (at.date(), at.time());
    let part = |n: u32| i8::try_from(n).unwrap();
    civil::datetime(
        i16::try_from(d.year()).unwrap(),
        part(d.month()),
        part(d.day()),
        part(t.hour()),
        part(t.minute()),
        0,
        0,
    )
}

impl Pair {
    fn offset_of_theirs(&self, at: i64) -> i64 {
        i64::from(self.theirs.to_offset(Timestamp::from_second(at).unwrap()).seconds())
    }

    fn offset_of_ours(&self, at: i64) -> i64 {
        self.ours.wall(Moment(at)).and_utc().timestamp() - at
    }

    /// Whether both say the same of every third hour of a year and the days around it.
    fn agrees_on(&self, year: i32) -> bool {
        let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap().and_time(NaiveTime::MIN);
        let from = day(year - 1, 12, 29).and_utc().timestamp();
        let to = day(year + 1, 1, 3).and_utc().timestamp();
        (from..to).step_by(3 * 3600).all(|at| self.offset_of_ours(at) == self.offset_of_theirs(at))
    }

    /// What the other library says of a wall-clock time, in our words.
    fn instant(&self, wall: NaiveDateTime) -> Result<Moment, WallFault> {
        let civil = civil_of(wall);
        let as_utc = wall.and_utc().timestamp();
        let at = |offset: jiff::tz::Offset| Moment(as_utc - i64::from(offset.seconds()));
        match self.theirs.to_ambiguous_timestamp(civil).offset() {
            AmbiguousOffset::Unambiguous { offset } => Ok(at(offset)),
            AmbiguousOffset::Gap { .. } => Err(WallFault::Missing),
            AmbiguousOffset::Fold { before, after } => Err(WallFault::Twice(at(before), at(after))),
        }
    }

    /// The first instant of a date, found by walking: nothing of ours is in it.
    fn day_start(&self, date: NaiveDate) -> Moment {
        let midnight = date.and_time(NaiveTime::MIN);
        let walls = (0..=96).map(|n| midnight + chrono::Duration::minutes(15 * n));
        walls
            .map(|wall| self.instant(wall))
            .find_map(|found| match found {
                Ok(m) | Err(WallFault::Twice(m, _)) => Some(m),
                Err(WallFault::Missing) => None,
            })
            .unwrap()
    }
}

/// One local day; says how many of its quarters do not happen exactly once.
fn compare_day(pair: &Pair, date: NaiveDate, hours: &[Hours]) -> usize {
    let (zone, next) = (pair.ours, date.succ_opt().unwrap());
    let day = zone.day(date);
    let (from, to) = (pair.day_start(date), pair.day_start(next));
    assert_eq!(day, Span { from, to }, "{} {date}", zone.name());
    let is_plain = day.seconds() == 86_400;
    let step = if is_plain { 360 } else { 15 };
    let mut odd = 0;
    for minute in (0..1440).step_by(step) {
        let wall = date.and_time(NaiveTime::MIN) + chrono::Duration::minutes(minute);
        let (ours, theirs) = (zone.instant(wall), pair.instant(wall));
        assert_eq!(ours, theirs, "{} {wall}", zone.name());
        odd += usize::from(ours.is_err());
        compare_forms(zone, wall, theirs);
    }
    if !is_plain {
        // An open day has as many slots as it has quarters, an open evening its own.
        let open: i64 = sinks::weekly(zone, date, hours).iter().map(Span::seconds).sum();
        assert_eq!(open, to.since(from), "{} {date}", zone.name());
    }
    odd
}

/// What is booked or recurs by wall-clock times stands at the other library's instants, or is
/// refused or asked about.
fn compare_forms(zone: Zone, wall: NaiveDateTime, theirs: Result<Moment, WallFault>) {
    let late = wall + chrono::Duration::minutes(15);
    if late.date() != wall.date() && late.time() != NaiveTime::MIN {
        return;
    }
    let times = (wall.time(), late.time());
    let asked = rules::span(zone, wall.date(), times, (None, None));
    let second = rules::span(zone, wall.date(), times, (Some(true), Some(true)));
    let placed = series::place(zone, wall, late.time());
    match theirs {
        Ok(m) => {
            assert!(asked.is_err() || asked.is_ok_and(|s| s.from == m), "{wall}");
            assert!(placed.is_err() || placed.is_ok_and(|s| s.from == m), "{wall}");
        }
        Err(WallFault::Missing) => {
            let said = asked.unwrap_err().to_string();
            assert!(said.contains("skip"), "{wall}: {said}");
            assert!(second.is_err() && placed.unwrap_err().contains("skip"), "{wall}");
        }
        Err(WallFault::Twice(a, b)) => {
            let said = asked.unwrap_err().to_string();
            assert!(said.contains("happens twice"), "{wall}: {said}");
            assert!(second.is_err() || second.is_ok_and(|s| s.from == b), "{wall}");
            assert!(placed.is_err() || placed.is_ok_and(|s| s.from == a), "{wall}");
        }
    }
}

#[test]
fn the_wall_clock_is_that_of_an_independent_library_over_twenty_years() {
    let whole: Vec<Hours> =
        (1..=7).map(|weekday| Hours { weekday, from_min: 0, to_min: 1440 }).collect();
    let (mut years, mut agreed, mut days, mut odd) = (0, 0, 0, 0);
    for name in ZONES {
        let pair = Pair { ours: Zone::named(name).unwrap(), theirs: TimeZone::get(name).unwrap() };
        for year in YEARS {
            years += 1;
            if !pair.agrees_on(year) {
                continue;
            }
            agreed += 1;
            let first = NaiveDate::from_ymd_opt(year, 1, 1).unwrap();
            for date in first.iter_days().take_while(|d| d.year() == year) {
                days += 1;
                odd += compare_day(&pair, date, &whole);
            }
        }
    }
    assert!(agreed * 100 >= years * 93, "only {agreed} of {years} years could be compared");
    assert!(days > 110_000, "{days} days");
    assert!(odd > 1500, "{odd} quarters that were skipped or came twice");
}
