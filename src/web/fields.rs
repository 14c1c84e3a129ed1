//! What people typed, read field by field: every fault is kept beside its field, nothing typed is
//! lost.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use chrono::{NaiveDate, NaiveTime};

use crate::error::{Error, Faults};

/// The names and values of a form or a query string, already free of control characters.
#[derive(Clone, Debug, Default)]
pub struct Fields {
    pairs: Vec<(String, String)>,
    faults: Faults,
}

impl Fields {
    /// Reads `a=1&b=2`.
    ///
    /// # Errors
    /// [`Error::Unreadable`] when it is not such a text in UTF-8; [`Error::Invalid`] naming each
    /// field that holds control characters.
    pub fn parse(text: &[u8]) -> Result<Fields, Error> {
        let pairs: Vec<(String, String)> = serde_urlencoded::from_bytes(text)
            .map_err(|e| Error::Unreadable(format!("The form could not be read: {e}.")))?;
        if pairs.len() > 500 {
            return Err(Error::TooLarge);
        }
        let mut faults = Faults::new();
        let mut clean = Vec::with_capacity(pairs.len());
        for (name, value) in pairs {
            let value = value.replace("\r\n", "\n");
            if let Some(fault) = unfit(&name).or_else(|| unfit(&value)) {
                let shown: String = name.chars().filter(|c| !c.is_control()).take(60).collect();
                faults.insert(shown, fault.to_owned());
            }
            clean.push((name, value));
        }
        if faults.is_empty() {
            Ok(Fields { pairs: clean, faults })
        } else {
            Err(Error::Invalid(faults))
        }
    }

    /// The value as typed; empty where there is none.
    #[must_use]
    pub fn raw(&self, name: &str) -> &str {
        self.pairs.iter().find(|(n, _)| n == name).map_or("", |(_, v)| v)
    }

    /// Where a list goes on: what `read` makes of `after`, which is the `next` of the page before.
    ///
    /// # Errors
    /// A fault beside it when it is none.
    pub fn after<T>(&self, read: impl FnOnce(&str) -> Option<T>) -> Result<Option<T>, Error> {
        match self.raw("after") {
            "" => Ok(None),
            text => read(text).map(Some).ok_or_else(|| {
                Error::field("after", "Write the `next` of the page before, as it stands there.")
            }),
        }
    }

    /// Every value of a name that may stand more than once.
    #[must_use]
    pub fn all(&self, name: &str) -> Vec<&str> {
        self.pairs.iter().filter(|(n, _)| n == name).map(|(_, v)| v.as_str()).collect()
    }

    /// Whether a checkbox was ticked.
    #[must_use]
    pub fn ticked(&self, name: &str) -> bool {
        !matches!(self.raw(name), "" | "0" | "off" | "false")
    }

    /// All values as typed, for showing the form again; passwords are left out.
    #[must_use]
    pub fn values(&self) -> BTreeMap<String, String> {
        self.pairs
            .iter()
            .filter(|(n, _)| !n.contains("password") && n != "once_key")
            .map(|(n, v)| (n.clone(), v.clone()))
            .collect()
    }

    /// Notes a fault beside a field.
    pub fn fault(&mut self, name: &str, sentence: impl Into<String>) {
        self.faults.entry(name.to_owned()).or_insert_with(|| sentence.into());
    }

    /// Text of so many characters, ends trimmed. `what` names it in a sentence.
    pub fn text(
        &mut self,
        name: &str,
        what: &str,
        length: RangeInclusive<usize>,
    ) -> Option<String> {
        let text = self.raw(name).trim().to_owned();
        let count = text.chars().count();
        if count < *length.start() {
            let least = *length.start();
            let sentence = if count == 0 {
                format!("Please give {what}.")
            } else {
                format!("{} needs at least {least} characters; this has {count}.", capital(what))
            };
            self.fault(name, sentence);
            return None;
        }
        if count > *length.end() {
            let most = *length.end();
            let what = capital(what);
            self.fault(name, format!("{what} may have {most} characters; this has {count}."));
            return None;
        }
        Some(text)
    }

