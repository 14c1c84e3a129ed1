//! What a maker's data sheet says, as forms ask it and pages show it.

use serde::Serialize;

use crate::hazards::{self, Lines, Sheet, Strength};
use crate::web::{Fields, Form};

/// The fields about one strength.
#[derive(Serialize)]
pub(super) struct StrengthFields {
    shown: &'static str,
    signal: String,
    codes: String,
    words: String,
    help: &'static str,
}

pub(super) fn strength_fields(strength: Strength) -> StrengthFields {
    StrengthFields {
        shown: strength.shown(),
        signal: of(strength, "signal"),
        codes: of(strength, "codes"),
        words: of(strength, "words"),
        help: match strength {
            Strength::Concentrate => "In plain words, where the sheet has no code for it.",
            Strength::Working => {
                "Where the sheet says that the diluted solution is not classified, write so. Left \
                 empty altogether, the lines above stand for it."
            }
        },
    }
}

/// The name of a field about one strength: `working_codes`.
fn of(strength: Strength, what: &str) -> String {
    format!("{}_{what}", strength.word())
}

/// What was typed in from the data sheet, both strengths.
pub(super) fn read_sheet(f: &mut Fields) -> Option<Sheet> {
    let mut sheet = Sheet::default();
    for strength in Strength::ALL {
        let words = f.text(&of(strength, "words"), "what else the sheet says", 0..=1000)?;
        match Lines::read(f.raw(&of(strength, "signal")), f.raw(&of(strength, "codes")), &words) {
            Ok(lines) => *sheet.at_mut(strength) = lines,
            Err(sentence) => {
                f.fault(&of(strength, "codes"), sentence);
                return None;
            }
        }
    }
    Some(sheet)
}

/// The sheet as its fields show it.
pub(super) fn with_sheet(form: Form, sheet: &Sheet) -> Form {
    Strength::ALL.into_iter().fold(form, |form, strength| {
        let lines = sheet.at(strength);
        form.with(&of(strength, "signal"), lines.signal.map_or("", |s| s.word()))
            .with(&of(strength, "codes"), hazards::written(&lines.codes))
            .with(&of(strength, "words"), &lines.words)
    })
}

/// What a sheet says at one strength, as a page shows it.
#[derive(Serialize)]
pub(super) struct SheetLine {
    strength: &'static str,
    signal: &'static str,
    symbols: String,
    lines: Vec<String>,
    words: String,
}

pub(super) fn sheet_lines(sheet: &Sheet) -> Vec<SheetLine> {
    let same = sheet.concentrate == sheet.working;
    let wanted = Strength::ALL.into_iter().take(if same { 1 } else { 2 });
    let typed = wanted.filter(|s| !sheet.at(*s).is_empty());
    typed
        .map(|strength| {
            let lines = sheet.at(strength);
            SheetLine {
                strength: if same { "As bought and at working strength" } else { strength.shown() },
                signal: lines.signal.map_or("", |s| s.word()),
                symbols: lines.symbols(),
                lines: lines.hazards().into_iter().chain(lines.precautions()).collect(),
                words: hazards::told(&lines.words),
            }
        })
        .collect()
}
