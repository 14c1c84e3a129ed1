//! The mix sheet in words: every run with its volumes, the day's sums, what it does to the shared
//! baths, its cautions and what goes where afterwards.

mod after;
mod bench;
mod forecast;

use std::collections::BTreeMap;

use serde::Serialize;

use super::Run;
use super::process;
use super::rules::PartPoured;
use crate::web::Words;

pub(super) use after::{CautionLine, Pour, cautions, pours};
pub(super) use bench::{Bench, disposal, shortfalls};
pub(super) use forecast::{AfterRun, BathLine, baths_now, by_run, forecast};

/// One run on the sheet.
#[derive(Debug, Serialize)]
pub(super) struct SheetRun {
    pub(super) id: i64,
    pub(super) number: i64,
    load: String,
    from: String,
    to: String,
    sink: String,
    tank: String,
    developer: String,
    hazards: String,
    /// The shared bath its developer comes from, and the replenisher it gets afterwards.
    bath: Option<String>,
    replenish: Option<Volume>,
    total: Volume,
    concentrate: Volume,
    /// Each part of a developer that is mixed from several, in place of one concentrate.
    parts: Vec<SheetPart>,
    water: Volume,
    /// Hot and cold water from the tap that make the water, where the figures allow it.
    hot: Option<Volume>,
    cold: Option<Volume>,
    taps: String,
    /// What every other bath of this tank needs.
    fill: Option<Volume>,
    wetting_agent: Option<Volume>,
    wetting_water: Option<Volume>,
    temperature: String,
    fahrenheit: Option<String>,
    time: String,
    /// What it would be at 20 °C, where the day is warmer or cooler.
    at_twenty: Option<String>,
    agitation: String,
    cues: String,
    pre_soak: Option<String>,
    stop: String,
    fixer: String,
    fix: String,
    /// The second of two fixing baths, and how long in it.
    second_fixer: Option<String>,
    second_fix: String,
    /// Height above the loaded reels that empty reels or a clip must fill, in millimetres.
    spacer_mm: Option<String>,
    wash: String,
    wetting: String,
    why: Vec<String>,
    measure: String,
    person: String,
    working: Vec<String>,
    warnings: Vec<String>,
    ended: bool,
    rolls: Vec<SheetRoll>,
}

/// A part of a developer and with what it is measured.
#[derive(Debug, Serialize)]
struct SheetPart {
    name: String,
    volume: Volume,
    measure: String,
}

/// A volume in ml, and in US fluid ounces where they were asked for.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Volume {
    ml: String,
    oz: Option<String>,
}

#[derive(Debug, Serialize)]
struct SheetRoll {
    ticket: String,
    owner: String,
    film: String,
    format: String,
    reel: String,
    peg: String,
}

/// What the day draws of one developer.
#[derive(Debug, Serialize)]
pub(super) struct Sum {
    developer: String,
    concentrate: Volume,
    parts: Vec<SheetPart>,
    total: Volume,
}

