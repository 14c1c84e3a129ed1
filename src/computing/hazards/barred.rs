//! What a shared darkroom does without unless a lead takes it on by name.

/// A substance that no product entry may hold before a lead has taken it on by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Barred {
    /// Dichromates: potassium (CAS 7778-50-9), sodium (7789-12-0, 10588-01-9), ammonium
    /// (7789-09-5). H340, H350, H360FD, H330 among others (GHS-19, a public dataset, secondary).
    Dichromate,
    /// Acetic acid above 80 % (CAS 64-19-7), called glacial: H226, H290, H314 (GHS-8, secondary;
    /// the 80 % is the transport line of GHS-10, NIOSH).
    GlacialAceticAcid,
}

impl Barred {
    /// All of them.
    pub const ALL: [Barred; 2] = [Barred::Dichromate, Barred::GlacialAceticAcid];

    /// The word in the database and in addresses.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Barred::Dichromate => "dichromate",
            Barred::GlacialAceticAcid => "glacial acetic acid",
        }
    }

    /// The substance of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Barred> {
        Barred::ALL.into_iter().find(|b| b.word() == word)
    }

    /// Why it is barred, and what does instead.
    #[must_use]
    pub fn why(self) -> &'static str {
        match self {
            Barred::Dichromate => {
                "It can cause cancer, genetic defects and harm to the unborn child, and its dust \
                 can kill. Ready-made bleaches without it do the same work."
            }
            Barred::GlacialAceticAcid => {
                "It burns skin and eyes, its vapour burns too, and it catches fire. Buy stop bath \
                 ready made, or acid already diluted."
            }
        }
    }

    /// What is said to somebody who tries to enter a product with it.
    #[must_use]
    pub fn refusal(self) -> String {
        format!(
            "This studio does without {}: {} A lead can take it on by name under Safety notes, \
             “What is barred”.",
            self.word(),
            self.why()
        )
    }
}

/// The barred substance that a product's name, CAS number or description speaks of, if any.
#[must_use]
pub fn barred_in(text: &str) -> Option<Barred> {
    let text = text.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|w| text.contains(w));
    if has(&["dichromate", "bichromate", "7778-50-9", "7789-12-0", "10588-01-9", "7789-09-5"]) {
        return Some(Barred::Dichromate);
    }
    let acetic = has(&["acetic", "64-19-7", "ethanoic"]);
    if has(&["glacial"]) || (acetic && strongest_percent(&text) > 80) {
        return Some(Barred::GlacialAceticAcid);
    }
    None
}

/// The greatest figure before a percent sign, 0 where there is none.
fn strongest_percent(text: &str) -> u32 {
    let mut best = 0;
    let mut pieces = text.split('%').peekable();
    while let Some(piece) = pieces.next() {
        if pieces.peek().is_none() {
            break;
        }
        let figures: String = piece
            .trim_end()
            .chars()
            .rev()
            .take_while(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
            .collect();
        let figures: String = figures.chars().rev().collect();
        let whole = figures.split(['.', ',']).next().unwrap_or_default();
        best = best.max(whole.parse().unwrap_or(0));
    }
    best
}
