//! The chart as a table: written for a spreadsheet, and read back from one with every fault named
//! by its row and column.

use std::collections::BTreeMap;

use super::cells::Cells;
use super::rules;
use super::{NewRecipe, Recipe};
use crate::error::Error;
use crate::web::{cell, csv_text};

/// The columns, in the order in which they are written. When read they may stand in any order.
pub(super) const COLUMNS: [&str; 11] = [
    "film",
    "speed",
    "ei",
    "developer",
    "temperature_c",
    "time",
    "pre_soak",
    "agitation",
    "table",
    "contrast",
    "source",
];

/// Those without which a row says nothing.
const NEEDED: [&str; 7] =
    ["film", "ei", "developer", "temperature_c", "time", "agitation", "source"];

/// The most rows a file may have.
pub(super) const MOST_ROWS: usize = 20_000;

/// A fault, by its place in the file: row 1 is the head.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub(super) struct Fault {
    /// The row, counted as a spreadsheet does.
    pub(super) row: usize,
    /// The column by its name; empty for the row as a whole.
    pub(super) column: String,
    /// What is wrong and what would do.
    pub(super) sentence: String,
}

/// A film or developer that the studio knows, by its name.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    /// Films: id and speed.
    pub(super) films: BTreeMap<String, (i64, i64)>,
    /// Developers: id.
    pub(super) developers: BTreeMap<String, i64>,
}

/// One row that can be taken in.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Where it stands.
    pub(super) number: usize,
    /// A film that is not on the chart yet: its name and speed.
    pub(super) new_film: Option<(String, i64)>,
    /// The recipe; its film is 0 where that is new.
    pub(super) recipe: NewRecipe,
}

/// Writes recipes as a table: commas, quotes where they are needed, CRLF, no byte order mark.
pub(super) fn write(recipes: &[Recipe]) -> Result<Vec<u8>, Error> {
    let head: Vec<String> = COLUMNS.iter().map(|name| (*name).to_owned()).collect();
    let row = |r: &Recipe| {
        vec![
            r.film.name.clone(),
            r.film.speed.to_string(),
            r.ei.to_string(),
            r.developer.name.clone(),
            rules::decimal(r.temperature_mc),
            rules::clock_of(r.time_s),
            rules::clock_of(r.pre_soak_s),
            r.agitation.clone(),
            rules::table_in_words(&r.table),
            r.contrast.clone(),
            r.source.clone(),
        ]
    };
    let rows: Vec<Vec<String>> = std::iter::once(head).chain(recipes.iter().map(row)).collect();
    csv_text(&rows, cell::harmless)
}

/// Reads a file: the rows that can be taken in, or every fault there is.
pub(super) fn read(body: &str, known: &Known) -> Result<Vec<Row>, Vec<Fault>> {
    let body = body.strip_prefix('\u{feff}').unwrap_or(body);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter(body))
        .flexible(true)
        .has_headers(false)
        .from_reader(body.as_bytes());
    let mut records = reader.records();
    let head = match records.next() {
        Some(Ok(head)) => head,
        Some(Err(e)) => return Err(vec![whole(1, format!("The head cannot be read: {e}."))]),
        None => return Err(vec![whole(1, "The file is empty.".to_owned())]),
    };
    let columns = columns(&head)?;
    let mut faults = Vec::new();
    let mut rows = Vec::new();
    let mut seen: BTreeMap<Key, usize> = BTreeMap::new();
    for (number, record) in (2..).zip(records) {
        if number > MOST_ROWS + 1 {
            faults.push(whole(number, format!("A file may have {MOST_ROWS} rows; split it.")));
            break;
        }
        let record = match record {
            Ok(record) => record,
            Err(e) => {
                faults.push(whole(number, format!("This row cannot be read: {e}.")));
                continue;
            }
        };
        if record.iter().all(|c| c.trim().is_empty()) {
            continue;
        }
        let mut cells = Cells { number, record: &record, columns: &columns, faults: Vec::new() };
        let row = cells.row(known);
        faults.append(&mut cells.faults);
        let Some(row) = row else { continue };
        if let Some(earlier) = seen.insert(Key::of(&row), number) {
            let sentence = format!("Row {earlier} is for just the same. Keep one of the two.");
            faults.push(whole(number, sentence));
        }
        rows.push(row);
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults) }
}

/// What two rows of one file may not share.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Key(String, i64, i64, i64, i64, String, String);

impl Key {
    fn of(row: &Row) -> Key {
        let r = &row.recipe;
        let film = row.new_film.as_ref().map_or_else(String::new, |f| f.0.clone());
        Key(
            film,
            r.film_id,
            r.ei,
            r.developer_id,
            r.temperature_mc,
            r.agitation.clone(),
            r.contrast.clone(),
        )
    }
}

fn whole(row: usize, sentence: String) -> Fault {
    Fault { row, column: String::new(), sentence }
}

/// The sign between the cells: what the head has more of, outside of quotes.
fn delimiter(body: &str) -> u8 {
    let head = body.lines().next().unwrap_or_default();
    let mut quoted = false;
    let (mut commas, mut semicolons) = (0, 0);
    for c in head.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => commas += 1,
            ';' if !quoted => semicolons += 1,
            _ => {}
        }
    }
    if semicolons > commas { b';' } else { b',' }
}

/// Where each column stands; unknown, doubled and missing ones are faults.
fn columns(head: &csv::StringRecord) -> Result<BTreeMap<&'static str, usize>, Vec<Fault>> {
    let mut found = BTreeMap::new();
    let mut faults = Vec::new();
    for (at, name) in head.iter().enumerate() {
        let name = name.trim().to_lowercase();
        if name.is_empty() {
            continue;
        }
        let shown: String = name.chars().take(40).collect();
        let fault = |sentence: String| Fault { row: 1, column: shown.clone(), sentence };
        match COLUMNS.iter().find(|c| **c == name) {
            None => {
                let all = COLUMNS.join(", ");
                faults.push(fault(format!("This column is not known; the columns are {all}.")));
            }
            Some(known) => {
                if found.insert(*known, at).is_some() {
                    faults.push(fault("This column stands there twice.".to_owned()));
                }
            }
        }
    }
    for needed in NEEDED {
        if !found.contains_key(needed) {
            let (column, row) = (needed.to_owned(), 1);
            faults.push(Fault { row, column, sentence: "This column is missing.".to_owned() });
        }
    }
    if faults.is_empty() { Ok(found) } else { Err(faults) }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn known() -> Known {
        Known {
            films: BTreeMap::from([("Gannet 400".to_owned(), (1, 400))]),
            developers: BTreeMap::from([("Saltmarsh, 1+31".to_owned(), 2)]),
        }
    }

    proptest! {
        #[test]
        fn no_file_makes_it_panic(
            text in "[\\PC\r\n\",;\u{feff}]{0,300}",
            head in prop::sample::subsequence(COLUMNS.to_vec(), 0..=11),
            sign in prop::sample::select(vec![",", ";"]),
        ) {
            let _ = read(&text, &known());
            let body = format!("{}\r\n{text}", head.join(sign));
            if let Err(faults) = read(&body, &known()) {
                prop_assert!(faults.iter().all(|f| f.row >= 1 && !f.sentence.is_empty()));
            }
        }
    }
}
