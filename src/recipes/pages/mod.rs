//! The pages of the time chart.

mod bring_in;
mod chart;
mod enter;
mod kinds;
mod one;
pub(super) mod working;

use std::ops::RangeInclusive;

use serde::Serialize;

use super::rules;
use crate::app::App;
use crate::error::Error;
use crate::recipes::{Developer, Film};
use crate::sessions::Person;
use crate::units::{Celsius, Measures};
use crate::web::{Fields, Routes};

pub(super) fn routes(open: &mut Routes) {
    bring_in::routes(open);
    chart::routes(open);
    enter::routes(open);
    kinds::routes(open);
    one::routes(open);
}

/// One line of a select.
#[derive(Clone, Serialize)]
struct Choice {
    value: String,
    text: String,
}

impl Choice {
    #[expect(
        clippy::needless_pass_by_value,
        reason = "numbers and words are handed in as they are"
    )]
    fn new(value: impl ToString, text: impl Into<String>) -> Choice {
        Choice { value: value.to_string(), text: text.into() }
    }
}

fn film_choices(films: &[Film]) -> Vec<Choice> {
    films.iter().map(|f| Choice::new(f.id, f.name.as_str())).collect()
}

fn developer_choices(developers: &[Developer]) -> Vec<Choice> {
    developers.iter().map(|d| Choice::new(d.id, d.name.as_str())).collect()
}

/// `20.0 °C`, with Fahrenheit beside it for those who asked for US units.
fn degrees(app: &App, person: &Person, mc: i64) -> String {
    let Ok(at) = rules::celsius(mc) else { return String::new() };
    let us = app.words(Some(person)).us_units;
    if us {
        format!("{} ({})", at.in_words(Measures::Metric), at.in_words(Measures::Us))
    } else {
        at.in_words(Measures::Metric)
    }
}

/// `8:15 min` from seconds.
fn minutes(s: i64) -> String {
    format!("{}\u{202f}min", rules::clock_of(s))
}

/// A decimal number within a range, both in thousandths; a comma will do for a point.
fn amount(f: &mut Fields, name: &str, what: &str, range: RangeInclusive<i64>) -> Option<i64> {
    let typed = f.raw(name).trim().to_owned();
    let found = rules::thousandths_of(&typed).filter(|n| range.contains(n));
    if found.is_none() {
        let (low, high) = (rules::decimal(*range.start()), rules::decimal(*range.end()));
        let sentence = if typed.is_empty() {
            format!("Please give {what}, a number from {low} to {high}.")
        } else {
            let typed: String = typed.chars().take(40).collect();
            format!("“{typed}” is not {what}; write a number from {low} to {high}.")
        };
        f.fault(name, sentence);
    }
    found
}

/// As [`amount`], where the field may be left empty.
fn amount_if_any(
    f: &mut Fields,
    name: &str,
    what: &str,
    range: RangeInclusive<i64>,
) -> Option<Option<i64>> {
    if f.raw(name).trim().is_empty() { Some(None) } else { amount(f, name, what, range).map(Some) }
}

/// A length of time within a range of seconds, written as `8:15` or `495 s`.
fn clock(f: &mut Fields, name: &str, what: &str, range: RangeInclusive<i64>) -> Option<i64> {
    let typed = f.raw(name).trim().to_owned();
    let found = rules::seconds_of(&typed).filter(|n| range.contains(n));
    if found.is_none() {
        let (low, high) = (rules::clock_of(*range.start()), rules::clock_of(*range.end()));
        let typed: String = typed.chars().take(40).collect();
        f.fault(
            name,
            format!(
                "“{typed}” is not {what}; write minutes and seconds from {low} to {high}, such \
                 as 8:15."
            ),
        );
    }
    found
}

/// A temperature as chemistry takes it.
fn temperature(mc: i64) -> Result<Celsius, Error> {
    rules::celsius(mc).map_err(|e| Error::refused("temperature", e.to_string()))
}
