//! The day as a drawing: hours downward, a column for the dark and one for each sink.

use serde::Serialize;

use super::store::Run;
use crate::clock::{Moment, Span, Zone};
use crate::sinks::Sink;
use crate::web::{Mark, counted, spoken};

/// Units of the drawing for one minute.
const MINUTE: i64 = 3;
const LEFT: i64 = 70;
const COLUMN: i64 = 230;
const TOP: i64 = 40;

/// A drawing ready for its template.
#[derive(Debug, Serialize)]
pub(super) struct Timeline {
    width: i64,
    height: i64,
    hours: Vec<Mark>,
    columns: Vec<Mark>,
    blocks: Vec<Block>,
    /// What the drawing shows, for those who hear it read.
    says: String,
}

#[derive(Debug, Serialize)]
struct Block {
    x: i64,
    y: i64,
    w: i64,
    h: i64,
    /// `load`, `develop`, `run` or `booked`.
    kind: &'static str,
    lines: Vec<Mark>,
    title: String,
}

/// Somebody's booking at a sink.
#[derive(Clone, Debug)]
pub(super) struct Booked {
    pub(super) sink_id: i64,
    pub(super) span: Span,
    pub(super) name: String,
}

/// Draws the day; nothing when nothing happens.
pub(super) fn timeline(
    zone: Zone,
    sinks: &[Sink],
    runs: &[Run],
    booked: &[Booked],
) -> Option<Timeline> {
    let starts = runs.iter().map(|r| r.load.from.min(r.from));
    let first = starts.chain(booked.iter().map(|b| b.span.from)).min()?;
    let last = runs.iter().map(|r| r.to).chain(booked.iter().map(|b| b.span.to)).max()?;
    let from = Moment(first.0.div_euclid(1800) * 1800);
    let to = Moment(last.0.div_euclid(1800) * 1800 + 1800);
    let draw = Draw { zone, from };
    let mut blocks = Vec::new();
    for (sink, column) in sinks.iter().zip(1..) {
        for one in booked.iter().filter(|b| b.sink_id == sink.id) {
            let lines = vec![one.name.clone()];
            let title = format!("{} has {} then", one.name, sink.name);
            blocks.push(draw.block(column, one.span, "booked", (lines, title)));
        }
        for run in runs.iter().filter(|r| r.sink_id == sink.id) {
            blocks.extend(draw.run(column, run));
        }
    }
    for run in runs.iter().filter(|r| r.load.from < r.load.to) {
        let lines = vec![format!("Load {} for run {}", run.tank, run.number)];
        let title = format!("Loading of run {}", run.number);
        blocks.push(draw.block(0, run.load, "load", (lines, title)));
    }
    let half_hours = (0..).map(|n| from.plus(n * 1800)).take_while(|at| *at <= to);
    let hours = half_hours.map(|at| Mark { at: draw.y(at), text: draw.wall(at) }).collect();
    let names =
        std::iter::once("In the dark".to_owned()).chain(sinks.iter().map(|s| s.name.clone()));
    let columns: Vec<Mark> =
        names.zip(0..).map(|(text, n)| Mark { at: LEFT + n * COLUMN, text }).collect();
    let count = i64::try_from(columns.len()).unwrap_or(1);
    Some(Timeline {
        width: LEFT + count * COLUMN,
        height: draw.y(to) + 12,
        says: format!(
            "{} from {} to {}; the same stands in words below.",
            counted(runs.len(), "run", "runs"),
            draw.wall(first),
            draw.wall(last)
        ),
        hours,
        columns,
        blocks,
    })
}

struct Draw {
    zone: Zone,
    from: Moment,
}

impl Draw {
    fn wall(&self, at: Moment) -> String {
        self.zone.wall(at).format("%H:%M").to_string()
    }

    fn y(&self, at: Moment) -> i64 {
        TOP + at.since(self.from) * MINUTE / 60
    }

    fn block(
        &self,
        column: i64,
        span: Span,
        kind: &'static str,
        (texts, title): (Vec<String>, String),
    ) -> Block {
        let y = self.y(span.from);
        let h = (self.y(span.to) - y - 2).max(4);
        let room = usize::try_from((h - 4) / 20).unwrap_or(0).max(1);
        let line = |(text, n): (String, i64)| Mark { at: y + 18 + n * 20, text: short(text) };
        Block {
            x: LEFT + column * COLUMN + 4,
            y,
            w: COLUMN - 8,
            h,
            kind,
            lines: texts.into_iter().zip(0..).map(line).take(room).collect(),
            title,
        }
    }

    fn run(&self, column: i64, run: &Run) -> Vec<Block> {
        let poured = run.from.plus(run.pre_soak_s);
        let develop = Span { from: poured, to: poured.plus(run.time_s) };
        let tickets: Vec<String> = run.rolls.iter().map(|r| spoken(&r.ticket)).collect();
        let pin = if run.pinned { ", pinned" } else { "" };
        let lines = vec![
            format!("{} Run {}, {}{pin}", self.wall(run.from), run.number, run.tank),
            run.developer.clone(),
            tickets.join(" "),
        ];
        let title = format!(
            "Run {} from {} to {}, in developer until {}",
            run.number,
            self.wall(run.from),
            self.wall(run.to),
            self.wall(develop.to)
        );
        let whole = Span { from: run.from, to: run.to };
        let mut inner = self.block(column, develop, "develop", (Vec::new(), title.clone()));
        inner.x += inner.w - 14;
        inner.w = 14;
        vec![self.block(column, whole, "run", (lines, title)), inner]
    }
}

fn short(text: String) -> String {
    if text.chars().count() <= 26 { text } else { text.chars().take(25).chain(['…']).collect() }
}