/// Millilitres without a needless figure: `9.5`, `14.697`, `304`. A zero after the point reads as
/// ten times as much where the point is faint (ISMP's list of error-prone dose designations, from
/// memory).
pub(super) fn ml(ul: i64) -> String {
    let text = format!("{}.{:03}", ul / 1000, ul.rem_euclid(1000));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// US fluid ounces to a hundredth: one is 29,573.5295625 microlitres.
fn ounces(ul: i64) -> String {
    const OUNCE: i128 = 295_735_295_625;
    let hundredths = (i128::from(ul) * 1_000_000_000 + OUNCE / 2) / OUNCE;
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}

/// A volume as this reader wants it.
pub(super) fn volume(ul: i64, words: &Words) -> Volume {
    Volume { ml: ml(ul), oz: words.us_units.then(|| ounces(ul)) }
}

/// `20.0` from thousandths of a degree.
pub(super) fn degrees(mc: i64) -> String {
    let tenths = (mc + 50).div_euclid(100);
    format!("{}.{}", tenths / 10, (tenths % 10).abs())
}

/// `8:15` minutes from seconds.
pub(super) fn minutes(s: i64) -> String {
    format!("{}:{:02}", s / 60, s % 60)
}

/// The runs in words, in the order of their start.
pub(super) fn runs(runs: &[Run], bench: &Bench, words: &Words) -> Vec<SheetRun> {
    runs.iter().map(|run| one(run, bench, words)).collect()
}

/// The moments at which the hand moves the tank in the developer, from the beginning of pouring.
fn cues(run: &Run) -> String {
    let steps = process::steps(run, &process::About::default(), run.time_s);
    let develop = steps.into_iter().find(|s| s.kind == process::StepKind::Develop);
    let Some(develop) = develop else { return String::new() };
    let moves =
        develop.cues.iter().filter(|c| c.text.starts_with("Move") || c.text.starts_with("Turn"));
    let at: Vec<String> = moves.map(|c| minutes(c.at)).collect();
    let out = develop.cues.last().map(|c| minutes(c.at)).unwrap_or_default();
    if at.is_empty() {
        format!("pour out at {out}")
    } else {
        format!("{}; pour out at {out}", at.join(" · "))
    }
}

fn one(run: &Run, bench: &Bench, words: &Words) -> SheetRun {
    let say = |ul: i64| volume(ul, words);
    let fixer = run.fixer_id.and_then(|id| bench.label(id)).unwrap_or_default();
    let taps = bench.hot_and_cold(run).filter(|_| run.developer_bath.is_none());
    let wetting = bench.wetting(run);
    SheetRun {
        id: run.id,
        number: run.number,
        load: words.time(run.load.from),
        from: words.time(run.from),
        to: words.time(run.to),
        sink: run.sink.clone(),
        tank: tank_name(run),
        developer: run.developer.clone(),
        hazards: bench.hazards(run),
        bath: run.developer_bath.and_then(|id| bench.label(id)),
        replenish: Some(run.steps.replenish_ul).filter(|ul| *ul > 0).map(say),
        total: say(run.concentrate_ul + run.water_ul),
        concentrate: say(run.concentrate_ul),
        parts: parts(run, words),
        water: say(run.water_ul),
        hot: taps.map(|t| say(t.0)),
        cold: taps.map(|t| say(t.1)),
        taps: bench.taps(),
        fill: bench.fill_ul(run).map(say),
        wetting_agent: wetting.map(|w| say(w.0)),
        wetting_water: wetting.map(|w| say(w.1)),
        temperature: degrees(run.temperature_mc),
        fahrenheit: words.us_units.then(|| degrees(run.temperature_mc * 9 / 5 + 32_000)),
        time: minutes(run.time_s),
        at_twenty: run.steps.at_twenty_s.map(minutes),
        agitation: run.agitation.clone(),
        cues: cues(run),
        pre_soak: (run.pre_soak_s > 0).then(|| minutes(run.pre_soak_s)),
        stop: minutes(run.steps.stop_s),
        fixer,
        fix: minutes(run.fix_s - run.steps.second_fix_s),
        second_fixer: run.steps.second_fixer.and_then(|id| bench.label(id)),
        second_fix: minutes(run.steps.second_fix_s),
        spacer_mm: bench.room_above(run).map(|mm| mm.to_string()),
        wash: format!(
            "rinse {}, wash aid {}, wash {}",
            minutes(run.steps.rinse_s),
            minutes(run.steps.wash_aid_s),
            minutes(run.steps.wash_s)
        ),
        wetting: minutes(run.steps.wetting_s),
        why: run.why.clone(),
        measure: run.measure.clone(),
        person: run.steps.person.clone(),
        working: run.steps.working.clone(),
        warnings: alike(run),
        ended: run.ended.is_some(),
        rolls: rolls(run),
    }
}

/// The parts of a run's developer, each with what it is measured with.
fn parts(run: &Run, words: &Words) -> Vec<SheetPart> {
    let part = |p: &PartPoured| SheetPart {
        name: p.name.clone(),
        volume: volume(p.ul, words),
        measure: super::answer::measured_with(p.ul),
    };
    run.parts.iter().map(part).collect()
}

/// A tank as people at the sink call it.
pub(super) fn tank_name(run: &Run) -> String {
    if run.steps.own_tank {
        format!("own tank, filled like {}", run.tank)
    } else {
        run.tank.clone()
    }
}

/// The peg tag that follows a film from its reel to the hook and the sleeve: day, run and place.
pub(super) fn peg(run: &Run, place: i64) -> String {
    use chrono::Datelike;
    format!("{}-{}.{place}", run.date.day(), run.number)
}

fn rolls(run: &Run) -> Vec<SheetRoll> {
    let roll = |(r, place): (&super::RunRoll, i64)| SheetRoll {
        ticket: crate::web::spoken(&r.ticket),
        owner: r.owner.clone(),
        film: r.film.clone(),
        format: r.format.clone(),
        reel: place.to_string(),
        peg: peg(run, place),
    };
    run.rolls.iter().zip(1..).map(roll).collect()
}

/// Once film is on a reel its ticket is off it: two rolls of one stock look alike until dry.
fn alike(run: &Run) -> Vec<String> {
    let mut by_film: BTreeMap<(&str, &str), Vec<i64>> = BTreeMap::new();
    for roll in &run.rolls {
        by_film.entry((&roll.film, &roll.format)).or_default().push(roll.owner_id);
    }
    let mixed = |((film, format), mut owners): ((&str, &str), Vec<i64>)| {
        owners.sort_unstable();
        owners.dedup();
        (owners.len() > 1).then(|| {
            format!(
                "{} owners have {film} {format} in this tank: the films look alike until they are \
                 dry. Keep the reel order, and put the peg tag on each as it leaves its reel.",
                owners.len()
            )
        })
    };
    by_film.into_iter().filter_map(mixed).collect()
}

/// What a day mixes of one developer, in microlitres.
#[derive(Clone, Debug, Default)]
pub(super) struct Drawn {
    pub(super) developer: String,
    pub(super) concentrate_ul: i64,
    /// The same by part, where it is mixed from several.
    pub(super) parts: Vec<PartPoured>,
    pub(super) total_ul: i64,
}

impl Drawn {
    fn add(&mut self, run: &Run) {
        self.concentrate_ul += run.concentrate_ul;
        self.total_ul += run.concentrate_ul + run.water_ul;
        for part in &run.parts {
            match self.parts.iter_mut().find(|p| p.name == part.name) {
                Some(sum) => sum.ul += part.ul,
                None => self.parts.push(part.clone()),
            }
        }
    }

    /// What is measured for it, in words: `9.5 ml of concentrate`, or each part by its name.
    pub(super) fn measured(&self) -> String {
        measured(&self.parts, self.concentrate_ul)
    }
}

/// `9.5 ml of concentrate`, or `5 ml of A and 5 ml of B`.
pub(super) fn measured(parts: &[PartPoured], concentrate_ul: i64) -> String {
    if parts.is_empty() {
        return format!("{} ml of concentrate", ml(concentrate_ul));
    }
    let each: Vec<String> =
        parts.iter().map(|p| format!("{} ml of {}", ml(p.ul), p.name)).collect();
    each.join(" and ")
}

/// What the day mixes by developer, shared baths left out.
pub(super) fn drawn(runs: &[Run]) -> Vec<Drawn> {
    let mut by_name: BTreeMap<&str, Drawn> = BTreeMap::new();
    for run in runs.iter().filter(|r| r.developer_bath.is_none()) {
        by_name.entry(&run.developer).or_default().add(run);
    }
    by_name.into_iter().map(|(name, d)| Drawn { developer: name.to_owned(), ..d }).collect()
}

/// The day's sums by developer.
pub(super) fn sums(runs: &[Run], words: &Words) -> Vec<Sum> {
    let part = |p: PartPoured| SheetPart {
        volume: volume(p.ul, words),
        name: p.name,
        measure: String::new(),
    };
    drawn(runs)
        .into_iter()
        .map(|d| Sum {
            concentrate: volume(d.concentrate_ul, words),
            parts: d.parts.into_iter().map(part).collect(),
            total: volume(d.total_ul, words),
            developer: d.developer,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{ml, ounces};

    #[test]
    fn volumes_are_printed_to_a_tenth_or_exactly() {
        assert_eq!(ml(9500), "9.5");
        assert_eq!(ml(304_000), "304");
        assert_eq!(ml(14_697), "14.697");
        assert_eq!(ml(0), "0");
    }

    #[test]
    fn fluid_ounces_are_those_of_the_united_states() {
        // 1 US fl oz = 29.5735295625 ml.
        assert_eq!(ounces(29_574), "1.00");
        assert_eq!(ounces(304_000), "10.28");
        assert_eq!(ounces(0), "0.00");
    }
}
