//! The parts of a developer that is mixed from several, as they are written down: `A 1 + B 1`.

use std::fmt::Write as _;

use super::rules::{decimal, thousandths_of};
use super::store::Developer;
use crate::chemistry;
use crate::error::Error;

/// The most parts of one developer.
const MOST: usize = 6;
/// The longest name of a part, in characters.
const NAME: usize = 40;
/// The most parts of one beside one of the first, in thousandths.
const MOST_MILLI: i64 = 1_000_000;

/// One part of a developer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DeveloperPart {
    /// What its bottle is called beside the others (“A”).
    pub name: String,
    /// How many parts of it come to one of the first, in thousandths.
    pub milli: i64,
}

/// Reads parts as they are typed; none where nothing is.
///
/// # Errors
/// A sentence that says what does not fit.
pub(super) fn read(typed: &str) -> Result<Vec<DeveloperPart>, String> {
    if typed.trim().is_empty() {
        return Ok(Vec::new());
    }
    let mut parts: Vec<DeveloperPart> = Vec::new();
    for one in typed.split('+') {
        let part = part(one.trim()).ok_or_else(|| {
            let one: String = one.trim().chars().take(NAME).collect();
            format!("“{one}” is not a part; write its name and how many parts, such as “B 1”.")
        })?;
        if parts.iter().any(|p| p.name.eq_ignore_ascii_case(&part.name)) {
            return Err(format!("Two parts are called “{}”; give each its own name.", part.name));
        }
        parts.push(part);
    }
    match parts.first() {
        Some(first) if first.milli != 1000 => {
            Err("The first is one part; write how many of the others come to one of it.".to_owned())
        }
        _ if parts.len() < 2 => {
            Err("Name at least two parts, or leave this empty for a single bottle.".to_owned())
        }
        _ if parts.len() > MOST => Err(format!("At most {MOST} parts can be named.")),
        _ => Ok(parts),
    }
}

fn part(text: &str) -> Option<DeveloperPart> {
    let (name, number) = text.rsplit_once(char::is_whitespace)?;
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    let milli = thousandths_of(number).filter(|n| (1..=MOST_MILLI).contains(n))?;
    let fits = !name.is_empty() && name.chars().count() <= NAME;
    fits.then_some(DeveloperPart { name, milli })
}

/// Parts as they are kept and shown.
#[must_use]
pub(super) fn written(parts: &[DeveloperPart]) -> String {
    let mut text = String::new();
    for part in parts {
        let number = decimal(part.milli);
        let joint = if text.is_empty() { "" } else { " + " };
        let _never = write!(text, "{joint}{} {}", part.name, number.trim_end_matches(".0"));
    }
    text
}

impl Developer {
    /// Its parts, where it is mixed from several; none where it is poured from one bottle.
    #[must_use]
    pub fn parts(&self) -> Vec<DeveloperPart> {
        read(&self.parts).unwrap_or_default()
    }

    /// What comes to one of its first part, water and other parts together, in thousandths.
    #[must_use]
    pub fn rest_milli(&self) -> i64 {
        let others: i64 = self.parts().iter().skip(1).map(|p| p.milli).sum();
        self.water_parts * 1000 + others
    }

    /// All that is poured together, water last, where it is mixed from several parts.
    ///
    /// # Errors
    /// When the chart holds what no mixture can be.
    pub fn mixture(&self) -> Result<Option<chemistry::Parts>, Error> {
        let mut named = self.parts();
        if named.is_empty() {
            return Ok(None);
        }
        if self.water_parts > 0 {
            named.push(DeveloperPart { name: "water".to_owned(), milli: self.water_parts * 1000 });
        }
        let broken = |e: String| Error::broken("reading the parts of a developer", e);
        let part = |p: DeveloperPart| {
            chemistry::Part::new(p.name, crate::web::thousandths(p.milli))
                .map_err(|e| broken(e.to_string()))
        };
        let parts = named.into_iter().map(part).collect::<Result<Vec<_>, Error>>()?;
        chemistry::Parts::new(parts).map(Some).map_err(|e| broken(e.to_string()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_read_as_they_are_said() {
        let read = |text: &str| read(text).map(|p| written(&p));
        assert_eq!(read("").unwrap(), "");
        assert_eq!(read("A 1+B 1").unwrap(), "A 1 + B 1");
        assert_eq!(read(" Part A  1 + Part B 1.5 ").unwrap(), "Part A 1 + Part B 1.5");
        assert!(read("A 1").unwrap_err().contains("at least two"));
        assert!(read("A 2 + B 1").unwrap_err().contains("The first is one part"));
        assert!(read("A 1 + a 1").unwrap_err().contains("Two parts"));
        assert!(read("A 1 + B").unwrap_err().contains("“B” is not a part"));
        assert!(read("A 1 + B 0").unwrap_err().contains("is not a part"));
        assert!(read("a 1+b 1+c 1+d 1+e 1+f 1+g 1").unwrap_err().contains("At most 6"));
    }
}
