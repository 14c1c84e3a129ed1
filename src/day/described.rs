//! A run as programs see it: what stands on the mix sheet, as data.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::process::{self, About, StepKind};
use super::rules::PartPoured;
use super::sheet::{self, Bench};
use super::store::Run;
use crate::clock::Zone;
use crate::web::thousandths;

/// One run as programs see it.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedRun {
    id: i64,
    number: i64,
    tank_id: i64,
    tank: String,
    sink_id: i64,
    sink: String,
    person: String,
    loader: String,
    load_start: String,
    load_end: String,
    start: String,
    end: String,
    /// Tickets, from the bottom reel up.
    rolls: Vec<String>,
    /// The same with what stands on the loading card.
    reels: Vec<DescribedReel>,
    developer: String,
    temperature_c: f64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    developer_ml: f64,
    /// All parts together, where it is mixed from several.
    concentrate_ml: f64,
    /// Each part, where the developer is mixed from several; empty otherwise.
    parts: Vec<DescribedPour>,
    water_ml: f64,
    /// With what the concentrate, or its first part, is measured.
    measure: String,
    stop_s: i64,
    fix_s: i64,
    rinse_s: i64,
    wash_aid_s: i64,
    wash_s: i64,
    wetting_s: i64,
    fixer_id: Option<i64>,
    /// What the fixer's label says.
    fixer_label: String,
    /// The second of two fixing baths and the part of `fix_s` spent in it.
    second_fixer_id: Option<i64>,
    second_fix_s: i64,
    /// The shared bath its developer comes from; nothing is then mixed for it.
    developer_bath_id: Option<i64>,
    /// Hot and cold tap water that make `water_ml` at `temperature_c`, where the figures allow it.
    hot_ml: Option<f64>,
    cold_ml: Option<f64>,
    /// What every other bath of the tank needs.
    fill_ml: Option<f64>,
    wetting_agent_ml: Option<f64>,
    wetting_water_ml: Option<f64>,
    /// Seconds from the beginning of pouring at which the hand moves the tank, and what it does.
    cues: Vec<DescribedCue>,
    /// How the time was found where it is not the recipe's own.
    working: Vec<String>,
    /// What it takes of the fixer, in rolls' worth.
    fixer: f64,
    why: Vec<String>,
    pinned: bool,
    ended: bool,
}

/// One of several parts of a developer, as it is measured.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedPour {
    name: String,
    ml: f64,
}

impl DescribedPour {
    pub(super) fn of(part: PartPoured) -> DescribedPour {
        DescribedPour { name: part.name, ml: thousandths(part.ul) }
    }
}

/// A film on its reel.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedReel {
    /// From the bottom, from 1.
    place: i64,
    ticket: String,
    owner: String,
    film: String,
    format: String,
    /// The peg tag that follows it.
    peg: String,
}

/// One movement of the hand.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub(crate) struct DescribedCue {
    at_s: i64,
    does: String,
}

fn reels(run: &Run) -> Vec<DescribedReel> {
    let reel = |(r, place): (&super::RunRoll, i64)| DescribedReel {
        place,
        ticket: r.ticket.clone(),
        owner: r.owner.clone(),
        film: r.film.clone(),
        format: r.format.clone(),
        peg: sheet::peg(run, place),
    };
    run.rolls.iter().zip(1..).map(reel).collect()
}

fn cues(run: &Run) -> Vec<DescribedCue> {
    let steps = process::steps(run, &About::default(), run.time_s);
    let develop = steps.into_iter().find(|s| s.kind == StepKind::Develop);
    let cues = develop.map(|s| s.cues).unwrap_or_default();
    cues.into_iter().map(|c| DescribedCue { at_s: c.at, does: c.text }).collect()
}

pub(super) fn described(zone: Zone, run: Run, bench: &Bench) -> DescribedRun {
    let ml = |ul: i64| thousandths(ul);
    let taps = bench.hot_and_cold(&run).filter(|_| run.developer_bath.is_none());
    let wetting = bench.wetting(&run);
    DescribedRun {
        reels: reels(&run),
        fixer_label: run.fixer_id.and_then(|id| bench.label(id)).unwrap_or_default(),
        second_fixer_id: run.steps.second_fixer,
        second_fix_s: run.steps.second_fix_s,
        developer_bath_id: run.developer_bath,
        hot_ml: taps.map(|t| ml(t.0)),
        cold_ml: taps.map(|t| ml(t.1)),
        fill_ml: bench.fill_ul(&run).map(ml),
        wetting_agent_ml: wetting.map(|w| ml(w.0)),
        wetting_water_ml: wetting.map(|w| ml(w.1)),
        cues: cues(&run),
        id: run.id,
        number: run.number,
        tank_id: run.tank_id,
        sink_id: run.sink_id,
        working: run.steps.working,
        person: run.steps.person,
        loader: run.steps.loader,
        load_start: zone.rfc3339(run.load.from),
        load_end: zone.rfc3339(run.load.to),
        start: zone.rfc3339(run.from),
        end: zone.rfc3339(run.to),
        rolls: run.rolls.into_iter().map(|r| r.ticket).collect(),
        temperature_c: thousandths(run.temperature_mc),
        agitation: run.agitation,
        pre_soak_s: run.pre_soak_s,
        time_s: run.time_s,
        developer_ml: thousandths(run.concentrate_ul + run.water_ul),
        concentrate_ml: thousandths(run.concentrate_ul),
        parts: run.parts.into_iter().map(DescribedPour::of).collect(),
        water_ml: thousandths(run.water_ul),
        measure: run.measure,
        stop_s: run.steps.stop_s,
        fix_s: run.fix_s,
        rinse_s: run.steps.rinse_s,
        wash_aid_s: run.steps.wash_aid_s,
        wash_s: run.steps.wash_s,
        wetting_s: run.steps.wetting_s,
        fixer_id: run.fixer_id,
        fixer: thousandths(run.fixer_milli),
        why: run.why,
        pinned: run.pinned,
        ended: run.ended.is_some(),
        sink: run.sink,
        tank: run.tank,
        developer: run.developer,
    }
}
