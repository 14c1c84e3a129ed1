//! Opening hours as rules: reading them and laying them over a day.

use chrono::{Duration, NaiveDate, NaiveTime};
use serde::Serialize;

use crate::clock::{Moment, Span, WallFault, Zone};

/// One stretch of opening, every week.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Hours {
    /// 1 Monday to 7 Sunday.
    pub weekday: i64,
    /// Minutes since local midnight.
    pub from_min: i64,
    /// Minutes since local midnight; 1440 is the end of the day.
    pub to_min: i64,
}

impl Hours {
    /// As people write it: `10:00-21:30`.
    #[must_use]
    pub fn text(&self) -> String {
        let (f, t) = (self.from_min, self.to_min);
        format!("{:02}:{:02}-{:02}:{:02}", f / 60, f % 60, t / 60, t % 60)
    }
}

/// Reads a day's hours, such as `10:00-13:00, 15:00-24:00`; nothing written means closed.
///
/// # Errors
/// The sentence that says what could not be read.
pub fn read_hours(weekday: i64, text: &str) -> Result<Vec<Hours>, String> {
    let mut day = Vec::new();
    for part in text.split(',').map(str::trim).filter(|p| !p.is_empty()) {
        let ends = part.split_once('-').and_then(|(a, b)| Some((minutes(a)?, minutes(b)?)));
        match ends.filter(|(a, b)| a < b) {
            Some((from_min, to_min)) => day.push(Hours { weekday, from_min, to_min }),
            None => {
                let part: String = part.chars().take(40).collect();
                return Err(format!("“{part}” is not a time of opening; write 10:00-21:30."));
            }
        }
    }
    day.sort_by_key(|h| h.from_min);
    let apart = day.iter().zip(day.iter().skip(1)).all(|(a, b)| a.to_min <= b.from_min);
    if apart { Ok(day) } else { Err("Two of these times overlap; join them into one.".to_owned()) }
}

fn minutes(text: &str) -> Option<i64> {
    let (h, m) = text.trim().split_once(':')?;
    if !(1..=2).contains(&h.len()) || m.len() != 2 {
        return None;
    }
    let (h, m): (u8, u8) = (h.parse().ok()?, m.parse().ok()?);
    let total = i64::from(h) * 60 + i64::from(m);
    (m < 60 && total <= 1440).then_some(total)
}

/// The instants of a day's hours.
pub(super) fn spans<'a>(
    zone: Zone,
    date: NaiveDate,
    hours: impl Iterator<Item = &'a Hours>,
) -> Vec<Span> {
    let ends =
        hours.map(|h| (edge(zone, date, h.from_min, false), edge(zone, date, h.to_min, true)));
    let mut spans: Vec<Span> = ends.filter_map(|(a, b)| Span::new(a, b)).collect();
    spans.sort_by_key(|s| s.from);
    spans
}

/// Opening begins with the first of a repeated time and ends with the second; a skipped time is
/// the moment the clocks go on.
fn edge(zone: Zone, date: NaiveDate, minute: i64, is_end: bool) -> Moment {
    if minute >= 1440 {
        return zone.day(date).to;
    }
    let wall = date.and_time(NaiveTime::MIN) + Duration::minutes(minute);
    match zone.instant(wall) {
        Ok(m) => m,
        Err(WallFault::Twice(first, second)) => {
            if is_end {
                second
            } else {
                first
            }
        }
        Err(WallFault::Missing) => (1..=180)
            .find_map(|later| zone.instant(wall + Duration::minutes(later)).ok())
            .unwrap_or(zone.day(date).to),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_read_as_people_write_them() {
        let day = read_hours(2, "15:00-24:00, 9:30-13:00").unwrap();
        let texts: Vec<String> = day.iter().map(Hours::text).collect();
        assert_eq!(texts, ["09:30-13:00", "15:00-24:00"]);
        assert_eq!(read_hours(2, " "), Ok(vec![]));
        for wrong in ["10-12", "12:00-10:00", "9:00-25:00", "9:60-11:00", "9:00-12:00,11:00-13:00"]
        {
            assert!(read_hours(2, wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_day_of_changing_clocks_is_open_as_long_as_the_wall_clock_says() {
        // EU summer time 2027 begins on 28 March and ends on 31 October (Directive 2000/84/EC).
        let dublin = Zone::named("Europe/Dublin").unwrap();
        let whole = Hours { weekday: 7, from_min: 0, to_min: 1440 };
        let hours = |d: &str| spans(dublin, d.parse().unwrap(), [&whole].into_iter());
        assert_eq!(hours("2027-03-28").first().map(Span::seconds), Some(23 * 3600));
        assert_eq!(hours("2027-10-31").first().map(Span::seconds), Some(25 * 3600));
    }
}
