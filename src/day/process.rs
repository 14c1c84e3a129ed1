//! One run at the sink: its steps, the cues of the hand, and where it stands by the clock.

use std::collections::BTreeMap;

use serde::Serialize;

use super::correction::{Measured, measured};
use super::store::{Event, EventKind, Run};
use crate::chemistry::{Action, AgitationScheme, timetable};
use crate::clock::Moment;
use crate::recipes::{Recipe, agitation_scheme};
use crate::units::Seconds;

/// What a step is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum StepKind {
    PreSoak,
    Develop,
    Stop,
    Fix,
    SecondFix,
    Rinse,
    WashAid,
    Wash,
    Wet,
    Hang,
}

/// One moment of a step at which the hand does something.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Cue {
    /// Seconds from the beginning of the step.
    pub(super) at: i64,
    /// What to do.
    pub(super) text: String,
}

/// One step of a run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Step {
    /// Its number, from 0.
    pub(super) n: i64,
    pub(super) kind: StepKind,
    pub(super) name: &'static str,
    /// How long it lasts.
    pub(super) seconds: i64,
    /// What to do, in a sentence.
    pub(super) does: String,
    pub(super) cues: Vec<Cue>,
}

/// Where a run stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Live {
    pub(super) steps: Vec<Step>,
    /// When each step began.
    pub(super) begun: BTreeMap<i64, Moment>,
    /// Seconds for which each step was paused, pauses that are over.
    pub(super) paused: BTreeMap<i64, i64>,
    /// Since when the present step is paused.
    pub(super) paused_since: Option<Moment>,
    pub(super) measured: Option<Measured>,
    pub(super) loaded: Option<Moment>,
    pub(super) ended: Option<Moment>,
    pub(super) aborted: Option<Moment>,
}

impl Live {
    /// The step that is under way.
    pub(super) fn current(&self) -> Option<&Step> {
        let (n, _) = self.begun.last_key_value()?;
        self.steps.iter().find(|s| s.n == *n)
    }

    /// The step that comes next.
    pub(super) fn next(&self) -> Option<&Step> {
        let after = self.begun.last_key_value().map_or(0, |(n, _)| n + 1);
        self.steps.iter().find(|s| s.n == after)
    }

    /// Whether a step of this kind has begun.
    pub(super) fn has_begun(&self, kind: StepKind) -> bool {
        self.steps.iter().any(|s| s.kind == kind && self.begun.contains_key(&s.n))
    }

    /// When each step begins: as it was, or as the clock will have it from where the run stands.
    pub(super) fn clock(&self, planned: Moment) -> Vec<Moment> {
        let mut at = planned;
        let mut all = Vec::new();
        for step in &self.steps {
            at = self.begun.get(&step.n).copied().unwrap_or(at);
            all.push(at);
            at = at.plus(step.seconds + self.paused.get(&step.n).copied().unwrap_or(0));
        }
        all
    }

    /// How far each finished step was from its time, in seconds; over is above nought.
    pub(super) fn overs(&self) -> Vec<(&Step, i64)> {
        let ends = self.begun.values().skip(1).copied().chain(self.ended);
        let over = |((n, begun), end): ((&i64, &Moment), Moment)| {
            let step = self.steps.iter().find(|s| s.n == *n)?;
            Some((step, end.since(*begun) - step.seconds))
        };
        self.begun.iter().zip(ends).filter_map(over).collect()
    }

    /// What really happened, in words for the record: `Developer 20 s over, paused 40 s`.
    pub(super) fn record(&self) -> String {
        let mut parts = Vec::new();
        for (step, over) in self.overs() {
            // Nobody pours to the second; five seconds are no news (common practice, no source).
            if over.abs() >= 5 && !matches!(step.kind, StepKind::Hang) {
                let word = if over > 0 { "over" } else { "short" };
                parts.push(format!("{} {} s {word}", step.name, over.abs()));
            }
        }
        for (n, s) in &self.paused {
            if let Some(step) = self.steps.iter().find(|s| s.n == *n) {
                parts.push(format!("{} paused for {s} s", step.name));
            }
        }
        parts.join(", ")
    }
}

