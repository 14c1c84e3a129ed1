//! The month's pictures as geometry; the template draws them, and the tables beside say the same.

use chrono::Datelike;
use serde::Serialize;

use super::rules::{DayUse, hours};
use crate::web::{DAYS, Mark, in_proportion};

/// Width of every picture, in its own units: the width of a phone, so that words are legible there.
const WIDE: i64 = 364;

/// Width and height of one day.
const DAY_WIDE: i64 = 52;
const DAY_HIGH: i64 = 72;
/// Room for the names of the days.
const HEAD: i64 = 22;
/// Where a day's trays begin and how high they are.
const TRAY_TOP: i64 = 20;
const TRAY_HIGH: i64 = 32;

/// The room's use: a leaf of the calendar on which every sink is a tray, filled as far as its
/// opening hours were taken.
#[derive(Debug, Serialize)]
pub(super) struct Leaf {
    wide: i64,
    high: i64,
    heads: Vec<Mark>,
    days: Vec<Day>,
}

#[derive(Debug, Serialize)]
struct Day {
    x: i64,
    y: i64,
    number: u32,
    is_open: bool,
    trays: Vec<Tray>,
    /// The hours of all sinks together, where there are any.
    hours: Option<String>,
    title: String,
}

#[derive(Debug, Serialize)]
struct Tray {
    x: i64,
    y: i64,
    wide: i64,
    high: i64,
    fill_y: i64,
    fill_high: i64,
}

/// Draws the days of a month.
pub(super) fn leaf(days: &[DayUse], named: &dyn Fn(chrono::NaiveDate) -> String) -> Leaf {
    let before = days.first().map_or(0, |d| i64::from(d.date.weekday().num_days_from_monday()));
    let count = before + i64::try_from(days.len()).unwrap_or(0);
    let short = |name: &&str| name.chars().take(3).collect::<String>();
    let place = |n: i64| ((n % 7) * DAY_WIDE, HEAD + n / 7 * DAY_HIGH);
    Leaf {
        wide: WIDE,
        high: HEAD + (count + 6) / 7 * DAY_HIGH + 2,
        heads: (0..)
            .zip(&DAYS)
            .map(|(n, name)| Mark { at: n * DAY_WIDE + DAY_WIDE / 2, text: short(name) })
            .collect(),
        days: (before..).zip(days).map(|(n, d)| day(place(n), d, &named(d.date))).collect(),
    }
}

fn day((x, y): (i64, i64), of: &DayUse, named: &str) -> Day {
    let sum = of.sum();
    let title = match (of.open, sum) {
        (0, _) => format!("{named}: closed"),
        (open, 0) => format!("{named}: nothing taken of {}", hours(open)),
        (open, sum) => format!("{named}: {} taken, open for {}", hours(sum), hours(open)),
    };
    Day {
        trays: if of.open > 0 { trays((x, y), of) } else { Vec::new() },
        number: of.date.day(),
        is_open: of.open > 0,
        hours: (sum > 0).then(|| hours(sum)),
        title,
        x,
        y,
    }
}

fn trays((x, y): (i64, i64), of: &DayUse) -> Vec<Tray> {
    let count = i64::try_from(of.taken.len()).unwrap_or(1).max(1);
    let room = DAY_WIDE - 8;
    let gap = if count > 6 { 1 } else { 4 };
    let wide = (room / count - gap).clamp(1, 14);
    let left = x + (DAY_WIDE - count * (wide + gap) + gap) / 2;
    let tray = |(n, taken): (i64, &i64)| {
        let fill_high = in_proportion(*taken, of.open, TRAY_HIGH);
        Tray {
            x: left + n * (wide + gap),
            y: y + TRAY_TOP,
            wide,
            high: TRAY_HIGH,
            fill_y: y + TRAY_TOP + TRAY_HIGH - fill_high,
            fill_high,
        }
    };
    (0..).zip(&of.taken).map(tray).collect()
}

/// A line of a picture of bars: its words and up to two amounts, each with what it says at its end.
pub(super) struct Row {
    pub(super) text: String,
    pub(super) bars: Vec<(Fill, i64, String)>,
}

/// How a bar is filled: told apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Fill {
    /// Ink all through.
    Full,
    /// Hatched.
    Hatched,
}

/// Rows of bars, all of one scale.
#[derive(Debug, Serialize)]
pub(super) struct Bars {
    wide: i64,
    high: i64,
    rows: Vec<Mark>,
    bars: Vec<Bar>,
}

#[derive(Debug, Serialize)]
struct Bar {
    y: i64,
    long: i64,
    fill: Fill,
    /// Where its words begin.
    end: i64,
    text: String,
}

/// Room for what is said at the end of a bar.
const SAID: i64 = 104;
const BAR_HIGH: i64 = 18;

/// Draws rows of bars; an amount below nothing has no length.
pub(super) fn bars(rows: Vec<Row>) -> Bars {
    let most = rows.iter().flat_map(|r| r.bars.iter().map(|b| b.1)).max().unwrap_or(0);
    let (mut y, mut marks, mut all) = (0, Vec::new(), Vec::new());
    for row in rows {
        y += 18;
        marks.push(Mark { at: y, text: row.text });
        y += 5;
        for (fill, amount, text) in row.bars {
            let long = in_proportion(amount, most, WIDE - SAID);
            all.push(Bar { y, long, fill, end: long + 7, text });
            y += BAR_HIGH + 3;
        }
        y += 5;
    }
    Bars { wide: WIDE, high: y, rows: marks, bars: all }
}
