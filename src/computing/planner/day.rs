//! A studio's day as the planner sees it: everything checked, every reference resolved.

use super::{
    clock::{LocalDay, Seconds},
    decimal::Decimal,
};

/// A half-open interval of elapsed seconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Span {
    pub(crate) from: Seconds,
    pub(crate) to: Seconds,
}

impl Span {
    /// Whether the two share a moment.
    pub(crate) fn meets(self, other: Self) -> bool {
        self.from < other.to && other.from < self.to && self.from < self.to && other.from < other.to
    }
}

/// So many of a counted thing are taken for a while.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Taken {
    pub(crate) span: Span,
    pub(crate) count: i64,
}

/// How far a developing time may be off, in millionths of a percent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Tolerance {
    pub(crate) under: Decimal,
    pub(crate) over: Decimal,
}

/// A measuring tool: it holds so much, and is read in such steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Measure {
    pub(crate) up_to_ml: Decimal,
    pub(crate) step_ml: Decimal,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Rules {
    pub(crate) tolerance: Tolerance,
    pub(crate) time_step_s: Seconds,
    pub(crate) grid_s: Seconds,
    pub(crate) max_rolls_per_run: Option<i64>,
    pub(crate) max_owners_per_run: Option<i64>,
    /// Smallest tool first.
    pub(crate) measuring: Vec<Measure>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Steps {
    pub(crate) stop_s: Seconds,
    pub(crate) fix_s: Seconds,
    pub(crate) rinse_s: Seconds,
    pub(crate) wash_aid_s: Seconds,
    pub(crate) wash_s: Seconds,
    pub(crate) wetting_s: Seconds,
    pub(crate) hang_s_per_roll: Seconds,
    pub(crate) sink_gap_s: Seconds,
    pub(crate) tank_gap_s: Seconds,
    pub(crate) ready_after_s: Seconds,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Hands {
    pub(crate) before_pour_s: Seconds,
    pub(crate) after_pour_s: Seconds,
    pub(crate) before_end_s: Seconds,
    pub(crate) after_fix_s: Seconds,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Person {
    pub(crate) id: String,
    pub(crate) hours: Vec<Span>,
    pub(crate) tanks_at_once: i64,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Sink {
    pub(crate) id: String,
    pub(crate) places: i64,
    pub(crate) busy: Vec<Span>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Hanging {
    pub(crate) places: i64,
    pub(crate) drying_s: Seconds,
    pub(crate) busy: Vec<Taken>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Reel {
    pub(crate) kind: String,
    pub(crate) height_mm: Decimal,
    pub(crate) cover_ml: Decimal,
    pub(crate) owned: i64,
    pub(crate) drying_s: Seconds,
    pub(crate) busy: Vec<Taken>,
    /// From `loading.per_roll_s`.
    pub(crate) loading_s: Seconds,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Tank {
    pub(crate) id: String,
    pub(crate) stack_mm: Decimal,
    pub(crate) max_reels: i64,
    pub(crate) base_ml: Decimal,
    pub(crate) min_ml: Decimal,
    pub(crate) max_ml: Decimal,
    pub(crate) busy: Vec<Span>,
    /// Places of rolls, bottom first; empty when nothing is loaded.
    pub(crate) preloaded: Vec<usize>,
}

/// A shared bath of ready developer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Bath {
    pub(crate) volume_ml: Decimal,
    pub(crate) remaining: Decimal,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Developer {
    pub(crate) id: String,
    pub(crate) water_parts: Decimal,
    pub(crate) min_per_roll_ml: Decimal,
    /// In 10^-18 of the currency's unit.
    pub(crate) cost_per_ml: Option<i128>,
    pub(crate) bath: Option<Bath>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Fixer {
    pub(crate) volume_ml: Decimal,
    pub(crate) remaining: Decimal,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Roll {
    pub(crate) id: String,
    pub(crate) owner: String,
    pub(crate) format: String,
    /// Place among the reel kinds.
    pub(crate) reel: usize,
    pub(crate) reels: i64,
    pub(crate) roll_equivalents: Decimal,
    /// Place among the developers.
    pub(crate) developer: usize,
    pub(crate) temperature_c: Decimal,
    pub(crate) agitation: String,
    pub(crate) pre_soak_s: Seconds,
    pub(crate) time_s: Seconds,
    pub(crate) tolerance: Tolerance,
    pub(crate) alone: bool,
    pub(crate) fixer_factor: Decimal,
    pub(crate) weight: i64,
    pub(crate) ready: Option<Seconds>,
    pub(crate) due: Option<Seconds>,
}

/// A day to plan: the room, its people, its chemistry and the rolls that wait.
///
/// Made by [`Day::from_json`] or [`Day::from_form`]; every reference in it holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Day {
    pub(crate) clock: LocalDay,
    /// In order and apart.
    pub(crate) open: Vec<Span>,
    pub(crate) rules: Rules,
    pub(crate) steps: Steps,
    pub(crate) hands: Hands,
    pub(crate) loading_places: i64,
    pub(crate) loading_per_tank_s: Seconds,
    /// Places that cannot be had for a while.
    pub(crate) loading_busy: Vec<Taken>,
    pub(crate) people: Vec<Person>,
    pub(crate) sinks: Vec<Sink>,
    pub(crate) hanging: Option<Hanging>,
    pub(crate) reels: Vec<Reel>,
    pub(crate) tanks: Vec<Tank>,
    pub(crate) developers: Vec<Developer>,
    pub(crate) fixer: Option<Fixer>,
    pub(crate) rolls: Vec<Roll>,
}

/// Spans in order, those that touch or overlap made one.
pub(crate) fn merged(mut spans: Vec<Span>) -> Vec<Span> {
    spans.sort_unstable();
    let mut merged: Vec<Span> = Vec::with_capacity(spans.len());
    for span in spans {
        match merged.last_mut() {
            Some(last) if span.from <= last.to => last.to = last.to.max(span.to),
            _ => merged.push(span),
        }
    }
    merged
}

/// What is left of opening intervals outside busy ones.
pub(crate) fn gaps(open: &[Span], busy: &[Span]) -> Vec<Span> {
    let busy = merged(busy.to_vec());
    let mut gaps = Vec::new();
    for span in open {
        let mut from = span.from;
        for taken in busy.iter().filter(|taken| taken.meets(*span)) {
            if from < taken.from {
                gaps.push(Span { from, to: taken.from });
            }
            from = from.max(taken.to);
        }
        if from < span.to {
            gaps.push(Span { from, to: span.to });
        }
    }
    gaps
}