fn in_words(action: Action) -> String {
    match action {
        Action::PourIn(s) => {
            format!("Pour in, within {} s; then tap the tank to free the bubbles", s.get())
        }
        Action::Move(s) => format!("Move the tank for {} s", s.get()),
        Action::Invert(n) => format!("Turn the tank over {n} times"),
        Action::PourOut => "Pour out now".to_owned(),
    }
}

fn cues(scheme: Option<AgitationScheme>, seconds: i64) -> Vec<Cue> {
    let time = u32::try_from(seconds).ok().and_then(|s| Seconds::new(s).ok());
    let Some(time) = time else { return Vec::new() };
    // A bath that is not moved by a rule is still poured in and poured out ten seconds early.
    let still = AgitationScheme::stand(Seconds::ZERO).ok();
    let Some(scheme) = scheme.or(still) else { return Vec::new() };
    let table = timetable(scheme, time);
    let cue =
        |c: &crate::chemistry::Cue| Cue { at: i64::from(c.at.get()), text: in_words(c.action) };
    table.cues.iter().map(cue).collect()
}

/// What a run's steps need to know beside the run.
#[derive(Clone, Debug, Default)]
pub(super) struct About {
    /// The developer's factor per 10 degrees C in thousandths.
    pub(super) factor_milli: Option<i64>,
    /// The recipes of its rolls, as they were when it was planned.
    pub(super) recipes: Vec<Recipe>,
    /// The label of its fixer.
    pub(super) fixer: String,
    /// The label of the second of two fixing baths.
    pub(super) second_fixer: String,
    /// The label of the shared bath its developer comes from.
    pub(super) developer_bath: String,
}

/// The steps of a run with this developing time.
pub(super) fn steps(run: &Run, about: &About, time_s: i64) -> Vec<Step> {
    let fixer = if about.fixer.is_empty() { "the fixer" } else { &about.fixer };
    let s = &run.steps;
    let developer = if about.developer_bath.is_empty() {
        format!("{}, moved {}.", run.developer, run.agitation)
    } else {
        format!(
            "From {}, moved {}; pour it back into its bottle.",
            about.developer_bath, run.agitation
        )
    };
    let fixing = Some(Some(AgitationScheme::fixing()));
    let all = [
        (StepKind::PreSoak, "Pre-soak", run.pre_soak_s, "Water at the developer's temperature; pour it out before the developer goes in.".to_owned(), None),
        (StepKind::Develop, "Developer", time_s, developer, Some(agitation_scheme(&run.agitation))),
        (StepKind::Stop, "Stop bath", s.stop_s, "Keep the tank moving gently.".to_owned(), Some(None)),
        (StepKind::Fix, "Fixer", run.fix_s - s.second_fix_s, format!("From {fixer}; pour it back into its bottle."), fixing),
        (StepKind::SecondFix, "Second fixer", s.second_fix_s, format!("From {}; pour it back into its own bottle.", about.second_fixer), fixing),
        (StepKind::Rinse, "Rinse", s.rinse_s, "Running water; collect the first filling with the fixer waste.".to_owned(), None),
        (StepKind::WashAid, "Wash aid", s.wash_aid_s, "Move the tank now and then.".to_owned(), None),
        (StepKind::Wash, "Wash", s.wash_s, "A full change of water at least every three minutes. A film added starts everyone's time again.".to_owned(), None),
        (StepKind::Wet, "Wetting agent", s.wetting_s, "Take the film off its reel first: wetting agent fouls reels.".to_owned(), None),
        (StepKind::Hang, "Hang up", s.hang_s, "Hang each film with its peg tag.".to_owned(), None),
    ];
    all.into_iter()
        .filter(|step| step.2 > 0)
        .zip(0..)
        .map(|((kind, name, seconds, does, moved), n)| Step {
            n,
            kind,
            name,
            seconds,
            does,
            cues: moved.map(|scheme| cues(scheme, seconds)).unwrap_or_default(),
        })
        .collect()
}

