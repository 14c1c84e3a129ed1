//! The day as the planner is asked about it: the room's facts in the planner's own form.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::{Facts, reel_for};
use super::figures::Figures;
use super::rules::{Job, Wish, hands};
use super::standing::{Standing, wall, without};
use crate::chemistry::Measuring;
use crate::clock::{Moment, Span};
use crate::planner::{
    BathForm, DayForm, Decimal, DeveloperForm, FormatForm, HandsForm, HangingForm, Hours,
    LoadingForm, MeasureForm, PersonForm, ReelForm, RollForm, RulesForm, SinkForm, StepsForm,
    TakenHours, TankForm, ToleranceForm,
};
use crate::rolls::{Care, Roll};

/// Where a single run has to go.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) tank_id: i64,
    pub(super) sink_id: i64,
    /// Nothing of it begins before this.
    pub(super) not_before: Moment,
    /// It starts no earlier than this.
    pub(super) from: Moment,
}

/// One question to the planner.
pub(super) struct Question<'a> {
    pub(super) facts: &'a Facts,
    pub(super) wish: &'a Wish,
    pub(super) jobs: &'a [&'a Job],
    pub(super) standing: &'a [Standing],
    pub(super) only: Option<Place>,
}

/// Which thing of the room stands behind each of the planner's names.
#[derive(Debug, Default)]
pub(super) struct Names {
    pub(super) tanks: BTreeMap<String, i64>,
    pub(super) sinks: BTreeMap<String, i64>,
}

/// The name itself, or with the first number that makes it another than those before.
fn unlike(name: &str, taken: &BTreeMap<String, i64>) -> String {
    let free = |candidate: &String| !taken.contains_key(candidate);
    let numbered = (2..).map(|n| format!("{name} ({n})"));
    std::iter::once(name.to_owned()).chain(numbered).find(free).unwrap_or_default()
}

fn ml(ul: i64) -> Decimal {
    Decimal::from_millionths(ul.saturating_mul(1000))
}

fn milli(n: i64) -> Decimal {
    Decimal::from_millionths(n.saturating_mul(1000))
}

fn limit(n: i64) -> Option<i64> {
    (n > 0).then_some(n)
}

