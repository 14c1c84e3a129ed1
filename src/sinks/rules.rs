//! Opening hours as rules: reading them and laying them over a day.

use chrono::{Datelike, Duration, NaiveDate, NaiveTime};
use serde::Serialize;

use super::things::{Load, ReelFormat};
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
        // As word processors and people write it: 10:00–13:00, 10 to 13.
        let plain = part.replace(['–', '—'], "-").replace(" to ", "-");
        let ends = plain.split_once('-').and_then(|(a, b)| Some((minutes(a)?, minutes(b)?)));
        match ends.filter(|(a, b)| a < b) {
            Some((from_min, to_min)) => day.push(Hours { weekday, from_min, to_min }),
            None => {
                let part: String = part.chars().take(40).collect();
                return Err(format!(
                    "“{part}” is no time of opening. Write when it opens and when it closes, such \
                     as 10:00-21:30."
                ));
            }
        }
    }
    day.sort_by_key(|h| h.from_min);
    let apart = day.iter().zip(day.iter().skip(1)).all(|(a, b)| a.to_min <= b.from_min);
    if apart { Ok(day) } else { Err("Two of these times overlap; join them into one.".to_owned()) }
}

fn minutes(text: &str) -> Option<i64> {
    let text = text.trim();
    let (h, m) = text.split_once([':', '.']).unwrap_or((text, "00"));
    if !(1..=2).contains(&h.len()) || m.len() != 2 {
        return None;
    }
    let (h, m): (u8, u8) = (h.parse().ok()?, m.parse().ok()?);
    let total = i64::from(h) * 60 + i64::from(m);
    (m < 60 && total <= 1440).then_some(total)
}

/// Days that are not like their weekday.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SpecialDay {
    /// Its number; 0 for one that is to be made.
    pub id: i64,
    /// The first of them.
    pub from: NaiveDate,
    /// The last of them.
    pub to: NaiveDate,
    /// Their hours as people write them; nothing means closed.
    pub hours: String,
    /// Why.
    pub reason: String,
}

impl SpecialDay {
    /// The day in a sentence, dates written as the reader likes them.
    #[must_use]
    pub fn sentence(&self, date: impl Fn(NaiveDate) -> String) -> String {
        let when = if self.from == self.to {
            date(self.from)
        } else {
            format!("{} to {}", date(self.from), date(self.to))
        };
        let hours = self.hours.replace('-', " to ");
        let hours = if hours.is_empty() { "closed".to_owned() } else { format!("open {hours}") };
        format!("{when}: {hours}. {}", self.reason)
    }
}

/// A day's hours as people write them; empty where it is closed.
#[must_use]
pub fn hours_text(week: &[Hours], weekday: i64) -> String {
    let of_day = week.iter().filter(|h| h.weekday == weekday);
    of_day.map(Hours::text).collect::<Vec<_>>().join(", ")
}

/// When the room is open on a date: as its weekday, unless the date is special.
pub(super) fn open(
    zone: Zone,
    date: NaiveDate,
    week: &[Hours],
    special: &[SpecialDay],
) -> Vec<Span> {
    let weekday = i64::from(date.weekday().number_from_monday());
    match special.iter().find(|s| s.from <= date && date <= s.to) {
        Some(day) => {
            let hours = read_hours(weekday, &day.hours).unwrap_or_default();
            spans(zone, date, hours.iter())
        }
        None => spans(zone, date, week.iter().filter(|h| h.weekday == weekday)),
    }
}

/// Reads what a tank holds as a lead says it: `5 of 135 or 3 of 120`.
///
/// # Errors
/// The sentence that says what could not be read.
pub fn read_loads(text: &str) -> Result<Vec<Load>, String> {
    let mut loads: Vec<Load> = Vec::new();
    let parts = text.split([',', ';', '\n']).flat_map(|p| p.split(" or "));
    for part in parts.map(str::trim).filter(|p| !p.is_empty()) {
        let load = part.split_once(" of ").and_then(|(count, format)| {
            let most = count.trim().parse::<i64>().ok().filter(|n| (1..=40).contains(n))?;
            let format = format.trim();
            is_format(format).then(|| Load { format: format.to_owned(), most })
        });
        let Some(load) = load else {
            let part: String = part.chars().take(40).collect();
            return Err(format!("“{part}” cannot be read; write “5 of 135 or 3 of 120”."));
        };
        if loads.iter().any(|l| l.format == load.format) {
            return Err(format!("{} is there twice; say it once.", load.format));
        }
        loads.push(load);
    }
    Ok(loads)
}