    /// A whole number within a range.
    pub fn number(&mut self, name: &str, what: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let (low, high) = (*range.start(), *range.end());
        let typed = self.raw(name).trim().to_owned();
        match typed.parse::<i64>() {
            Ok(n) if range.contains(&n) => Some(n),
            _ if typed.is_empty() => {
                self.fault(
                    name,
                    format!("Please give {what}, a whole number from {low} to {high}."),
                );
                None
            }
            _ => {
                let typed = short(&typed);
                self.fault(
                    name,
                    format!("“{typed}” is not {what}; write a whole number from {low} to {high}."),
                );
                None
            }
        }
    }

    /// A decimal number within a range, in thousandths: `12.5` or `12,5` is 12,500. More than three
    /// decimals are refused rather than rounded.
    pub fn decimal(&mut self, name: &str, what: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let (low, high) = (*range.start(), *range.end());
        let typed = self.raw(name).trim().to_owned();
        if let Some(n) = thousandths_of(&typed).filter(|n| range.contains(n)) {
            return Some(n);
        }
        let bounds = format!("{} to {}", shown(low), shown(high));
        let sentence = if typed.is_empty() {
            format!("Please give {what}, a number from {bounds}.")
        } else {
            format!("“{}” is not {what}; write a number from {bounds}.", short(&typed))
        };
        self.fault(name, sentence);
        None
    }

    /// As [`Fields::decimal`], where the field may be left empty: then the inner value is missing.
    pub fn decimal_or_none(
        &mut self,
        name: &str,
        what: &str,
        range: RangeInclusive<i64>,
    ) -> Option<Option<i64>> {
        if self.raw(name).trim().is_empty() {
            return Some(None);
        }
        self.decimal(name, what, range).map(Some)
    }

    /// One of a few known words.
    pub fn choice(&mut self, name: &str, what: &str, of: &[&str]) -> Option<String> {
        let typed = self.raw(name).to_owned();
        if of.contains(&typed.as_str()) {
            return Some(typed);
        }
        self.fault(name, format!("Please choose {what}: one of {}.", of.join(", ")));
        None
    }

    /// A date as `2026-10-14`.
    pub fn date(&mut self, name: &str, what: &str) -> Option<NaiveDate> {
        let typed = self.raw(name).trim().to_owned();
        let date = typed
            .parse::<NaiveDate>()
            .ok()
            .filter(|d| (2000..2200).contains(&chrono::Datelike::year(d)));
        if date.is_none() {
            let typed = short(&typed);
            self.fault(name, format!("“{typed}” is not {what}; write a date like 2026-10-14."));
        }
        date
    }

    /// A time of day as `18:30`.
    pub fn time(&mut self, name: &str, what: &str) -> Option<NaiveTime> {
        let typed = self.raw(name).trim().to_owned();
        let time = NaiveTime::parse_from_str(&typed, "%H:%M").ok();
        if time.is_none() {
            let typed = short(&typed);
            self.fault(name, format!("“{typed}” is not {what}; write a time like 18:30."));
        }
        time
    }

    /// The faults noted so far, as the error they are.
    ///
    /// # Errors
    /// [`Error::Invalid`] when there are any.
    pub fn done(&self) -> Result<(), Error> {
        if self.faults.is_empty() { Ok(()) } else { Err(Error::Invalid(self.faults.clone())) }
    }

    /// What was read, where every field was right.
    ///
    /// # Errors
    /// All faults beside their fields.
    pub fn whole<T>(&self, read: Option<T>) -> Result<T, Error> {
        self.done()?;
        read.ok_or_else(|| self.faults())
    }

    /// As [`Fields::done`], where a value is known to be missing.
    #[must_use]
    pub fn faults(&self) -> Error {
        Error::Invalid(self.faults.clone())
    }
}

/// Why a text cannot be taken at all, if it cannot.
#[must_use]
pub(super) fn unfit(text: &str) -> Option<&'static str> {
    if text.contains('\u{fffd}') {
        return Some("This is not readable text (UTF-8). Please type it again.");
    }
    text.chars()
        .any(|c| c.is_control() && !matches!(c, '\n' | '\t'))
        .then_some("This holds an invisible control character. Please type it again.")
}

