//! Signal words and what the symbols on a label say, in plain words.

use std::collections::BTreeSet;

use super::Code;

/// The word on a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SignalWord {
    /// For the lesser hazards.
    Warning,
    /// For the severe ones.
    Danger,
}

impl SignalWord {
    /// As it stands on a label.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            SignalWord::Warning => "Warning",
            SignalWord::Danger => "Danger",
        }
    }

    /// The signal word so written, in any case.
    #[must_use]
    pub fn from_word(word: &str) -> Option<SignalWord> {
        [SignalWord::Warning, SignalWord::Danger]
            .into_iter()
            .find(|s| s.word().eq_ignore_ascii_case(word))
    }
}

/// Statements that never go with less than "Danger" (annex 3 of the United Nations' system, from
/// memory).
const DANGER: &[&str] = &[
    "H200", "H201", "H202", "H203", "H205", "H206", "H220", "H222", "H224", "H225", "H230", "H240",
    "H241", "H250", "H251", "H260", "H270", "H271", "H300", "H301", "H304", "H310", "H311", "H314",
    "H318", "H330", "H331", "H334", "H340", "H350", "H350i", "H360", "H360D", "H360Df", "H360F",
    "H360FD", "H360Fd", "H370", "H372",
];

/// Statements that never go without a signal word, "Warning" at the least.
const WARNING: &[&str] = &[
    "H204", "H207", "H208", "H221", "H223", "H226", "H227", "H228", "H229", "H231", "H232", "H242",
    "H252", "H261", "H272", "H280", "H281", "H290", "H302", "H303", "H305", "H312", "H313", "H315",
    "H316", "H317", "H319", "H320", "H332", "H333", "H335", "H336", "H341", "H351", "H361",
    "H361d", "H361f", "H361fd", "H371", "H373", "H400", "H410", "H420",
];

/// The weakest signal word that fits these statements; none where none is needed.
#[must_use]
pub fn least_signal(codes: &[Code]) -> Option<SignalWord> {
    if codes.iter().any(|c| c.is_of(DANGER)) {
        Some(SignalWord::Danger)
    } else if codes.iter().any(|c| c.is_of(WARNING)) {
        Some(SignalWord::Warning)
    } else {
        None
    }
}

/// Why a signal word does not fit the statements, if it does not.
#[must_use]
pub fn signal_fault(signal: Option<SignalWord>, codes: &[Code]) -> Option<String> {
    let least = least_signal(codes)?;
    if signal >= Some(least) {
        return None;
    }
    let of = if least == SignalWord::Danger { DANGER } else { WARNING };
    let code = codes.iter().find(|c| c.is_of(of))?.code();
    Some(format!(
        "{code} goes with the signal word “{}”. Look at the maker's data sheet again: the word or \
         the code is another one there.",
        least.word()
    ))
}

/// What a symbol on a label says.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Symbol {
    /// May explode.
    Explodes,
    /// Burns easily.
    Burns,
    /// Makes fires worse.
    FeedsFire,
    /// Under pressure.
    Pressure,
    /// Eats skin, eyes, metal.
    Corrodes,
    /// Poison in small amounts.
    Poison,
    /// Harmful, irritating, or sets off allergies of the skin.
    Harms,
    /// Harms slowly or for ever.
    Lasting,
    /// Kills what lives in water.
    Water,
}

impl Symbol {
    /// In plain words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Symbol::Explodes => "may explode",
            Symbol::Burns => "burns easily",
            Symbol::FeedsFire => "makes fires worse",
            Symbol::Pressure => "under pressure",
            Symbol::Corrodes => "corrosive",
            Symbol::Poison => "poison",
            Symbol::Harms => "harmful or irritating",
            Symbol::Lasting => "lasting harm to health",
            Symbol::Water => "harms life in water",
        }
    }
}

fn symbol(code: &Code) -> Option<Symbol> {
    const OF: [(Symbol, &[&str]); 9] = [
        (
            Symbol::Explodes,
            &["H200", "H201", "H202", "H203", "H204", "H205", "H206", "H207", "H240", "H241"],
        ),
        (
            Symbol::Burns,
            &[
                "H220", "H221", "H222", "H223", "H224", "H225", "H226", "H228", "H242", "H250",
                "H251", "H252", "H260", "H261", "H208",
            ],
        ),
        (Symbol::FeedsFire, &["H270", "H271", "H272"]),
        (Symbol::Pressure, &["H280", "H281"]),
        (Symbol::Corrodes, &["H290", "H314", "H318"]),
        (Symbol::Poison, &["H300", "H301", "H310", "H311", "H330", "H331"]),
        (
            Symbol::Lasting,
            &[
                "H304", "H334", "H340", "H341", "H350", "H350i", "H351", "H360", "H360D", "H360Df",
                "H360F", "H360FD", "H360Fd", "H361", "H361d", "H361f", "H361fd", "H370", "H371",
                "H372", "H373",
            ],
        ),
        (Symbol::Harms, &["H302", "H312", "H315", "H317", "H319", "H332", "H335", "H336", "H420"]),
        (Symbol::Water, &["H400", "H410", "H411"]),
    ];
    OF.into_iter().find(|(_, codes)| code.is_of(codes)).map(|(symbol, _)| symbol)
}

/// What the symbols of a label with these statements say, the gravest first. As on a label, the
/// lesser sign falls away where a graver one says the same: poison before harmful.
#[must_use]
pub fn symbols(codes: &[Code]) -> Vec<Symbol> {
    let mut all: BTreeSet<Symbol> = codes.iter().filter_map(symbol).collect();
    if all.contains(&Symbol::Poison) {
        all.remove(&Symbol::Harms);
    }
    all.into_iter().collect()
}
