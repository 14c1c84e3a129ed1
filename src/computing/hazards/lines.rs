//! What a maker's data sheet says of one product, as bought and at working strength apart.

use super::{
    Code, SignalWord, Strength, calls_for_eyewash, codes_in, fault_in, read_codes, signal_fault,
    symbols, told,
};

/// What one product carries at one strength.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lines {
    /// The signal word of its label; none where the sheet gives none.
    pub signal: Option<SignalWord>,
    /// Its statements, in the order of the standard.
    pub codes: Vec<Code>,
    /// What the sheet says beside them, in plain words.
    pub words: String,
}

impl Lines {
    /// The lines that a signal word (empty for none), codes and plain words make.
    ///
    /// # Errors
    /// A sentence that names the word or the code that is none.
    pub fn read(signal: &str, codes: &str, words: &str) -> Result<Lines, String> {
        let signal = match signal.trim() {
            "" => None,
            word => Some(SignalWord::from_word(word).ok_or_else(|| {
                format!("“{word}” is no signal word: a label says Warning or Danger, or neither.")
            })?),
        };
        Ok(Lines { signal, codes: read_codes(codes)?, words: words.trim().to_owned() })
    }

    /// Whether nothing has been typed in from the sheet.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.signal.is_none() && self.codes.is_empty() && self.words.trim().is_empty()
    }

    /// All its codes, those among its plain words too, in the order of the standard.
    #[must_use]
    pub fn all_codes(&self) -> Vec<Code> {
        let mut all = self.codes.clone();
        all.extend(codes_in(&self.words));
        all.sort_unstable();
        all.dedup();
        all
    }

    /// These and another's together, for what is mixed from both: the stronger signal word, every
    /// statement once, both sheets' words.
    #[must_use]
    pub fn and(&self, other: &Lines) -> Lines {
        let mut codes = self.codes.clone();
        codes.extend(other.codes.iter().copied());
        codes.sort_unstable();
        codes.dedup();
        let mut words = vec![self.words.trim(), other.words.trim()];
        words.dedup();
        words.retain(|w| !w.is_empty());
        Lines { signal: self.signal.max(other.signal), codes, words: words.join(" ") }
    }

    /// What can happen, in sentences, each with its code.
    #[must_use]
    pub fn hazards(&self) -> Vec<String> {
        self.sentences(false)
    }

    /// What to do, in sentences, each with its code.
    #[must_use]
    pub fn precautions(&self) -> Vec<String> {
        self.sentences(true)
    }

    fn sentences(&self, precautions: bool) -> Vec<String> {
        let wanted = self.codes.iter().filter(|c| c.is_precaution() == precautions);
        wanted.map(|c| format!("{} ({})", c.text, c.code)).collect()
    }

    /// What the symbols on its label say, in plain words: `corrosive, harms life in water`.
    #[must_use]
    pub fn symbols(&self) -> String {
        let said: Vec<&str> = symbols(&self.all_codes()).into_iter().map(|s| s.words()).collect();
        said.join(", ")
    }

    /// All of it in one line for a label or a sheet, the signal word first; empty where nothing was
    /// typed in.
    #[must_use]
    pub fn told(&self) -> String {
        let signal = self.signal.map(|s| format!("{}.", s.word()));
        let words = Some(told(self.words.trim())).filter(|w| !w.is_empty());
        let all: Vec<String> = signal
            .into_iter()
            .chain(self.hazards())
            .chain(self.precautions())
            .chain(words)
            .collect();
        all.join(" ")
    }

    /// Why it cannot be right, if it cannot: a signal word that does not go with a statement, or a
    /// code among the words that the standard does not have.
    #[must_use]
    pub fn fault(&self) -> Option<String> {
        fault_in(&self.words).or_else(|| signal_fault(self.signal, &self.codes))
    }
}

/// What a data sheet says of a product: as bought, and at working strength.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    /// As it is bought: concentrate or powder.
    pub concentrate: Lines,
    /// As it stands in tank and tray.
    pub working: Lines,
}

impl Sheet {
    /// The lines of one strength.
    #[must_use]
    pub fn at(&self, strength: Strength) -> &Lines {
        match strength {
            Strength::Concentrate => &self.concentrate,
            Strength::Working => &self.working,
        }
    }

    /// The lines of one strength, to be changed.
    pub fn at_mut(&mut self, strength: Strength) -> &mut Lines {
        match strength {
            Strength::Concentrate => &mut self.concentrate,
            Strength::Working => &mut self.working,
        }
    }

    /// This and another's sheet together, for what is mixed from both.
    #[must_use]
    pub fn and(&self, other: &Sheet) -> Sheet {
        Sheet {
            concentrate: self.concentrate.and(&other.concentrate),
            working: self.working.and(&other.working),
        }
    }

    /// Whether nothing has been typed in at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.concentrate.is_empty() && self.working.is_empty()
    }

    /// What is said of it at one strength. Where only the other was typed in, that one stands with
    /// its name before it: rather too much is said than nothing.
    #[must_use]
    pub fn told(&self, strength: Strength) -> String {
        let own = self.at(strength);
        if !own.is_empty() {
            return own.told();
        }
        let other = match strength {
            Strength::Concentrate => Strength::Working,
            Strength::Working => Strength::Concentrate,
        };
        let said = self.at(other).told();
        if said.is_empty() { said } else { format!("{}: {said}", other.shown()) }
    }

    /// Both strengths in one line, each with its name before it, for somebody who has the bottle
    /// and the tank at hand.
    #[must_use]
    pub fn told_both(&self) -> String {
        if self.concentrate == self.working {
            return self.concentrate.told();
        }
        let both = Strength::ALL.map(|s| (s.shown(), self.at(s).told()));
        let said = both.into_iter().filter(|(_, text)| !text.is_empty());
        said.map(|(name, text)| format!("{name}: {text}")).collect::<Vec<_>>().join(" ")
    }

    /// Whether either strength calls for an eyewash within reach.
    #[must_use]
    pub fn calls_for_eyewash(&self) -> bool {
        Strength::ALL.iter().any(|s| calls_for_eyewash(&self.at(*s).all_codes()))
    }
}
