//! From a rule to local times: RFC 5545 recurrence, run on floating times. Pure.
//!
//! The rule is run as if the wall clock were UTC, and each time is placed in the studio's zone
//! afterwards. Run in the zone itself, a rule moves or drops what a change of the clocks touches.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeZone};
use rrule::{Frequency, RRule, RRuleSet, Tz, Unvalidated};

use crate::clock::{Span, WallFault, Zone};

/// The most sessions one series makes.
pub const MOST: u16 = 104;
/// No session lies further ahead of the first than this.
pub const FURTHEST_DAYS: i64 = 400;

/// What a rule makes of a first time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// The local beginnings, by time.
    pub originals: Vec<NaiveDateTime>,
    /// Whether the rule would go on.
    pub goes_on: bool,
}

/// How often, for those who do not write rules.
pub const USUAL: [(&str, &str); 5] = [
    ("FREQ=WEEKLY", "Every week"),
    ("FREQ=WEEKLY;INTERVAL=2", "Every second week"),
    ("FREQ=WEEKLY;INTERVAL=4", "Every fourth week"),
    ("FREQ=DAILY", "Every day"),
    ("", "By a rule of my own"),
];

/// The local times at which a rule begins something, from a first one on.
///
/// # Errors
/// A sentence that says what is wrong with the rule.
pub fn run(first: NaiveDateTime, rule: &str) -> Result<Run, String> {
    let text = tidy(rule)?;
    let parsed: RRule<Unvalidated> =
        text.parse().map_err(|e| format!("This is no rule of RFC 5545: {e}."))?;
    let often = matches!(
        parsed.get_freq(),
        Frequency::Daily | Frequency::Weekly | Frequency::Monthly | Frequency::Yearly
    );
    if !often {
        return Err(
            "A session comes at most once a day: use DAILY, WEEKLY, MONTHLY or YEARLY.".to_owned()
        );
    }
    if !(parsed.get_by_hour().is_empty()
        && parsed.get_by_minute().is_empty()
        && parsed.get_by_second().is_empty())
    {
        return Err("The times of day stand in their own fields: leave BYHOUR, BYMINUTE and \
                    BYSECOND out."
            .to_owned());
    }
    let start = Tz::UTC.from_utc_datetime(&first);
    let checked = parsed.validate(start).map_err(|e| format!("This rule cannot be run: {e}."))?;
    let last = start + chrono::Duration::days(FURTHEST_DAYS);
    let found = RRuleSet::new(start).rrule(checked).before(last).all(MOST + 1);
    let mut originals: Vec<NaiveDateTime> = found.dates.iter().map(|d| d.naive_utc()).collect();
    let most = usize::from(MOST);
    let goes_on = originals.len() > most || is_endless(&text);
    originals.truncate(most);
    if originals.is_empty() {
        return Err("This rule never comes to a day. Look at it again.".to_owned());
    }
    Ok(Run { originals, goes_on })
}

/// Whether nothing in a rule ends it.
fn is_endless(rule: &str) -> bool {
    !rule.split(';').any(|p| p.starts_with("COUNT=") || p.starts_with("UNTIL="))
}

/// The rule in capitals, without its name, with its UNTIL as a floating time on our footing.
fn tidy(rule: &str) -> Result<String, String> {
    let rule = rule.trim().to_ascii_uppercase();
    let rule = rule.strip_prefix("RRULE:").unwrap_or(&rule);
    let fits = |c: char| c.is_ascii_alphanumeric() || "=;,+-".contains(c);
    if rule.is_empty() || rule.len() > 200 || !rule.chars().all(fits) {
        return Err("Write a rule such as FREQ=WEEKLY;BYDAY=TU;COUNT=8, of at most 200 letters, \
                    digits and the signs = ; , + -."
            .to_owned());
    }
    let part = |p: &str| match p.strip_prefix("UNTIL=") {
        Some(day) if day.len() == 8 => format!("UNTIL={day}T235959Z"),
        Some(time) if !time.ends_with('Z') => format!("UNTIL={time}Z"),
        _ => p.to_owned(),
    };
    Ok(rule.trim_matches(';').split(';').map(part).collect::<Vec<_>>().join(";"))
}

