//! Hazard lines: the standard statements that a maker's data sheet gives by code, their public
//! wording, and what follows from them. Pure. What a product carries is typed in from its own
//! sheet; nothing here is a product's default.

mod barred;
mod lines;
mod precautions;
mod signal;
mod statements;

use std::cmp::Ordering;
use std::fmt;

pub use barred::{Barred, barred_in};
pub use lines::{Lines, Sheet};
pub use signal::{SignalWord, Symbol, least_signal, signal_fault, symbols};

use precautions::PRECAUTIONS;
use statements::HAZARDS;

/// Concentrate and working strength carry different lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Strength {
    /// As it is bought: concentrate or powder.
    Concentrate,
    /// As it stands in tank and tray.
    Working,
}

impl Strength {
    /// Both, strongest first.
    pub const ALL: [Strength; 2] = [Strength::Concentrate, Strength::Working];

    /// The word in the database and in forms.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Strength::Concentrate => "concentrate",
            Strength::Working => "working",
        }
    }

    /// The strength of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Strength> {
        Strength::ALL.into_iter().find(|s| s.word() == word)
    }

    /// How a page calls it.
    #[must_use]
    pub fn shown(self) -> &'static str {
        match self {
            Strength::Concentrate => "As bought",
            Strength::Working => "At working strength",
        }
    }
}

/// A statement of the standard: its code exists and has a wording.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Code {
    place: usize,
    code: &'static str,
    text: &'static str,
}

impl Code {
    /// Every statement there is: hazards, EUH lines, precautions.
    pub fn all() -> impl Iterator<Item = Code> {
        HAZARDS.iter().chain(PRECAUTIONS).enumerate().map(|(place, (code, text))| Code {
            place,
            code,
            text,
        })
    }

    /// Reads one code as somebody typed it: `h314`, `H 302 + H312`, `EUH031`.
    ///
    /// # Errors
    /// A sentence that names the code.
    pub fn read(typed: &str) -> Result<Code, String> {
        let tight: String = typed.chars().filter(|c| !c.is_whitespace()).collect();
        if let Some(exact) = Code::all().find(|c| c.code == tight) {
            return Ok(exact);
        }
        let alike: Vec<Code> =
            Code::all().filter(|c| c.code.eq_ignore_ascii_case(&tight)).collect();
        let shown: String = typed.trim().chars().take(40).collect();
        match alike.as_slice() {
            [one] => Ok(*one),
            [] => Err(format!(
                "“{shown}” is no hazard or precaution code of the standard. Write it as on the \
                 maker's data sheet, such as H318, P280 or EUH031."
            )),
            _ => Err(format!(
                "“{shown}” can mean several codes; capital and small letters differ: {}.",
                alike.iter().map(|c| c.code).collect::<Vec<_>>().join(", ")
            )),
        }
    }

    /// The code itself, such as `H314`.
    #[must_use]
    pub fn code(&self) -> &'static str {
        self.code
    }

    /// The statement's standard wording in English.
    #[must_use]
    pub fn text(&self) -> &'static str {
        self.text
    }

    /// Whether it says what to do (P) rather than what can happen (H, EUH).
    #[must_use]
    pub fn is_precaution(&self) -> bool {
        self.code.starts_with('P')
    }

    /// Whether it is one of these, alone or as part of a combined statement.
    #[must_use]
    pub fn is_of(&self, codes: &[&str]) -> bool {
        self.code.split('+').any(|part| codes.contains(&part))
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code)
    }
}

impl PartialOrd for Code {
    fn partial_cmp(&self, other: &Code) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Code {
    fn cmp(&self, other: &Code) -> Ordering {
        self.place.cmp(&other.place)
    }
}

/// Reads the codes of a data sheet, parted by commas, semicolons, lines, or spaces between codes;
/// each once, in the order of the standard.
///
/// # Errors
/// A sentence that names the first code the standard does not know.
pub fn read_codes(typed: &str) -> Result<Vec<Code>, String> {
    let mut text = String::with_capacity(typed.len());
    for word in typed.split_whitespace() {
        // A space beside a plus belongs to a combined code; any other one parts two codes.
        if !text.is_empty() && !text.ends_with('+') && !word.starts_with('+') {
            text.push(',');
        }
        text.push_str(word);
    }
    let mut codes = Vec::new();
    for piece in text.split([',', ';']).filter(|p| !p.trim().is_empty()) {
        codes.push(Code::read(piece)?);
    }
    codes.sort_unstable();
    codes.dedup();
    Ok(codes)
}

/// The codes that stand in a text as words of their own, in the order of the standard.
#[must_use]
pub fn codes_in(text: &str) -> Vec<Code> {
    let mut codes: Vec<Code> = pieces(text).into_iter().filter_map(|(_, code, _)| code).collect();
    codes.sort_unstable();
    codes.dedup();
    codes
}

/// A text with every code in it said in its standard wording, the code in brackets after it.
#[must_use]
pub fn told(text: &str) -> String {
    let said = pieces(text).into_iter().map(|(word, code, tail)| match code {
        // The wording ends its own sentence; a comma or semicolon after the code says no more.
        Some(code) => format!("{} ({})", code.text(), code.code()),
        None => format!("{word}{tail}"),
    });
    said.collect::<Vec<_>>().join(" ")
}

/// A code in a text that the standard does not have, in a sentence, if there is one.
#[must_use]
pub fn fault_in(text: &str) -> Option<String> {
    for (word, code, _) in pieces(text) {
        let figures = word.trim_start_matches(['H', 'P', 'E', 'U']);
        let looks_so = figures.len() < word.len()
            && figures.len() >= 3
            && figures.chars().take(3).all(|c| c.is_ascii_digit());
        if looks_so && code.is_none() {
            return Code::read(word).err().or_else(|| {
                Some(format!("Write “{word}” with the capital and small letters of the sheet."))
            });
        }
    }
    None
}

/// The words of a text, each with the code it is, if it is one, and the signs after it.
fn pieces(text: &str) -> Vec<(&str, Option<Code>, &str)> {
    text.split_whitespace()
        .map(|piece| {
            let word = piece.trim_end_matches([',', ';', '.', ':']);
            let tail = piece.get(word.len()..).unwrap_or_default();
            let is_code = word.len() > 3 && Code::all().any(|c| c.code == word);
            (word, if is_code { Code::read(word).ok() } else { None }, tail)
        })
        .collect()
}

/// Codes as a lead typed them, for showing them again.
#[must_use]
pub fn written(codes: &[Code]) -> String {
    codes.iter().map(Code::code).collect::<Vec<_>>().join(", ")
}

/// Whether these statements call for an eyewash within reach: burns of the skin (H314) and serious
/// damage to the eye (H318).
#[must_use]
pub fn calls_for_eyewash(codes: &[Code]) -> bool {
    codes.iter().any(|c| c.is_of(&["H314", "H318"]))
}

#[cfg(test)]
mod tests;