impl Question<'_> {
    fn figures(&self) -> &Figures {
        &self.facts.figures
    }

    fn hours(&self, span: Span) -> Option<Hours> {
        let day = self.facts.zone.day(self.facts.date);
        if !span.meets(&day) {
            return None;
        }
        let text = |at, is_end| wall(self.facts.zone, self.facts.date, at, is_end);
        let (from, to) = (text(span.from, false), text(span.to, true));
        (from < to).then_some((from, to))
    }

    fn taken(&self, span: Span, count: i64) -> Option<TakenHours> {
        self.hours(span).map(|(from, to)| (from, to, count))
    }

    /// The planner's form of the day and what its names stand for.
    pub(super) fn form(&self) -> (DayForm, Names) {
        let mut names = Names::default();
        let figures = self.figures();
        let form = DayForm {
            format: 1,
            date: self.facts.date.to_string(),
            time_zone: self.facts.zone.name().to_owned(),
            open: self.open(),
            rules: self.rules(),
            steps: self.steps(),
            hands: HandsForm {
                before_pour_s: figures.before_pour_s,
                after_pour_s: figures.after_pour_s,
                before_end_s: figures.before_end_s,
                after_fix_s: figures.after_fix_s,
            },
            loading: self.loading(),
            people: self.people(),
            sinks: self.sinks(&mut names),
            hanging: self.hanging(),
            reels: self.reels(),
            formats: self.formats(),
            tanks: self.tanks(&mut names),
            developers: self.developers(),
            fixer: self.facts.fixer.as_ref().map(|fixer| {
                let promised: i64 =
                    self.standing.iter().filter(|s| !s.is_held).map(|s| s.fixer_milli).sum();
                let left = fixer.left_milli - promised;
                BathForm { volume_ml: ml(fixer.volume_ul), remaining: milli(left.max(0)) }
            }),
            rolls: self.rolls(),
        };
        (form, names)
    }

    fn open(&self) -> Vec<Hours> {
        let begin = self.only.map_or(self.facts.earliest(), |p| p.not_before.max(self.facts.now));
        let last = self.facts.open.len().saturating_sub(1);
        let longer = |(n, span): (usize, &Span)| Span {
            from: span.from.max(begin),
            to: if n == last { span.to.plus(self.wish.longer_s) } else { span.to },
        };
        let spans = self.facts.open.iter().enumerate().map(longer);
        spans.filter(|s| s.from < s.to).filter_map(|s| self.hours(s)).collect()
    }

    fn rules(&self) -> RulesForm {
        let figures = self.figures();
        let tools = Measuring::usual();
        let measure = |tool: &crate::chemistry::Tool| MeasureForm {
            up_to_ml: ml(i64::try_from(tool.up_to.microlitres()).unwrap_or(0)),
            step_ml: ml(i64::try_from(tool.step.microlitres()).unwrap_or(0)),
        };
        RulesForm {
            tolerance_percent: ToleranceForm {
                under: Decimal::whole(self.wish.under.unwrap_or(figures.under_percent)),
                over: Decimal::whole(self.wish.over.unwrap_or(figures.over_percent)),
            },
            time_step_s: figures.time_step_s,
            grid_s: Some(figures.grid_s),
            max_rolls_per_run: limit(figures.max_rolls),
            max_owners_per_run: limit(figures.max_owners),
            measuring: tools.tools().iter().map(measure).collect(),
        }
    }

    fn steps(&self) -> StepsForm {
        let figures = self.figures();
        StepsForm {
            stop_s: figures.stop_s,
            fix_s: self.facts.fix_s(),
            rinse_s: figures.rinse_s,
            wash_aid_s: figures.wash_aid_s,
            wash_s: figures.wash_s,
            wetting_s: figures.wetting_s,
            hang_s_per_roll: figures.hang_s,
            sink_gap_s: figures.sink_gap_s,
            tank_gap_s: figures.tank_gap_s,
            ready_after_s: figures.drying_s + figures.sleeving_s,
        }
    }

    fn loading(&self) -> LoadingForm {
        let per_roll = |kind: &str| (kind.to_owned(), self.figures().load_roll_s(kind));
        let wanted: BTreeSet<&str> = self.jobs.iter().map(|j| j.format.reel).collect();
        LoadingForm {
            places: self.figures().loading_places,
            per_tank_s: self.figures().load_tank_s,
            per_roll_s: wanted.into_iter().map(per_roll).collect(),
        }
    }

    /// Everybody who pours, without the times in which runs that stand need their hands.
    fn people(&self) -> Vec<PersonForm> {
        let mut ids = BTreeSet::new();
        let mut people = Vec::new();
        for person in &self.facts.people {
            let mut id = person.name.clone();
            while !ids.insert(id.clone()) {
                id.push('+');
            }
            let busy: Vec<Span> = self
                .standing
                .iter()
                .filter(|s| {
                    s.steps.person == id || s.steps.loader == id || s.steps.person.is_empty()
                })
                .flat_map(|s| {
                    let mut spans = hands(
                        (s.from, s.pre_soak_s, s.time_s, s.fix_s),
                        (&s.steps, s.to),
                        self.figures(),
                    );
                    spans.push(s.load);
                    spans
                })
                .collect();
            let there = person.hours.as_ref().unwrap_or(&self.facts.open);
            let there = there.iter().map(|s| Span { to: s.to.plus(self.wish.longer_s), ..*s });
            let free = there.flat_map(|span| without(span, &busy));
            people.push(PersonForm {
                id,
                hours: free.filter_map(|s| self.hours(s)).collect(),
                tanks_at_once: self.figures().tanks_at_once,
            });
        }
        people
    }

    fn sinks(&self, names: &mut Names) -> Vec<SinkForm> {
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

    fn tanks(&self, names: &mut Names) -> Vec<TankForm> {
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

    fn hanging(&self) -> Option<HangingForm> {
        let figures = self.figures();
        let wet = self.standing.iter().filter_map(|s| {
            self.taken(Span { from: s.to, to: s.to.plus(figures.drying_s) }, s.rolls)
        });
        (figures.hanging_places > 0).then(|| HangingForm {
            places: figures.hanging_places,
            drying_s: figures.drying_s,
            busy: wet.collect(),
        })
    }

    /// The reels the day's formats go on. A pool that serves several formats stands once for each;
    /// publishing, which holds single reels, has the last word.
    fn reels(&self) -> Vec<ReelForm> {
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

    fn formats(&self) -> Vec<FormatForm> {
        let mut seen = BTreeSet::new();
        let fresh = self.jobs.iter().filter(|j| seen.insert(j.format.name));
        fresh
            .map(|j| FormatForm {
                id: j.format.name.to_owned(),
                reel: j.format.reel.to_owned(),
                roll_equivalents: milli(j.format.milli),
            })
            .collect()
    }

    fn developers(&self) -> Vec<DeveloperForm> {
        let mut seen = BTreeSet::new();
        let fresh = self.jobs.iter().map(|j| &j.recipe.developer).filter(|d| seen.insert(d.id));
        fresh
            .map(|d| DeveloperForm {
                id: d.name.clone(),
                water_parts: Decimal::whole(d.water_parts),
                min_per_roll_ml: ml(d.least_ul_per_roll),
                cost_per_ml: None,
                bath: None,
            })
            .collect()
    }

    fn rolls(&self) -> Vec<RollForm> {
        let day = self.facts.zone.day(self.facts.date);
        let form = |job: &&Job| {
            let ready = job.roll.ready.filter(|at| *at > day.from && *at < day.to);
            let due = job.roll.due.filter(|at| *at >= day.from && *at < day.to);
            RollForm {
                id: job.roll.ticket.clone(),
                owner: format!("{} ({})", job.roll.member_name, job.roll.member_id),
                format: job.format.name.to_owned(),
                reels: 1,
                roll_equivalents: Some(milli(job.format.milli)),
                developer: job.recipe.developer.name.clone(),
                temperature_c: milli(job.temperature_mc),
                agitation: job.recipe.agitation.clone(),
                pre_soak_s: job.recipe.pre_soak_s,
                time_s: job.time_s,
                tolerance_percent: own_tolerance(&job.roll),
                alone: self.wish.alone.contains(&job.roll.id)
                    || !job.roll.shares
                    || job.roll.check.care == Care::Alone,
                fixer_factor: Decimal::from_millionths(if job.roll.tabular {
                    self.figures().tabular_percent * 10_000
                } else {
                    1_000_000
                }),
                weight: self.facts.weight(&job.roll),
                ready: ready.map(|at| wall(self.facts.zone, self.facts.date, at, false)),
                due: due.map(|at| wall(self.facts.zone, self.facts.date, at, false)),
            }
        };
        self.jobs.iter().map(form).collect()
    }
}

/// A tank's name without the word itself, because the planner's sentences say it.
pub(super) fn bare(name: &str) -> &str {
    let rest = name.strip_prefix("Tank ").or_else(|| name.strip_prefix("tank "));
    rest.map(str::trim).filter(|r| !r.is_empty()).unwrap_or(name)
}

/// What a roll's owner says of its time: exact where it cannot be replaced.
fn own_tolerance(roll: &Roll) -> Option<ToleranceForm> {
    let percent = match roll.check.care {
        Care::Exact => Some(0),
        _ => roll.tolerance_percent,
    };
    percent.map(|n| ToleranceForm {
        under: Decimal::whole(n.clamp(0, 99)),
        over: Decimal::whole(n.clamp(0, 99)),
    })
}
