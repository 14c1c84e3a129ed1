//! A bath's life as a picture: what it took against what it can take, over time. Only geometry; the
//! template draws it, and the table beside says the same in words.

use serde::Serialize;

use super::rules::{Bath, Entry, EntryKind};
use super::state::{Measures, state};
use crate::clock::Moment;
use crate::web::{Mark, in_proportion};

/// Width of the picture.
const WIDE: i64 = 720;
/// Its height.
const HIGH: i64 = 300;
/// Room for words at the left, right, top and below.
const LEFT: i64 = 56;
const RIGHT: i64 = 16;
const TOP: i64 = 16;
const BELOW: i64 = 44;

/// A test on the line.
#[derive(Debug, Serialize)]
pub(super) struct Dot {
    x: i64,
    y: i64,
    failed: bool,
    text: String,
}

/// The picture.
#[derive(Debug, Serialize)]
pub(super) struct Graph {
    wide: i64,
    high: i64,
    left: i64,
    right: i64,
    top: i64,
    base: i64,
    limit_y: i64,
    near_y: i64,
    /// The use as a line of steps.
    used: String,
    /// The expected way to the limit, if one is foreseen.
    ahead: Option<String>,
    now_x: i64,
    tests: Vec<Dot>,
    rows: Vec<Mark>,
    columns: Vec<Mark>,
    title: String,
}

/// What is written beside the picture.
pub(super) struct Words<'a> {
    /// A moment as a short day.
    pub(super) day: &'a dyn Fn(Moment) -> String,
    /// A sentence that says what is to be seen.
    pub(super) title: String,
}

struct Scale {
    from: i64,
    to: i64,
    most: i64,
}

impl Scale {
    fn x(&self, at: i64) -> i64 {
        LEFT + in_proportion(at - self.from, self.to - self.from, WIDE - LEFT - RIGHT)
    }

    fn y(&self, milli: i64) -> i64 {
        HIGH - BELOW - in_proportion(milli, self.most, HIGH - BELOW - TOP)
    }
}

/// Draws a bath's life up to now, and to the day it is expected to reach its limit.
pub(super) fn graph(
    bath: &Bath,
    ledger: &[Entry],
    (now, limit_at, measures): (Moment, Option<Moment>, &Measures),
    words: &Words<'_>,
) -> Graph {
    let end = bath.retired.unwrap_or(now);
    let sums = running(ledger);
    let peak = sums.iter().map(|s| s.1).max().unwrap_or(0);
    let last = sums.last().map_or(0, |s| s.1);
    let most = bath.capacity_milli.max(peak).saturating_mul(11) / 10;
    let to = limit_at.map_or(end, |l| l.max(end)).0.max(bath.mixed.0 + 7 * 86_400);
    let scale = Scale { from: bath.mixed.0, to, most };
    Graph {
        wide: WIDE,
        high: HIGH,
        left: LEFT,
        right: WIDE - RIGHT,
        top: TOP,
        base: HIGH - BELOW,
        limit_y: scale.y(bath.capacity_milli),
        near_y: scale.y(bath.capacity_milli.saturating_mul(measures.near_percent) / 100),
        used: steps(&scale, &sums, end),
        ahead: limit_at.filter(|l| *l > end && bath.retired.is_none()).map(|l| {
            format!(
                "{},{} {},{}",
                scale.x(end.0),
                scale.y(last),
                scale.x(l.0),
                scale.y(bath.capacity_milli)
            )
        }),
        now_x: scale.x(end.0),
        tests: tests(bath, ledger, &scale, measures),
        rows: rows(bath, &scale),
        columns: columns(&scale, words),
        title: words.title.clone(),
    }
}

/// The load after each entry that changed it.
fn running(ledger: &[Entry]) -> Vec<(Moment, i64)> {
    let mut sum = 0_i64;
    let mut all = Vec::new();
    for entry in ledger.iter().filter(|e| e.milli != 0) {
        sum = sum.saturating_add(entry.milli);
        all.push((entry.at, sum));
    }
    all
}

fn steps(scale: &Scale, sums: &[(Moment, i64)], end: Moment) -> String {
    let mut points = vec![format!("{},{}", scale.x(scale.from), scale.y(0))];
    let mut level = 0;
    for (at, sum) in sums {
        let x = scale.x(at.0);
        points.push(format!("{x},{}", scale.y(level)));
        points.push(format!("{x},{}", scale.y(*sum)));
        level = *sum;
    }
    points.push(format!("{},{}", scale.x(end.0), scale.y(level)));
    points.join(" ")
}

fn tests(bath: &Bath, ledger: &[Entry], scale: &Scale, measures: &Measures) -> Vec<Dot> {
    let in_use = Bath { retired: None, ..bath.clone() };
    let taken_back = |e: &Entry| ledger.iter().any(|c| c.corrects == Some(e.id));
    let is_test = |e: &Entry| matches!(e.kind, EntryKind::ClipTest | EntryKind::ScrapTest);
    let tests = ledger.iter().enumerate().filter(|(_, e)| is_test(e) && !taken_back(e));
    tests
        .map(|(place, entry)| {
            let until = ledger.get(..=place).unwrap_or_default();
            let said = state(&in_use, until, entry.at, measures);
            Dot {
                x: scale.x(entry.at.0),
                y: scale.y(said.used_milli),
                failed: said.condition == super::Condition::FailedTest,
                text: entry.seconds.map_or_else(String::new, super::rules::minutes),
            }
        })
        .collect()
}

fn rows(bath: &Bath, scale: &Scale) -> Vec<Mark> {
    (0..=4)
        .map(|quarter| {
            let milli = bath.capacity_milli / 4 * quarter;
            Mark { at: scale.y(milli), text: super::rules::rolls_in_words(milli / 100 * 100) }
        })
        .collect()
}

fn columns(scale: &Scale, words: &Words<'_>) -> Vec<Mark> {
    (0..=4)
        .map(|quarter| {
            let at = scale.from + (scale.to - scale.from) / 4 * quarter;
            Mark { at: scale.x(at), text: (words.day)(Moment(at)) }
        })
        .collect()
}