/// Reads the formats a pool of reels serves, a line each: `120: 70 mm, 480 ml`.
///
/// # Errors
/// The sentence that says what could not be read.
pub fn read_reel_formats(text: &str) -> Result<Vec<ReelFormat>, String> {
    let mut formats: Vec<ReelFormat> = Vec::new();
    for line in text.split(['\n', ';']).map(str::trim).filter(|l| !l.is_empty()) {
        let Some(format) = read_reel_format(line) else {
            let line: String = line.chars().take(40).collect();
            return Err(format!("“{line}” cannot be read; write “120: 70 mm, 480 ml”."));
        };
        if formats.iter().any(|f| f.format == format.format) {
            return Err(format!("{} is there twice; say it once.", format.format));
        }
        formats.push(format);
    }
    if formats.is_empty() {
        return Err("Say at least one format, such as “135: 50 mm, 290 ml”.".to_owned());
    }
    Ok(formats)
}

fn read_reel_format(line: &str) -> Option<ReelFormat> {
    let (format, rest) = line.split_once(':')?;
    let (height, cover) = rest.split_once(',')?;
    let amount = |text: &str, unit: &str| -> Option<i64> {
        let text = text.trim().to_lowercase();
        text.strip_suffix(unit).unwrap_or(&text).trim().parse().ok()
    };
    let height_mm = amount(height, "mm").filter(|h| (1..=500).contains(h))?;
    let cover_ml = amount(cover, "ml").filter(|c| (0..=100_000).contains(c))?;
    let format = format.trim();
    is_format(format).then(|| ReelFormat { format: format.to_owned(), height_mm, cover_ml })
}

fn is_format(text: &str) -> bool {
    (1..=20).contains(&text.chars().count()) && !text.contains(['\t', '\n'])
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
        for same in ["10:00–12:00", "10-12", "10 to 12", "10.00 — 12.00"] {
            let day = read_hours(2, same).unwrap();
            assert_eq!(day.iter().map(Hours::text).collect::<Vec<_>>(), ["10:00-12:00"], "{same}");
        }
        for wrong in [
            "10",
            "ten to twelve",
            "10:0-12:00",
            "12:00-10:00",
            "9:00-25:00",
            "9:60-11:00",
            "9:00-12:00,11:00-13:00",
        ] {
            assert!(read_hours(2, wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_a_tank_holds_is_read_as_a_lead_says_it() {
        let load = |format: &str, most| Load { format: format.to_owned(), most };
        let said = read_loads("5 of 135 or 3 of 120").unwrap();
        assert_eq!(said, [load("135", 5), load("120", 3)]);
        assert_eq!(read_loads(" "), Ok(vec![]));
        for wrong in ["5", "five of 135", "0 of 135", "1 of 120, 2 of 120", "3 of "] {
            assert!(read_loads(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_pool_of_reels_serves_the_formats_of_its_lines() {
        let said = read_reel_formats("135: 50 mm, 290 ml\n120:70,480").unwrap();
        assert_eq!(said.len(), 2);
        assert_eq!((said[1].height_mm, said[1].cover_ml), (70, 480));
        for wrong in ["", "135", "135: 50 mm", "135: tall, 290 ml", "135: 50, 290; 135: 50, 290"] {
            assert!(read_reel_formats(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_special_day_overrules_its_weekday() {
        let zone = Zone::UTC;
        let week: Vec<Hours> =
            (1..=7).map(|weekday| Hours { weekday, from_min: 600, to_min: 1200 }).collect();
        let day = |d: &str| d.parse::<NaiveDate>().unwrap();
        let (from, to, reason) = (day("2027-03-17"), day("2027-03-18"), String::new());
        let closed = SpecialDay { id: 1, from, to, hours: String::new(), reason };
        let late = SpecialDay { hours: "20:00-24:00".to_owned(), ..closed.clone() };
        let hours = |date: &str, special: &SpecialDay| {
            let open = open(zone, day(date), &week, std::slice::from_ref(special));
            open.iter().map(Span::seconds).sum::<i64>() / 3600
        };
        assert_eq!(hours("2027-03-16", &closed), 10);
        assert_eq!(hours("2027-03-17", &closed), 0);
        assert_eq!(hours("2027-03-18", &late), 4);
        assert_eq!(hours("2027-03-19", &late), 10);
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
