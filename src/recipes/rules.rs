//! What may stand on the time chart, and how its figures are written and read.

use crate::chemistry::{AgitationScheme, Refusal, TableRow, TimeTable};
use crate::error::Error;
use crate::units::{Celsius, Seconds};

/// Where a version of a recipe stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Proposed by a member, not yet looked at by a lead.
    Proposed,
    /// On the chart.
    Approved,
    /// A later version took its place.
    Replaced,
    /// A lead said no.
    Declined,
    /// Taken off the chart.
    Withdrawn,
}

const STANDINGS: [(Standing, &str, &str); 5] = [
    (Standing::Proposed, "proposed", "Proposed"),
    (Standing::Approved, "approved", "On the chart"),
    (Standing::Replaced, "replaced", "Replaced"),
    (Standing::Declined, "declined", "Declined"),
    (Standing::Withdrawn, "withdrawn", "Taken off"),
];

impl Standing {
    /// The word in the database and the API.
    #[must_use]
    pub fn word(self) -> &'static str {
        STANDINGS.iter().find(|s| s.0 == self).map_or("proposed", |s| s.1)
    }

    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        STANDINGS.iter().find(|s| s.0 == self).map_or("Proposed", |s| s.2)
    }

    /// The standing of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Standing> {
        STANDINGS.iter().find(|s| s.1 == word).map(|s| s.0)
    }
}

/// How a developer is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Handling {
    /// Mixed for one run and discarded.
    OneShot,
    /// Poured back and used again; its time grows.
    UsedAgain,
    /// Kept at strength with replenisher.
    Replenished,
}

const HANDLINGS: [(Handling, &str, &str); 3] = [
    (Handling::OneShot, "one_shot", "Mixed for one run, then discarded"),
    (Handling::UsedAgain, "used_again", "Poured back and used again"),
    (Handling::Replenished, "replenished", "Replenished"),
];

impl Handling {
    /// All of them: the word in the database, and the words for people.
    pub fn all() -> impl Iterator<Item = (&'static str, &'static str)> {
        HANDLINGS.iter().map(|h| (h.1, h.2))
    }

    /// The word in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        HANDLINGS.iter().find(|h| h.0 == self).map_or("one_shot", |h| h.1)
    }

    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        HANDLINGS.iter().find(|h| h.0 == self).map_or("", |h| h.2)
    }

    /// The handling of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Handling> {
        HANDLINGS.iter().find(|h| h.1 == word).map(|h| h.0)
    }
}

/// A way of moving the tank in words, such as `30 s, then 5 s each minute`.
#[must_use]
pub fn agitation_in_words(scheme: AgitationScheme) -> String {
    let code = scheme.to_string();
    if code == "continuous" {
        return code;
    }
    if code == "stand" {
        return "stand, not moved".to_owned();
    }
    let each = |s: &str| match s.trim_end_matches('s') {
        "60" => "each minute".to_owned(),
        n => format!("each {n} s"),
    };
    let spaced = |s: &str| format!("{} s", s.trim_end_matches('s'));
    if let Some(first) = code.strip_suffix("+stand") {
        return format!("{}, then stand", spaced(first));
    }
    match (code.split_once('+'), code.split_once("x/")) {
        (Some((first, rest)), _) => match rest.split_once('/') {
            Some((then, every)) => {
                format!("{}, then {} {}", spaced(first), spaced(then), each(every))
            }
            None => code,
        },
        (None, Some((times, every))) => format!("{times} inversions {}", each(every)),
        (None, None) => code,
    }
}

/// The scheme that a text means, in its short form or in our words for it.
#[must_use]
pub fn agitation_scheme(text: &str) -> Option<AgitationScheme> {
    let text = text.trim().to_lowercase();
    if let Ok(scheme) = text.parse() {
        return Some(scheme);
    }
    if text == "stand, not moved" {
        return "stand".parse().ok();
    }
    let compact: String = text.chars().filter(|c| !c.is_whitespace()).collect();
    let compact = compact
        .replace("eachminute", "/60s")
        .replace("aminute", "/60s")
        .replace("each", "/")
        .replace(",then", "+")
        .replace("inversions", "x");
    compact.parse().ok()
}

