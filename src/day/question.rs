//! The day as the planner is asked about it: the room's facts in the planner's own form.

use std::collections::{BTreeMap, BTreeSet};

use super::facts::Facts;
use super::figures::Figures;
use super::liquids::SharedDeveloper;
use super::rules::{Job, Wish, hands};
use super::standing::{Standing, wall, without};
use crate::chemistry::Measuring;
use crate::clock::{Moment, Span};
use crate::planner::{
    BathForm, DayForm, Decimal, DeveloperForm, FormatForm, HandsForm, Hours, LoadingForm,
    MeasureForm, PersonForm, RollForm, RulesForm, StepsForm, TakenHours, ToleranceForm,
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
    pub(super) fn figures(&self) -> &Figures {
        &self.facts.figures
    }

    pub(super) fn hours(&self, span: Span) -> Option<Hours> {
        let day = self.facts.zone.day(self.facts.date);
        if !span.meets(&day) {
            return None;
        }
        let text = |at, is_end| wall(self.facts.zone, self.facts.date, at, is_end);
        let (from, to) = (text(span.from, false), text(span.to, true));
        (from < to).then_some((from, to))
    }

    pub(super) fn taken(&self, span: Span, count: i64) -> Option<TakenHours> {
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
        let figure = self.figures().loading_places;
        // Where the studio has named its places, the holds know those of published runs already.
        let (named, taken) = match &self.facts.loading {
            Some(loading) => (loading.places, loading.taken.as_slice()),
            None => (figure, Default::default()),
        };
        let places = figure.min(named);
        let spare = named - places;
        let busy = taken.iter().filter(|(_, count)| *count > spare);
        let busy = busy.filter_map(|(span, count)| self.taken(*span, count - spare));
        let own = self.standing.iter().filter(|s| !s.is_held);
        let own = own.filter_map(|s| self.taken(s.load, 1));
        LoadingForm {
            places,
            per_tank_s: self.figures().load_tank_s,
            per_roll_s: wanted.into_iter().map(per_roll).collect(),
            busy: busy.chain(own).collect(),
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
                water_parts: milli(d.rest_milli()),
                min_per_roll_ml: ml(d.least_ul_per_roll),
                cost_per_ml: None,
                bath: self.facts.developers.get(&d.id).map(|bath| BathForm {
                    volume_ml: ml(bath.volume_ul.max(0)),
                    remaining: milli((bath.left_milli - self.ahead(bath)).max(0)),
                }),
            })
            .collect()
    }

    /// What runs that stand only in this question put through a shared developer.
    fn ahead(&self, bath: &SharedDeveloper) -> i64 {
        let own = self.standing.iter().filter_map(|s| s.developer);
        own.filter(|(id, _)| *id == bath.bath_id).map(|(_, milli)| milli).sum()
    }

    /// A roll's time in its developer, which takes longer with use, and the line that says so.
    pub(super) fn time_of(&self, job: &Job) -> (i64, Option<String>) {
        match self.facts.developers.get(&job.recipe.developer.id) {
            Some(bath) => bath.grown(job.time_s, self.ahead(bath)),
            None => (job.time_s, None),
        }
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
                time_s: self.time_of(job).0,
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