/// Where a run stands after these events.
pub(super) fn live(run: &Run, about: &About, events: &[Event]) -> Live {
    let last = events.iter().rfind(|e| e.kind == EventKind::Measured).and_then(|e| e.value);
    let measured = last.map(|mc| measured(run, about, mc));
    let time_s = measured.as_ref().map_or(run.time_s, |m| m.time_s);
    let mut live = Live {
        steps: steps(run, about, time_s),
        begun: BTreeMap::new(),
        paused: BTreeMap::new(),
        paused_since: None,
        measured,
        loaded: None,
        ended: run.ended,
        aborted: None,
    };
    for event in events {
        follow(&mut live, event);
    }
    live
}

fn follow(live: &mut Live, event: &Event) {
    match event.kind {
        EventKind::Loaded => live.loaded = Some(event.at),
        EventKind::Step => {
            if let Some(n) = event.step {
                go_on(live, event.at);
                live.begun.entry(n).or_insert(event.at);
            }
        }
        EventKind::Paused if live.paused_since.is_none() => live.paused_since = Some(event.at),
        EventKind::WentOn => go_on(live, event.at),
        EventKind::Ended => live.ended = live.ended.or(Some(event.at)),
        EventKind::Aborted => live.aborted = Some(event.at),
        EventKind::Paused | EventKind::Measured | EventKind::Bottle => {}
    }
}

/// Ends a pause and counts it to the step under way.
fn go_on(live: &mut Live, at: Moment) {
    let Some(since) = live.paused_since.take() else { return };
    if let Some((n, _)) = live.begun.last_key_value() {
        *live.paused.entry(*n).or_insert(0) += at.since(since).max(0);
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::clock::Span;
    use crate::day::rules::Steps;

    pub(in crate::day) fn run() -> Run {
        Run {
            id: 1,
            number: 1,
            date: "2027-03-15".parse().unwrap(),
            published: true,
            sink_id: 1,
            sink: "North sink".to_owned(),
            tank_id: 1,
            tank: "Tank A".to_owned(),
            developer_id: 1,
            developer: "Saltmarsh concentrate, 1+31".to_owned(),
            fixer_id: None,
            load: Span { from: Moment(0), to: Moment(300) },
            from: Moment(300),
            to: Moment(1800),
            temperature_mc: 20_000,
            agitation: "30 s, then 5 s each minute".to_owned(),
            pre_soak_s: 60,
            time_s: 480,
            fix_s: 300,
            concentrate_ul: 9500,
            water_ul: 294_500,
            parts: Vec::new(),
            measure: String::new(),
            fixer_milli: 1000,
            developer_bath: None,
            shelf_ul: 9500,
            steps: Steps::default(),
            pinned: false,
            why: Vec::new(),
            ended: None,
            withdrawn: None,
            rolls: Vec::new(),
        }
    }

    fn event(kind: EventKind, step: Option<i64>, at: i64) -> Event {
        Event { kind, step, at: Moment(at), value: None, note: String::new() }
    }

    #[test]
    fn the_hand_moves_by_the_recipe_and_pours_out_ten_seconds_early() {
        // 30 s at first, then 5 s a minute; poured out from 10 s before the end (NAVEDTRA 14209,
        // web pp. 258 and 266).
        let steps = steps(&run(), &About::default(), 480);
        let develop = steps.iter().find(|s| s.kind == StepKind::Develop).unwrap();
        let at: Vec<i64> = develop.cues.iter().map(|c| c.at).collect();
        assert_eq!(at, [0, 0, 60, 120, 180, 240, 300, 360, 420, 470]);
        assert_eq!(develop.cues.last().unwrap().text, "Pour out now");
    }

    #[test]
    fn a_step_begins_once_and_a_pause_moves_only_what_follows() {
        let told = [
            event(EventKind::Step, Some(0), 300),
            event(EventKind::Step, Some(1), 365),
            event(EventKind::Step, Some(1), 400),
            event(EventKind::Paused, None, 500),
            event(EventKind::WentOn, None, 540),
        ];
        let live = live(&run(), &About::default(), &told);
        assert_eq!(live.begun[&1], Moment(365));
        assert_eq!(live.clock(Moment(300))[2], Moment(885));
        assert_eq!(live.next().unwrap().kind, StepKind::Stop);
        assert_eq!(live.record(), "Pre-soak 5 s over, Developer paused for 40 s");
    }
}
