//! The studio's clock on one date: local times of day as elapsed seconds since midnight.

use chrono::{DateTime, LocalResult, NaiveDate, NaiveTime, SecondsFormat, TimeDelta, TimeZone};
use chrono_tz::Tz;

/// Elapsed seconds since the first instant of the local date.
pub(crate) type Seconds = i64;

/// A local date in a time zone, which turns times of day into elapsed seconds and back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LocalDay {
    date: NaiveDate,
    zone: Tz,
    midnight: DateTime<Tz>,
    length: Seconds,
}

impl LocalDay {
    /// The day, or nothing where the zone left out that whole date.
    pub(crate) fn new(date: NaiveDate, zone: Tz) -> Option<Self> {
        let midnight = first_instant(date, zone)?;
        let end = first_instant(date.succ_opt()?, zone)?;
        let length = end.signed_duration_since(midnight).num_seconds();
        (length > 0).then_some(Self { date, zone, midnight, length })
    }

    /// The seconds since midnight of `HH:MM` or `HH:MM:SS`; 24:00 only where a day may end.
    pub(super) fn read(&self, text: &str, may_end: bool) -> Result<Seconds, String> {
        if may_end && matches!(text, "24:00" | "24:00:00") {
            return Ok(self.length);
        }
        let time = time_of_day(text)
            .ok_or_else(|| format!("{text:?} is not a time of day; write HH:MM"))?;
        match self.zone.from_local_datetime(&self.date.and_time(time)) {
            LocalResult::Single(instant) => {
                Ok(instant.signed_duration_since(self.midnight).num_seconds())
            }
            LocalResult::None => Err(format!(
                "{text:?} does not exist on {} in {}, where the clocks go forward; write another time",
                self.date, self.zone
            )),
            LocalResult::Ambiguous(..) => Err(format!(
                "{text:?} exists twice on {} in {}, where the clocks go back; write another time",
                self.date, self.zone
            )),
        }
    }

    /// The instant as RFC 3339 with the zone's offset.
    pub(super) fn stamp(&self, at: Seconds) -> String {
        self.instant(at).to_rfc3339_opts(SecondsFormat::Secs, false)
    }

    /// The time of day as a person reads it, `HH:MM`, with seconds only where there are any.
    pub(super) fn time(&self, at: Seconds) -> String {
        let form = if at % 60 == 0 { "%H:%M" } else { "%H:%M:%S" };
        self.instant(at).format(form).to_string()
    }

    fn instant(&self, at: Seconds) -> DateTime<Tz> {
        TimeDelta::try_seconds(at)
            .and_then(|passed| self.midnight.checked_add_signed(passed))
            .unwrap_or(self.midnight)
    }
}

fn time_of_day(text: &str) -> Option<NaiveTime> {
    let form = match text.len() {
        5 => "%H:%M",
        8 => "%H:%M:%S",
        _ => return None,
    };
    let plain = text.chars().enumerate().all(|(i, c)| match i {
        2 | 5 => c == ':',
        _ => c.is_ascii_digit(),
    });
    let leap = text.ends_with(":60");
    (plain && !leap).then(|| NaiveTime::parse_from_str(text, form).ok()).flatten()
}

/// Midnight, or the first instant after it where clocks skip it.
fn first_instant(date: NaiveDate, zone: Tz) -> Option<DateTime<Tz>> {
    let midnight = date.and_time(NaiveTime::MIN);
    let first = (0..24 * 60).find_map(|minute| {
        let local = midnight.checked_add_signed(TimeDelta::minutes(minute))?;
        zone.from_local_datetime(&local).earliest()
    })?;
    let mut instant = first;
    for _ in 0..60 {
        let before = instant.checked_sub_signed(TimeDelta::seconds(1))?;
        if before.date_naive() != date {
            break;
        }
        instant = before;
    }
    Some(instant)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(date: &str, zone: &str) -> LocalDay {
        LocalDay::new(date.parse().unwrap(), zone.parse().unwrap()).unwrap()
    }

    #[test]
    fn an_ordinary_day_counts_from_midnight() {
        let day = day("2027-03-14", "Europe/Dublin");
        assert_eq!(day.read("10:00", false), Ok(36_000));
        assert_eq!(day.read("10:00:30", false), Ok(36_030));
        assert_eq!(day.read("24:00", true), Ok(86_400));
        assert_eq!(day.stamp(36_300), "2027-03-14T10:05:00+00:00");
    }

    #[test]
    fn a_skipped_hour_is_a_fault_and_the_day_is_short() {
        let day = day("2027-03-28", "Europe/Dublin");
        assert_eq!(day.length, 23 * 3600);
        assert!(day.read("01:30", false).unwrap_err().contains("does not exist"));
        assert_eq!(day.read("10:00", false), Ok(9 * 3600));
        assert_eq!(day.stamp(9 * 3600), "2027-03-28T10:00:00+01:00");
    }

    #[test]
    fn a_repeated_hour_is_a_fault_and_the_day_is_long() {
        let day = day("2027-10-31", "Europe/Dublin");
        assert_eq!(day.length, 25 * 3600);
        assert!(day.read("01:30", false).unwrap_err().contains("exists twice"));
        assert_eq!(day.read("10:00", false), Ok(11 * 3600));
    }

    #[test]
    fn a_zone_that_skips_midnight_or_a_whole_date() {
        let cairo = day("2024-04-26", "Africa/Cairo");
        assert_eq!(cairo.length, 23 * 3600);
        assert!(cairo.read("00:00", false).is_err());
        assert_eq!(cairo.read("01:00", false), Ok(0));
        let apia = "2011-12-30".parse().unwrap();
        assert_eq!(LocalDay::new(apia, "Pacific/Apia".parse().unwrap()), None);
    }

    #[test]
    fn only_plain_times_of_day_are_read() {
        let day = day("2027-03-14", "Europe/Dublin");
        for text in ["25:00", "24:00", "9:00", "09:60", "+9:00", "09:00:60", "09-00", "", "0९:00"]
        {
            let message = day.read(text, false).unwrap_err();
            assert_eq!(message, format!("{text:?} is not a time of day; write HH:MM"));
        }
        assert!(day.read("24:01", true).is_err());
    }
}