/// The stretch of one session: its local beginning to a wall-clock end on the same day (midnight
/// is the end of the day). Of an hour that comes twice, the session begins in the first and ends
/// in the first that lies after its beginning.
///
/// # Errors
/// A sentence when the clocks skip one of its ends.
pub fn place(zone: Zone, begins: NaiveDateTime, ends: NaiveTime) -> Result<Span, String> {
    let date = begins.date();
    let day_of_end = if ends == NaiveTime::MIN { date.succ_opt().unwrap_or(date) } else { date };
    let at = |wall: NaiveDateTime| match zone.instant(wall) {
        Ok(m) => Ok((m, m)),
        Err(WallFault::Twice(first, second)) => Ok((first, second)),
        Err(WallFault::Missing) => {
            Err(format!("The clocks go forward that day and skip {}.", wall.time().format("%H:%M")))
        }
    };
    let (from, _) = at(begins)?;
    let (first, second) = at(day_of_end.and_time(ends))?;
    let to = if first > from { first } else { second };
    Span::new(from, to).ok_or_else(|| "It would end before it begins.".to_owned())
}

/// Dates written one in a line or with commas between, such as `2026-12-24, 2026-12-31`.
///
/// # Errors
/// A sentence that names what is no date.
pub fn read_dates(text: &str) -> Result<Vec<NaiveDate>, String> {
    let words = text.split([',', '\n', ' ']).map(str::trim).filter(|w| !w.is_empty());
    let mut dates = Vec::new();
    for word in words {
        let date = word.parse::<NaiveDate>().map_err(|_e| {
            let word: String = word.chars().take(40).collect();
            format!("“{word}” is no date; write each like 2026-12-24.")
        })?;
        dates.push(date);
    }
    if dates.len() > 100 { Err("At most 100 dates.".to_owned()) } else { Ok(dates) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::Moment;
    use proptest::prelude::*;

    fn at(text: &str) -> NaiveDateTime {
        NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%M").unwrap()
    }

    fn days(first: &str, rule: &str) -> Vec<String> {
        let found = run(at(first), rule).unwrap().originals;
        found.iter().map(|d| d.format("%m-%d %H:%M").to_string()).collect()
    }

    #[test]
    fn rules_of_the_standard_come_to_the_days_it_says() {
        // Both from the examples of RFC 5545, 3.8.5.3, at their own first dates.
        assert_eq!(
            days("1997-09-02T09:00", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;WKST=SU;BYDAY=TU"),
            ["09-02 09:00", "09-16 09:00", "09-30 09:00", "10-14 09:00"]
        );
        assert_eq!(
            days("1997-09-05T09:00", "RRULE:FREQ=MONTHLY;COUNT=4;BYDAY=1FR"),
            ["09-05 09:00", "10-03 09:00", "11-07 09:00", "12-05 09:00"]
        );
    }

    #[test]
    fn an_end_by_date_includes_that_day_whatever_the_hour() {
        assert_eq!(days("2027-03-16T18:00", "FREQ=WEEKLY;UNTIL=20270330").len(), 3);
        assert_eq!(days("2027-03-16T18:00", "freq=weekly;until=20270330T180000").len(), 3);
        assert_eq!(days("2027-03-16T18:00", "FREQ=WEEKLY;UNTIL=20270330T175959Z").len(), 2);
    }

    #[test]
    fn the_wall_clock_stays_when_the_clocks_change() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let all = run(at("2027-03-21T18:00"), "FREQ=WEEKLY;COUNT=3").unwrap().originals;
        let ends = NaiveTime::from_hms_opt(20, 0, 0).unwrap();
        let spans: Vec<Span> = all.iter().map(|b| place(dublin, *b, ends).unwrap()).collect();
        let shown: Vec<String> =
            spans.iter().map(|s| dublin.wall(s.from).format("%d %H:%M").to_string()).collect();
        assert_eq!(shown, ["21 18:00", "28 18:00", "04 18:00"]);
        assert_eq!(spans[1].from.since(spans[0].from), 7 * 86_400 - 3600, "a day of 23 hours");
        // The one at 01:30 on the last Sunday of March does not exist: it is said, not moved.
        let night = run(at("2027-03-27T01:30"), "FREQ=DAILY;COUNT=3").unwrap().originals;
        assert_eq!(night.len(), 3);
        let ends = NaiveTime::from_hms_opt(3, 0, 0).unwrap();
        let placed: Vec<_> = night.iter().map(|b| place(dublin, *b, ends).is_ok()).collect();
        assert_eq!(placed, [true, false, true]);
    }

    #[test]
    fn a_session_in_an_hour_that_comes_twice_begins_in_the_first() {
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let to = |h, m| NaiveTime::from_hms_opt(h, m, 0).unwrap();
        let s = place(dublin, at("2027-10-31T01:30"), to(2, 30)).unwrap();
        assert_eq!(s.seconds(), 2 * 3600);
        let within = place(dublin, at("2027-10-31T01:30"), to(1, 15)).unwrap();
        assert_eq!(within.seconds(), 45 * 60, "01:15 comes once more after 01:30");
        assert_eq!(place(dublin, at("2027-10-30T23:00"), to(0, 0)).unwrap().seconds(), 3600);
    }

    #[test]
    fn what_makes_no_sense_is_refused_in_words() {
        for (rule, said) in [
            ("", "such as"),
            ("every tuesday", "such as"),
            ("FREQ=HOURLY", "once a day"),
            ("FREQ=DAILY;BYHOUR=3", "own fields"),
            ("FREQ=WEEKLY;BYDAY=XX", "no rule"),
            ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "never"),
        ] {
            let fault = run(at("2027-03-16T18:00"), rule).unwrap_err();
            assert!(fault.contains(said), "{rule}: {fault}");
        }
        let endless = run(at("2027-03-16T18:00"), "FREQ=DAILY").unwrap();
        assert!(endless.goes_on && endless.originals.len() == usize::from(MOST));
        assert!(!run(at("2027-03-16T18:00"), "FREQ=DAILY;COUNT=5").unwrap().goes_on);
        assert!(read_dates("2027-03-16, 2027-03-23\n2027-04-01").unwrap().len() == 3);
        assert!(read_dates("16.3.2027").unwrap_err().contains("16.3.2027"));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]
        #[test]
        fn nothing_typed_as_a_rule_makes_it_panic_or_run_away(
            rule in "(FREQ=(DAILY|WEEKLY|MONTHLY|YEARLY)|INTERVAL=[0-9]{0,6}|COUNT=[0-9]{0,12}|BYDAY=[-+]?[0-9]{0,3}(MO|TU|SU)|BYMONTHDAY=-?[0-9]{0,3}|BYSETPOS=-?[0-9]{0,4}|UNTIL=[0-9TZ]{0,17}|WKST=SU|BYWEEKNO=-?[0-9]{1,3}|BYYEARDAY=-?[0-9]{1,4}|BYMONTH=[0-9]{1,3}|[A-Z=;,]{0,6})(;(FREQ=(DAILY|WEEKLY|MONTHLY|YEARLY)|INTERVAL=[0-9]{0,6}|COUNT=[0-9]{0,12}|BYDAY=[-+]?[0-9]{0,3}(MO|TU|SU)|BYMONTHDAY=-?[0-9]{0,3}|BYSETPOS=-?[0-9]{0,4}|UNTIL=[0-9TZ]{0,17}|BYMONTH=[0-9]{1,3})){0,4}",
            days in 0_i64..4000, minute in 0_i64..1440,
        ) {
            let first = at("2027-01-01T00:00")
                + chrono::Duration::days(days) + chrono::Duration::minutes(minute);
            if let Ok(found) = run(first, &rule) {
                prop_assert!(found.originals.len() <= usize::from(MOST));
                prop_assert!(found.originals.windows(2).all(|w| w[0] < w[1]));
                prop_assert!(found.originals.iter().all(|o| *o >= first && o.time() == first.time()));
            }
        }

        #[test]
        fn a_placed_session_shows_its_own_times_on_the_wall(days in 0_i64..3000, quarter in 0_i64..92) {
            let zone = Zone::named("Europe/Dublin").unwrap();
            let begins = at("2027-01-01T00:00")
                + chrono::Duration::days(days) + chrono::Duration::minutes(15 * quarter);
            let ends = (begins + chrono::Duration::minutes(60)).time();
            if let Ok(span) = place(zone, begins, ends) {
                prop_assert_eq!(zone.wall(span.from), begins);
                prop_assert_eq!(zone.wall(span.to).time(), ends);
                prop_assert!(span.from > Moment(0) && span.seconds() <= 3 * 3600);
            }
        }
    }
}
