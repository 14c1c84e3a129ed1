//! The cautions of a day's own chemistry, and what goes where afterwards.

use std::collections::BTreeMap;

use serde::Serialize;

use super::Bench;
use crate::chemistry::{Caution, caution};
use crate::day::Run;

/// A caution and what it is about.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub(in crate::day) struct CautionLine {
    pub(in crate::day) about: String,
    pub(in crate::day) text: String,
}

/// The cautions for exactly what these runs use: each developer's own lines once, those that several
/// share named together, then what holds for all mixing.
pub(in crate::day) fn cautions(runs: &[Run], bench: &Bench) -> Vec<CautionLine> {
    let mut own: BTreeMap<String, String> = BTreeMap::new();
    for run in runs {
        own.insert(run.developer.clone(), bench.hazards(run));
    }
    own.extend(bench.bath_hazards().iter().map(|(label, text)| (label.clone(), text.clone())));
    let none = "No hazard lines were typed for it yet. Read the maker's safety data sheet first.";
    let mut lines: Vec<CautionLine> = Vec::new();
    for (about, text) in own {
        let text = if text.trim().is_empty() { none.to_owned() } else { text };
        match lines.iter_mut().find(|l| l.text == text) {
            Some(line) => line.about = format!("{}; {about}", line.about),
            None => lines.push(CautionLine { about, text }),
        }
    }
    if runs.is_empty() {
        return lines;
    }
    let mixing = caution::WHEN_MIXING.map(|c| c.to_string()).join(" ");
    lines.push(CautionLine { about: "Mixing".to_owned(), text: mixing });
    let rest = [
        ("Stop bath and fixer", Caution::NeverWithBleach),
        ("Wetting agent", Caution::WettingFoulsReels),
    ];
    lines.extend(
        rest.map(|(about, c)| CautionLine { about: about.to_owned(), text: c.to_string() }),
    );
    lines.push(CautionLine {
        about: "Everybody".to_owned(),
        text: "Nobody is alone with concentrates or in total darkness. The fan is on.".to_owned(),
    });
    lines
}

/// Something that is poured away, and where.
#[derive(Debug, Serialize)]
pub(in crate::day) struct Pour {
    pub(in crate::day) what: String,
    volume: Option<super::Volume>,
    pub(in crate::day) line: String,
}

/// A liquid for which the local rule decides.
pub(in crate::day) type Rule<'a> = &'a dyn Fn(&str) -> Option<String>;

/// What goes where after these runs. Where no local rule was typed, nothing is poured away.
pub(in crate::day) fn pours(runs: &[Run], words: &crate::web::Words, rule: Rule<'_>) -> Vec<Pour> {
    if runs.is_empty() {
        return Vec::new();
    }
    let closed = || "Collect, do not pour: no local rule has been typed.".to_owned();
    let mut all: Vec<Pour> = super::drawn(runs)
        .into_iter()
        .map(|d| Pour {
            what: format!("{}, used", d.developer),
            volume: Some(super::volume(d.total_ul, words)),
            line: rule("developer").unwrap_or_else(closed),
        })
        .collect();
    let rest = [
        ("Stop bath", "stop", ""),
        ("Fixer", "fixer", "Back into its bottle; it is shared. When it is spent: "),
        ("First rinse after the fixer", "rinse", ""),
        ("Wash aid", "wash_aid", ""),
        ("Wetting agent", "wetting_agent", ""),
    ];
    all.extend(rest.map(|(what, kind, before)| {
        let line = rule(kind).unwrap_or_else(closed);
        let line = if before.is_empty() { line } else { format!("{before}{}", lower(&line)) };
        Pour { what: what.to_owned(), volume: None, line }
    }));
    all
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}
