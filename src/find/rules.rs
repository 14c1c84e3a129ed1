//! What somebody typed who looks for anything: words, a day, or an address of this studio.

use chrono::{Datelike, Days, NaiveDate};

use crate::db::like::holds;
use crate::web::{DAYS, MONTHS};

/// The most characters that are read.
const LONGEST: usize = 100;
/// The most words that are looked for.
const MOST_WORDS: usize = 8;

/// What was typed.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Typed {
    /// Nothing yet.
    Nothing,
    /// A single letter, which nearly everything fits.
    TooShort,
    /// These words, each of which is to be found.
    Words(Vec<String>),
}

/// Reads what was typed; nonsense is no fault, it is only not found.
pub(super) fn read(text: &str) -> Typed {
    let text: String = text.chars().take(LONGEST).collect();
    let words: Vec<String> =
        text.split_whitespace().take(MOST_WORDS).map(ToOwned::to_owned).collect();
    let signs = || words.iter().flat_map(|w| w.chars()).filter(|c| c.is_alphanumeric());
    if words.is_empty() {
        Typed::Nothing
    } else if signs().count() >= 2 || signs().any(|c| c.is_numeric()) {
        Typed::Words(words)
    } else {
        Typed::TooShort
    }
}

/// Whether each word stands in one of the short texts, or begins a word of the long one, in which
/// nearly every piece of a word could be found.
pub(super) fn speaks_of((short, long): (&[&str], &str), words: &[String]) -> bool {
    let long = long.to_lowercase();
    let begins = |word: &String| {
        let word = word.to_lowercase();
        long.split(|c: char| !c.is_alphanumeric()).any(|w| w.starts_with(&word))
    };
    words.iter().all(|w| holds(short, std::slice::from_ref(w)) || begins(w))
}

/// The place within this studio of an address that was scanned whole, such as from a label.
pub(super) fn own_place<'a>(text: &'a str, base: &str) -> Option<&'a str> {
    let place = text.trim().strip_prefix(base.trim_end_matches('/'))?;
    let inside = place.starts_with('/') && !place.starts_with("//");
    let plain = place.bytes().all(|b| b.is_ascii_graphic() && b != b'\\');
    (inside && plain).then_some(place)
}

/// The day that was written: `2027-03-15`, `15 March`, `March 15, 2027`, `Monday`, `tomorrow`. One
/// without its year is the nearest of that name, a day of the week the next one.
pub(super) fn day(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    let lower = text.to_lowercase();
    let mut words: Vec<&str> =
        lower.split([' ', ',', '\t']).filter(|w| !w.is_empty()).take(5).collect();
    let weekday = words.first().and_then(|w| numbered(&DAYS, w));
    match (words.as_slice(), weekday) {
        (["today"], _) => return Some(today),
        (["tomorrow"], _) => return today.checked_add_days(Days::new(1)),
        (["yesterday"], _) => return today.checked_sub_days(Days::new(1)),
        ([_], Some(wanted)) => {
            let ahead = (7 + wanted - today.weekday().num_days_from_monday()) % 7;
            return today.checked_add_days(Days::new(u64::from(ahead)));
        }
        (_, Some(_)) => drop(words.remove(0)),
        _ => {}
    }
    let known = |d: &NaiveDate| (2000..2200).contains(&d.year());
    let of = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).filter(known);
    match words.as_slice() {
        [one] => one.parse().ok().filter(known),
        [a, b] => {
            let (month, day) = month_and_day(a, b).or_else(|| month_and_day(b, a))?;
            let years = [-1, 0, 1].map(|n| today.year() + n);
            let days = years.into_iter().filter_map(|y| of(y, month, day));
            days.min_by_key(|d| d.signed_duration_since(today).num_days().abs())
        }
        [a, b, c] => {
            let (month, day) = month_and_day(a, b).or_else(|| month_and_day(b, a))?;
            of(c.parse().ok()?, month, day)
        }
        _ => None,
    }
}

/// The place of a name in its list, by its first three letters or more.
fn numbered(names: &[&str], word: &str) -> Option<u32> {
    let fits = |name: &&&str| word.len() >= 3 && name.to_lowercase().starts_with(word);
    let at = names.iter().position(|name| fits(&name))?;
    u32::try_from(at).ok()
}

fn month_and_day(month: &str, day: &str) -> Option<(u32, u32)> {
    Some((numbered(&MONTHS, month)? + 1, day.parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::Zone;
    use crate::sessions::{DayOrder, Taste};
    use crate::web::Words;
    use proptest::prelude::*;

    fn date(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_day_is_read_as_people_write_it() {
        let monday = date("2027-03-15");
        let cases = [
            ("2027-04-01", "2027-04-01"),
            ("1 April", "2027-04-01"),
            ("april 1", "2027-04-01"),
            ("Apr 1, 2029", "2029-04-01"),
            ("24 December", "2026-12-24"),
            ("today", "2027-03-15"),
            ("Tomorrow", "2027-03-16"),
            ("yesterday", "2027-03-14"),
            ("Monday", "2027-03-15"),
            ("sun", "2027-03-21"),
            ("29 February 2028", "2028-02-29"),
        ];
        for (typed, wanted) in cases {
            assert_eq!(day(typed, monday), Some(date(wanted)), "{typed}");
        }
        for none in ["", "fixer", "31 April", "29 February 2027", "15", "1815-06-18", "ma 3", "1 2"]
        {
            assert_eq!(day(none, monday), None, "{none}");
        }
    }

    #[test]
    fn only_an_address_of_this_studio_leads_anywhere() {
        let base = "https://darkroom.example";
        assert_eq!(own_place("https://darkroom.example/rolls/ABC", base), Some("/rolls/ABC"));
        assert_eq!(own_place(" https://darkroom.example/baths/3\n", base), Some("/baths/3"));
        for other in [
            "https://darkroom.example",
            "https://darkroom.example.evil/rolls",
            "https://darkroom.example//evil.example",
            "https://darkroom.example/\\evil.example",
            "https://evil.example/https://darkroom.example/",
            "/rolls/ABC",
        ] {
            assert_eq!(own_place(other, base), None, "{other}");
        }
    }

    #[test]
    fn one_letter_is_too_short_and_one_figure_is_not() {
        assert_eq!(read("  "), Typed::Nothing);
        assert_eq!(read("%"), Typed::TooShort);
        assert_eq!(read("f"), Typed::TooShort);
        assert_eq!(read("7"), Typed::Words(vec!["7".to_owned()]));
        assert_eq!(read(" pan 400 "), Typed::Words(vec!["pan".to_owned(), "400".to_owned()]));
    }

    proptest! {
        #[test]
        fn every_date_as_the_pages_write_it_is_read_back(n in 730_500_i32..803_000, order in 0_usize..3) {
            let date = NaiveDate::from_num_days_from_ce_opt(n).unwrap();
            let day_order = [DayOrder::DayMonth, DayOrder::MonthDay, DayOrder::YearMonth];
            let taste = Taste { day_order: day_order[order], ..Taste::default() };
            let written = Words::in_studio(Zone::UTC, &taste).date(date);
            prop_assert_eq!(day(&written, super::tests::date("2027-03-15")), Some(date));
        }

        #[test]
        fn nothing_typed_makes_it_panic(text in ".{0,200}", n in 730_500_i32..803_000) {
            let today = NaiveDate::from_num_days_from_ce_opt(n).unwrap();
            let _ = (read(&text), day(&text, today), own_place(&text, "http://a.example"));
        }
    }
}
