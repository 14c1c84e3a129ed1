//! The room in the planner's form: sinks, tanks, reels and hanging places with what takes them.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::reel_for;
use super::question::{Names, Question};
use crate::clock::Span;
use crate::planner::{Decimal, HangingForm, Hours, ReelForm, SinkForm, TankForm};

/// The name itself, or with the first number that makes it another than those before.
fn unlike(name: &str, taken: &BTreeMap<String, i64>) -> String {
    let free = |candidate: &String| !taken.contains_key(candidate);
    let numbered = (2..).map(|n| format!("{name} ({n})"));
    std::iter::once(name.to_owned()).chain(numbered).find(free).unwrap_or_default()
}

impl Question<'_> {
    pub(super) fn sinks(&self, names: &mut Names) -> Vec<SinkForm> {
        let mut forms = Vec::new();
        for sink in &self.facts.sinks {
            if self.only.is_some_and(|place| place.sink_id != sink.id) {
                continue;
            }
            let own = self.standing.iter().filter(|s| !s.is_held && s.sink_id == sink.id);
            let mut own: Vec<Span> = own
                .map(|s| Span { from: s.from, to: s.to.plus(self.figures().sink_gap_s) })
                .collect();
            // Each place is a sink of its own to the planner, so that a booking takes only one.
            for seat in 1..=sink.places {
                let id = unlike(&sink.name, &names.sinks);
                names.sinks.insert(id.clone(), sink.id);
                let held = self.facts.sinks_held.iter();
                let mut busy: Vec<Span> =
                    held.filter(|h| h.of_id == sink.id && h.seat == seat).map(|h| h.span).collect();
                let (here, rest): (Vec<Span>, Vec<Span>) = std::mem::take(&mut own)
                    .into_iter()
                    .partition(|s| !busy.iter().any(|b| b.meets(s)));
                own = rest;
                busy.extend(here);
                let day = self.facts.zone.day(self.facts.date);
                busy.extend(self.only.and_then(|place| Span::new(day.from, place.from)));
                let busy = busy.into_iter().filter_map(|s| self.hours(s)).collect();
                forms.push(SinkForm { id, places: 1, busy });
            }
        }
        forms
    }

    pub(super) fn tanks(&self, names: &mut Names) -> Vec<TankForm> {
        let mut forms = Vec::new();
        for tank in &self.facts.tanks {
            if self.only.is_some_and(|place| place.tank_id != tank.id) {
                continue;
            }
            let own = self.standing.iter().filter(|s| !s.is_held && s.tank_id == tank.id);
            let own =
                own.map(|s| Span { from: s.load.from, to: s.to.plus(self.figures().tank_gap_s) });
            let held = self.facts.tanks_held.iter().filter(|h| h.of_id == tank.id).map(|h| h.span);
            let busy: Vec<Hours> = held.chain(own).filter_map(|s| self.hours(s)).collect();
            let mut form = |busy: Vec<Hours>| {
                let id = unlike(bare(&tank.name), &names.tanks);
                names.tanks.insert(id.clone(), tank.id);
                forms.push(TankForm {
                    id,
                    stack_mm: Decimal::whole(tank.stack_mm),
                    max_reels: tank.max_reels,
                    base_ml: Decimal::whole(tank.base_ml),
                    min_ml: Decimal::whole(tank.min_ml),
                    max_ml: Decimal::whole(tank.max_ml),
                    busy,
                    preloaded: None,
                });
            };
            form(busy);
            if self.wish.twin_tank == Some(tank.id) {
                form(Vec::new());
            }
        }
        forms
    }

    pub(super) fn hanging(&self) -> Option<HangingForm> {
        let figures = self.figures();
        let places = self.facts.hanging.unwrap_or(figures.hanging_places);
        let is_counted = self.facts.hanging.is_some();
        let held = self.facts.hanging_held.iter().filter_map(|h| self.taken(h.span, 1));
        // Where the studio has named its places, the holds know those of published runs already.
        let own = self.standing.iter().filter(|s| !(is_counted && s.is_held)).filter_map(|s| {
            self.taken(Span { from: s.to, to: s.to.plus(figures.drying_s) }, s.rolls)
        });
        (places > 0).then(|| HangingForm {
            places,
            drying_s: figures.drying_s,
            busy: held.chain(own).collect(),
        })
    }

    /// The reels the day's formats go on. A pool that serves several formats stands once for each;
    /// publishing, which holds single reels, has the last word.
    pub(super) fn reels(&self) -> Vec<ReelForm> {
        let wanted: BTreeSet<&str> = self.jobs.iter().map(|j| j.format.reel).collect();
        let form = |wanted: &str| {
            let (pool, height_mm, cover_ml) = reel_for(&self.facts.reels, wanted)?;
            let held = self.facts.reels_held.iter().filter(|h| h.of_id == pool.id);
            let held = held.filter_map(|h| self.taken(h.span, 1));
            let own = self.standing.iter().filter(|s| !s.is_held).filter_map(|s| {
                let same = |kind: &str| {
                    reel_for(&self.facts.reels, kind).is_some_and(|(p, _, _)| p.id == pool.id)
                };
                let count: i64 = s.reels.iter().filter(|(k, _)| same(k)).map(|(_, n)| *n).sum();
                let wet = Span { from: s.load.from, to: s.to.plus(pool.drying_s) };
                (count > 0).then(|| self.taken(wet, count)).flatten()
            });
            Some(ReelForm {
                kind: wanted.to_owned(),
                height_mm: Decimal::whole(height_mm),
                cover_ml: Decimal::whole(cover_ml),
                owned: pool.owned,
                drying_s: pool.drying_s,
                busy: held.chain(own).collect(),
            })
        };
        wanted.into_iter().filter_map(form).collect()
    }
}

/// A tank's name without the word itself, because the planner's sentences say it.
pub(super) fn bare(name: &str) -> &str {
    let rest = name.strip_prefix("Tank ").or_else(|| name.strip_prefix("tank "));
    rest.map(str::trim).filter(|r| !r.is_empty()).unwrap_or(name)
}