/// Digits with at most three decimals as thousandths.
fn thousandths_of(typed: &str) -> Option<i64> {
    let (whole, part) = typed.split_once(['.', ',']).unwrap_or((typed, ""));
    let digits = |s: &str| s.len() <= 12 && s.bytes().all(|b| b.is_ascii_digit());
    if (whole.is_empty() && part.is_empty()) || !digits(whole) || !digits(part) || part.len() > 3 {
        return None;
    }
    let whole: i64 = if whole.is_empty() { 0 } else { whole.parse().ok()? };
    let part: i64 = format!("{part:0<3}").parse().ok()?;
    whole.checked_mul(1000)?.checked_add(part)
}

/// Thousandths as a bound in a sentence.
fn shown(thousandths: i64) -> String {
    let text = format!("{}.{:03}", thousandths / 1000, thousandths.rem_euclid(1000));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The beginning of what was typed, for repeating it in a sentence.
fn short(text: &str) -> String {
    if text.chars().count() <= 40 {
        text.to_owned()
    } else {
        text.chars().take(40).chain(['…']).collect()
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_fault_stands_beside_its_field_and_nothing_typed_is_lost() {
        let mut f = Fields::parse(b"name=+&places=many&date=2026-02-30&password=secret").unwrap();
        assert_eq!(f.text("name", "a name", 1..=80), None);
        assert_eq!(f.number("places", "a number of places", 1..=12), None);
        assert_eq!(f.date("date", "a day"), None);
        let Err(Error::Invalid(faults)) = f.done() else { panic!("faults expected") };
        assert_eq!(faults["name"], "Please give a name.");
        assert!(faults["places"].contains("“many”") && faults["places"].contains("1 to 12"));
        assert!(faults["date"].contains("2026-02-30"));
        assert_eq!(f.values().get("places").map(String::as_str), Some("many"));
        assert!(!f.values().contains_key("password"));
    }

    #[test]
    fn control_characters_and_broken_text_are_refused_by_name() {
        for bad in ["note=a%00b", "note=%FF%FE", "note=%1B%5B"] {
            let Err(Error::Invalid(f)) = Fields::parse(bad.as_bytes()) else { panic!("{bad}") };
            assert!(f.contains_key("note"), "{bad}");
        }
        assert!(Fields::parse("note=%D7%A9%D7%9C%0D%0Ae%CC%81".as_bytes()).is_ok());
    }

    #[test]
    fn decimals_are_read_exactly_or_not_at_all() {
        let mut f = Fields::parse(b"a=12.5&b=12,345&c=.5&d=1.2345&e=-1&g=").unwrap();
        assert_eq!(f.decimal("a", "x", 0..=100_000), Some(12_500));
        assert_eq!(f.decimal("b", "x", 0..=100_000), Some(12_345));
        assert_eq!(f.decimal("c", "x", 0..=100_000), Some(500));
        assert_eq!(f.decimal_or_none("g", "x", 0..=1), Some(None));
        f.done().unwrap();
        assert_eq!(f.decimal("d", "a volume", 0..=100_000), None);
        assert_eq!(f.decimal("e", "a volume", 500..=100_000), None);
        let Err(Error::Invalid(faults)) = f.done() else { panic!("faults expected") };
        assert!(faults["e"].contains("“-1” is not a volume; write a number from 0.5 to 100."));
    }

    proptest! {
        #[test]
        fn nothing_sent_makes_it_panic(body in proptest::collection::vec(any::<u8>(), 0..400)) {
            if let Ok(mut f) = Fields::parse(&body) {
                let _ = (f.text("a", "x", 1..=3), f.number("a", "x", 1..=3), f.time("a", "x"));
                let _ = (f.decimal("a", "x", 0..=9), f.decimal_or_none("a", "x", 0..=9));
                let _ = (f.date("a", "x"), f.choice("a", "x", &["b"]), f.done());
            }
        }
    }
}