/// How the tank is moved, as it is kept: known ways in our words, others as typed.
#[must_use]
pub fn agitation_kept(typed: &str) -> String {
    agitation_scheme(typed).map_or_else(|| typed.trim().to_owned(), agitation_in_words)
}

/// A decimal number with a point or a comma, in whole thousandths; not more than three decimals.
#[must_use]
pub fn thousandths_of(text: &str) -> Option<i64> {
    let text = text.trim();
    let (whole, part) = text.split_once(['.', ',']).unwrap_or((text, ""));
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || whole.len() > 9 || part.len() > 3 || !digits(whole) || !digits(part) {
        return None;
    }
    let whole: i64 = whole.parse().ok()?;
    let part: i64 = format!("{part:0<3}").parse().ok()?;
    Some(whole * 1000 + part)
}

/// Thousandths as a decimal number, without needless noughts but with at least one decimal.
#[must_use]
pub fn decimal(milli: i64) -> String {
    let text = format!("{}.{:03}", milli / 1000, (milli % 1000).abs());
    let text = text.trim_end_matches('0');
    if text.ends_with('.') { format!("{text}0") } else { text.to_owned() }
}

/// A length of time as `8:15` (minutes and seconds) or `495 s`, in seconds.
#[must_use]
pub fn seconds_of(text: &str) -> Option<i64> {
    let text = text.trim();
    let text = text.strip_suffix("min").map_or(text, str::trim_end);
    let number = |t: &str| -> Option<i64> {
        (!t.is_empty() && t.len() <= 5 && t.bytes().all(|b| b.is_ascii_digit()))
            .then(|| t.parse().ok())?
    };
    if let Some(seconds) = text.strip_suffix('s') {
        return number(seconds.trim_end());
    }
    let (minutes, seconds) = text.split_once(':')?;
    let (minutes, seconds) = (number(minutes.trim())?, number(seconds.trim())?);
    (seconds < 60).then_some(minutes * 60 + seconds)
}

/// `8:15` from seconds.
#[must_use]
pub fn clock_of(s: i64) -> String {
    format!("{}:{:02}", s / 60, s % 60)
}

/// A time-temperature table as `18=10:30 20=8:15 24=6:00`, in any order, by rising temperature.
///
/// # Errors
/// A sentence that names the part that cannot be read.
pub(super) fn read_table(text: &str) -> Result<Vec<(i64, i64)>, String> {
    let mut rows = Vec::new();
    for part in text.split_whitespace() {
        let row = part
            .split_once('=')
            .and_then(|(at, time)| Some((thousandths_of(at)?, seconds_of(time)?)));
        let shown: String = part.chars().take(30).collect();
        rows.push(row.ok_or_else(|| {
            format!("“{shown}” is no row of a table; write temperature=time, such as 18=10:30.")
        })?);
    }
    rows.sort_unstable();
    Ok(rows)
}

/// A table as it is written down.
#[must_use]
pub(super) fn table_in_words(rows: &[(i64, i64)]) -> String {
    let row = |(mc, s): &(i64, i64)| {
        let at = decimal(*mc);
        format!("{}={}", at.strip_suffix(".0").unwrap_or(&at), clock_of(*s))
    };
    rows.iter().map(row).collect::<Vec<_>>().join(" ")
}

/// The table as chemistry reads it.
///
/// # Errors
/// As [`TimeTable::new`], and for figures that no bath can have.
pub(super) fn time_table(rows: &[(i64, i64)]) -> Result<TimeTable, Refusal> {
    let row = |(mc, s): &(i64, i64)| -> Result<TableRow, Refusal> {
        Ok(TableRow { at: celsius(*mc)?, time: seconds(*s)? })
    };
    TimeTable::new(rows.iter().map(row).collect::<Result<_, _>>()?)
}

/// Thousandths of a degree as a temperature.
///
/// # Errors
/// Outside -30 to 110 °C.
pub(super) fn celsius(mc: i64) -> Result<Celsius, Refusal> {
    Ok(Celsius::new(crate::web::thousandths(mc))?)
}

