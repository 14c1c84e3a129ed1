//! One row of a table of recipes, read cell by cell: every fault is kept with its column.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::NewRecipe;
use super::csv::{Fault, Known, Row};
use super::rules;
use crate::error::Error;
use crate::web::cell;

/// The cells of one row, and what is wrong with them.
pub(super) struct Cells<'a> {
    pub(super) number: usize,
    pub(super) record: &'a csv::StringRecord,
    pub(super) columns: &'a BTreeMap<&'static str, usize>,
    pub(super) faults: Vec<Fault>,
}

impl Cells<'_> {
    fn cell(&self, column: &str) -> Cow<'_, str> {
        let at = self.columns.get(column).copied();
        let raw = at.and_then(|at| self.record.get(at)).unwrap_or_default();
        Cow::Borrowed(cell::original(raw.trim()).trim())
    }

    fn fault(&mut self, column: &str, sentence: impl Into<String>) {
        self.faults.push(Fault {
            row: self.number,
            column: column.to_owned(),
            sentence: sentence.into(),
        });
    }

    fn text(&mut self, column: &str, least: usize, most: usize) -> Option<String> {
        let text = self.cell(column).into_owned();
        let count = text.chars().count();
        if text.chars().any(char::is_control) {
            self.fault(column, "This holds a line break or an invisible sign; write one line.");
            return None;
        }
        if count < least {
            self.fault(column, "This is empty; it is needed.");
            return None;
        }
        if count > most {
            self.fault(column, format!("This has {count} characters; {most} are allowed."));
            return None;
        }
        Some(text)
    }

    fn number(&mut self, column: &str, least: i64, most: i64) -> Option<i64> {
        let typed = self.cell(column).into_owned();
        let found = typed.parse::<i64>().ok().filter(|n| (least..=most).contains(n));
        if found.is_none() {
            let typed: String = typed.chars().take(30).collect();
            self.fault(column, format!("“{typed}” is no whole number from {least} to {most}."));
        }
        found
    }

    fn thousandths(&mut self, column: &str, least: i64, most: i64) -> Option<i64> {
        let typed = self.cell(column).into_owned();
        let found = rules::thousandths_of(&typed).filter(|n| (least..=most).contains(n));
        if found.is_none() {
            let typed: String = typed.chars().take(30).collect();
            let (least, most) = (rules::decimal(least), rules::decimal(most));
            self.fault(column, format!("“{typed}” is no number from {least} to {most}."));
        }
        found
    }

    fn clock(&mut self, column: &str, least: i64, most: i64) -> Option<i64> {
        let typed = self.cell(column).into_owned();
        if typed.is_empty() && least == 0 {
            return Some(0);
        }
        let found = rules::seconds_of(&typed).filter(|n| (least..=most).contains(n));
        if found.is_none() {
            let typed: String = typed.chars().take(30).collect();
            let (least, most) = (rules::clock_of(least), rules::clock_of(most));
            self.fault(
                column,
                format!("“{typed}” is no time from {least} to {most}; write minutes:seconds."),
            );
        }
        found
    }

    /// The film by its id, or as one that is new to the chart.
    fn film(&mut self, known: &Known) -> Option<(i64, Option<(String, i64)>)> {
        let name = self.text("film", 1, 80)?;
        let has_speed = !self.cell("speed").is_empty();
        let speed = if has_speed { Some(self.number("speed", 1, 25_600)?) } else { None };
        match (known.films.get(&name), speed) {
            (Some((_, on_chart)), Some(typed)) if *on_chart != typed => {
                self.fault("speed", format!("The chart has this film at speed {on_chart}."));
                None
            }
            (Some((id, _)), _) => Some((*id, None)),
            (None, Some(speed)) => Some((0, Some((name, speed)))),
            (None, None) => {
                self.fault("film", "This film is not on the chart; give its speed to enter it.");
                None
            }
        }
    }

    fn developer(&mut self, known: &Known) -> Option<i64> {
        let name = self.text("developer", 1, 80)?;
        let found = known.developers.get(&name).copied();
        if found.is_none() {
            self.fault(
                "developer",
                "This developer is not on the chart. Enter it first: how much of it a roll needs \
                 must be typed from its maker's sheet.",
            );
        }
        found
    }

    fn table(&mut self, temperature_mc: i64, time_s: i64) -> Option<Vec<(i64, i64)>> {
        let typed = self.cell("table").into_owned();
        let rows = match rules::read_table(&typed) {
            Ok(rows) => rows,
            Err(sentence) => {
                self.fault("table", sentence);
                return None;
            }
        };
        match rules::fitting_table(&rows, temperature_mc, time_s) {
            Ok(rows) => Some(rows),
            Err(Error::Invalid(faults)) => {
                for sentence in faults.into_values() {
                    self.fault("table", sentence);
                }
                None
            }
            Err(e) => {
                self.fault("table", e.to_string());
                None
            }
        }
    }

    /// The row, where nothing is wrong with it.
    pub(super) fn row(&mut self, known: &Known) -> Option<Row> {
        let film = self.film(known);
        let ei = self.number("ei", 1, 25_600);
        let developer = self.developer(known);
        let temperature = self.thousandths("temperature_c", 10_000, 40_000);
        let time = self.clock("time", 1, 86_400);
        let pre_soak = self.clock("pre_soak", 0, 3600);
        let agitation = self.text("agitation", 1, 100);
        let contrast = self.text("contrast", 0, 80);
        let source = self.text("source", 1, 200);
        let table = temperature.zip(time).map(|(mc, s)| self.table(mc, s));
        let (film_id, new_film) = film?;
        Some(Row {
            number: self.number,
            new_film,
            recipe: NewRecipe {
                film_id,
                ei: ei?,
                developer_id: developer?,
                temperature_mc: temperature?,
                agitation: rules::agitation_kept(&agitation?),
                pre_soak_s: pre_soak?,
                time_s: time?,
                contrast: contrast?,
                source: source?,
                table: table??,
                why: String::new(),
            },
        })
    }
}
