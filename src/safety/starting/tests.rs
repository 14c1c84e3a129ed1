use std::fmt::Write as _;

use super::*;
use crate::safety::blanks;

/// The lines of a note that state something: items and rows, without heads and rules of tables.
fn statements(text: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let lines: Vec<&str> = text.lines().collect();
    for (n, line) in lines.iter().enumerate() {
        let is_item = line.starts_with("- ")
            || line.split_once(". ").is_some_and(|(n, _)| n.parse::<u32>().is_ok());
        let is_head = lines.get(n + 1).is_some_and(|next| next.starts_with("|---"));
        let is_row = line.starts_with("| ") && !is_head;
        if is_item || is_row {
            all.push(*line);
        }
    }
    all
}

fn rows(line: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let mut rest = line;
    while let Some((_, mark, after)) = next_mark(rest) {
        all.push(mark);
        rest = after;
    }
    all
}

#[test]
fn every_shipped_note_names_its_sources_and_defers() {
    assert!(NOTES.len() >= 19);
    for note in NOTES {
        let body = note.body();
        let (_, foot) = body.split_once("\n## Sources\n").unwrap();
        assert!(foot.contains("\n1. ") || foot.contains("common practice"), "{}", note.slug);
        for word in ["safety data sheet", "local codes", "licensed practice", "decide"] {
            assert!(foot.contains(word), "{} does not defer to: {word}", note.slug);
        }
        assert!(!body.contains('{'), "{} keeps a mark", note.slug);
    }
}

#[test]
fn every_statement_has_its_row_or_says_that_it_has_none() {
    let mut counted = 0;
    for note in NOTES {
        for line in statements(note.text) {
            counted += 1;
            let marks = rows(line);
            assert!(!marks.is_empty(), "{}: no row and no {{practice}}: {line}", note.slug);
            for mark in marks {
                assert!(
                    mark == PRACTICE || sources::of(mark).is_some(),
                    "{}: {mark} is no row of the sources",
                    note.slug
                );
            }
        }
    }
    assert!(counted > 150, "only {counted} statements were found");
}

#[test]
fn what_was_not_seen_says_so_at_the_foot() {
    let labels = NOTES.iter().find(|n| n.slug == "labels").unwrap().body();
    assert!(labels.contains("(from a secondary source)"), "{labels}");
    let chemicals = NOTES.iter().find(|n| n.slug == "chemicals").unwrap().body();
    assert!(chemicals.contains("from memory, not yet compared"), "{chemicals}");
}

#[test]
fn every_blank_of_a_shipped_note_can_be_filled_in_and_every_blank_is_used() {
    let all: String = NOTES.iter().map(|n| n.text).collect();
    for note in NOTES {
        for key in blanks::keys_in(note.text) {
            assert!(blanks::known(&key), "{}: {key}", note.slug);
        }
    }
    for blank in blanks::BLANKS {
        assert!(all.contains(&format!("[[{}]]", blank.key)), "{} is used by no note", blank.key);
    }
}

/// The figures of the notes against the rows they name.
#[test]
fn the_figures_are_those_of_the_rows() {
    let says = |slug: &str, what: &str| {
        let note = NOTES.iter().find(|n| n.slug == slug).unwrap();
        assert!(note.text.contains(what), "{slug} does not say: {what}");
    };
    // EYE-2: 0.4 gal (1.5 l) a minute for 15 minutes. EYE-4: 10 s. EYE-6: 16 to 38 °C.
    says("eyes-and-hands", "1.5 litres a minute for 15 minutes. {EYE-2}");
    says("before-you-begin", "within 10 seconds. {EYE-4}");
    says("eyes-and-hands", "16 to 38 °C. {EYE-6}");
    // DIL-17: 32 to 52 °C, 27 °C. DIL-16: half to three quarters.
    says("mixing", "32 to 52 °C for developers, and not much above 27 °C for fixers");
    says("mixing", "half to three quarters of the final volume. {DIL-16}");
    // VENT-1 and VENT-3: 12 changes; 3 x 4 x 2.5 = 30, times 12 = 360.
    says("breathing", "Twelve changes of air an hour");
    assert_eq!(3.0 * 4.0 * 2.5 * 12.0, 360.0);
    says("breathing", "360 cubic metres of air an hour. {VENT-3}");
    // OEL-6: 2 and 5 ppm; 5 ppm. OEL-7: 25, 35, about 20 ppm. OEL-3: 10, 15. OEL-1: 2 mg.
    says("breathing", "2 ppm over a working day and 5 ppm for a short time");
    says("breathing", "25 ppm over a day, 35 ppm for 15 minutes. It can be smelt from about 20");
    says("breathing", "10 ppm over a day, 15 ppm for a short time. {OEL-3}");
    says("breathing", "2 mg in a cubic metre. {OEL-1}");
    // DISP-1, DISP-12, DISP-13, DISP-26: 5.0 mg; 0.36 to 100 mg; 3 to 10 g are 600 to 2000 x 5 mg.
    says("where-it-goes", "5.0 mg of silver or more in a litre");
    says("where-it-goes", "from 0.36 to 100 mg");
    assert_eq!((3000 / 5, 10_000 / 5), (600, 2000));
    says("where-it-goes", "600 to 2000 times");
    // DISP-9: pH 5.0, 40 °C. DISP-22: 3 in. DISP-11: three years. DISP-18: codes.
    says("where-it-goes", "pH 5.0");
    says("where-it-goes", "40 °C. {DISP-9}");
    says("where-it-goes", "8 cm (3 in)");
    says("where-it-goes", "three years of it. {DISP-11}");
    says(
        "where-it-goes",
        "09 01 01*, fixer under 09 01 04*, bleach and bleach-fix under 09 01 05*",
    );
}

/// Statement by statement, with its row: the table that a reviewer reads.
#[test]
fn the_trace_is_what_the_notes_say() {
    let mut table = String::from(
        "# Where each statement of the shipped safety notes comes from\n\n\
         Written by the tests from the notes themselves: run them once with `WETSIDE_WRITE_TRACE=1` \
         after a change and read the difference. `practice` is common practice with no source.\n",
    );
    for note in NOTES {
        let _ =
            write!(table, "\n## {}\n\n| statement | row | source |\n|---|---|---|\n", note.title);
        for line in statements(note.text) {
            let marks = rows(line);
            let mut said = line.trim_matches(['|', ' ', '-']).replace(" | ", ": ");
            for mark in &marks {
                said =
                    said.replace(&format!(" {{{mark}}}"), "").replace(&format!("{{{mark}}}"), "");
            }
            let from: Vec<String> = marks
                .iter()
                .map(|m| {
                    sources::of(m).map_or_else(
                        || "common practice, no source".to_owned(),
                        sources::Source::line,
                    )
                })
                .collect();
            let _ =
                writeln!(table, "| {} | {} | {} |", said.trim(), marks.join(", "), from.join(" "));
        }
    }
    let path = "src/safety/starting/TRACE.md";
    if std::env::var_os("WETSIDE_WRITE_TRACE").is_some() {
        std::fs::write(path, &table).unwrap();
    }
    let known = std::fs::read_to_string(path).unwrap_or_default();
    assert_eq!(known, table, "run once with WETSIDE_WRITE_TRACE=1 and review {path}");
}