/// Seconds as a length of time.
///
/// # Errors
/// Above 30 days.
pub(super) fn seconds(s: i64) -> Result<Seconds, Refusal> {
    Ok(Seconds::new(u32::try_from(s).unwrap_or(u32::MAX))?)
}

/// Checks a table against the recipe it belongs to, and adds the recipe's own time where the
/// table leaves it out.
///
/// # Errors
/// A sentence for the field `table`.
pub(super) fn fitting_table(
    rows: &[(i64, i64)],
    temperature_mc: i64,
    time_s: i64,
) -> Result<Vec<(i64, i64)>, Error> {
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    let mut rows = rows.to_vec();
    match rows.iter().find(|(mc, _)| *mc == temperature_mc) {
        Some((_, s)) if *s == time_s => {}
        Some((_, s)) => {
            return Err(Error::field(
                "table",
                format!(
                    "The table says {} at {} °C, the recipe says {}. Make them agree.",
                    clock_of(*s),
                    decimal(temperature_mc),
                    clock_of(time_s)
                ),
            ));
        }
        None => rows.push((temperature_mc, time_s)),
    }
    rows.sort_unstable();
    time_table(&rows)
        .map_err(|e| Error::field("table", format!("{}.", capital(&e.to_string()))))?;
    Ok(rows)
}

/// A sentence with a capital letter in front.
#[must_use]
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn ways_of_moving_the_tank_read_back_from_their_words() {
        for code in ["continuous", "stand", "30s+stand", "30s+5s/60s", "10s+10s/30s", "5x/60s"] {
            let scheme: AgitationScheme = code.parse().unwrap();
            assert_eq!(agitation_scheme(&agitation_in_words(scheme)), Some(scheme), "{code}");
        }
        assert_eq!(agitation_kept("30s+5s/60s"), "30 s, then 5 s each minute");
        assert_eq!(agitation_kept("30 s, then 5 s a minute"), "30 s, then 5 s each minute");
        assert_eq!(agitation_kept(" rocked by hand "), "rocked by hand");
        assert_eq!(agitation_scheme("rocked by hand"), None);
    }

    #[test]
    fn figures_read_with_point_or_comma_and_times_as_clocks() {
        assert_eq!(thousandths_of("20,5"), Some(20_500));
        assert_eq!(thousandths_of("20"), Some(20_000));
        assert_eq!(thousandths_of("0.037"), Some(37));
        for wrong in ["", ".5", "2.0001", "-3", "1e3", "1.2.3", "٣"] {
            assert_eq!(thousandths_of(wrong), None, "{wrong}");
        }
        assert_eq!(seconds_of("8:15 min"), Some(495));
        assert_eq!(seconds_of("495 s"), Some(495));
        for wrong in ["8", "8:60", ":30", "8:", "eight"] {
            assert_eq!(seconds_of(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_table_must_agree_with_its_recipe() {
        let rows = read_table("24=6:00 18=10:30").unwrap();
        let whole = fitting_table(&rows, 20_000, 495).unwrap();
        assert_eq!(table_in_words(&whole), "18=10:30 20=8:15 24=6:00");
        assert!(fitting_table(&whole, 20_000, 500).is_err());
        assert!(fitting_table(&rows, 20_000, 700).is_err(), "a warmer row cannot take longer");
        assert!(read_table("18=soon").unwrap_err().contains("18=soon"));
    }

    proptest! {
        #[test]
        fn decimals_and_clocks_read_back(milli in 0_i64..200_000, s in 0_i64..86_400) {
            prop_assert_eq!(thousandths_of(&decimal(milli)), Some(milli));
            prop_assert_eq!(seconds_of(&clock_of(s)), Some(s));
        }

        #[test]
        fn nothing_typed_makes_them_panic(text in ".{0,60}") {
            let _ = (thousandths_of(&text), seconds_of(&text), read_table(&text));
            let kept = agitation_kept(&text);
            prop_assert_eq!(agitation_kept(&kept), kept.clone());
        }
    }
}
