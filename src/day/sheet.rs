//! The mix sheet in words: every run with its volumes, and the day's sums.

use std::collections::BTreeMap;

use serde::Serialize;

use super::Run;
use crate::web::Words;

/// One run on the sheet.
#[derive(Debug, Serialize)]
pub(super) struct SheetRun {
    pub(super) id: i64,
    number: i64,
    load: String,
    from: String,
    to: String,
    sink: String,
    tank: String,
    developer: String,
    hazards: String,
    total_ml: String,
    concentrate_ml: String,
    water_ml: String,
    temperature: String,
    time: String,
    agitation: String,
    pre_soak: Option<String>,
    stop: String,
    fixer: String,
    fix: String,
    wash: String,
    wetting: String,
    why: Vec<String>,
    measure: String,
    person: String,
    working: Vec<String>,
    ended: bool,
    rolls: Vec<SheetRoll>,
}

#[derive(Debug, Serialize)]
struct SheetRoll {
    ticket: String,
    owner: String,
    film: String,
    format: String,
}

/// What the day draws of one developer.
#[derive(Debug, Serialize)]
pub(super) struct Sum {
    developer: String,
    concentrate_ml: String,
    total_ml: String,
}

/// Millilitres to a tenth, or exactly where there is more: `9.5`, `14.697`.
pub(super) fn ml(ul: i64) -> String {
    let text = format!("{}.{:03}", ul / 1000, ul.rem_euclid(1000));
    let text = text.trim_end_matches('0');
    if text.ends_with('.') { format!("{text}0") } else { text.to_owned() }
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
pub(super) fn runs(runs: &[Run], labels: &BTreeMap<i64, String>, words: &Words) -> Vec<SheetRun> {
    runs.iter().map(|run| one(run, labels, words)).collect()
}

fn one(run: &Run, labels: &BTreeMap<i64, String>, words: &Words) -> SheetRun {
    let fixer = run.fixer_id.and_then(|id| labels.get(&id)).cloned().unwrap_or_default();
    SheetRun {
        id: run.id,
        number: run.number,
        load: words.time(run.load.from),
        from: words.time(run.from),
        to: words.time(run.to),
        sink: run.sink.clone(),
        tank: run.tank.clone(),
        developer: run.developer.clone(),
        hazards: run.hazards.clone(),
        total_ml: ml(run.concentrate_ul + run.water_ul),
        concentrate_ml: ml(run.concentrate_ul),
        water_ml: ml(run.water_ul),
        temperature: degrees(run.temperature_mc),
        time: minutes(run.time_s),
        agitation: run.agitation.clone(),
        pre_soak: (run.pre_soak_s > 0).then(|| minutes(run.pre_soak_s)),
        stop: minutes(run.steps.stop_s),
        fixer,
        fix: minutes(run.fix_s),
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
        ended: run.ended.is_some(),
        rolls: run
            .rolls
            .iter()
            .map(|r| SheetRoll {
                ticket: r.ticket.clone(),
                owner: r.owner.clone(),
                film: r.film.clone(),
                format: r.format.clone(),
            })
            .collect(),
    }
}

/// What the day draws by developer: its name, concentrate and working solution in microlitres.
pub(super) fn drawn(runs: &[Run]) -> Vec<(String, i64, i64)> {
    let mut by_name: BTreeMap<&str, (i64, i64)> = BTreeMap::new();
    for run in runs {
        let sum = by_name.entry(&run.developer).or_default();
        sum.0 += run.concentrate_ul;
        sum.1 += run.concentrate_ul + run.water_ul;
    }
    by_name.into_iter().map(|(name, (one, all))| (name.to_owned(), one, all)).collect()
}

/// The day's sums by developer.
pub(super) fn sums(runs: &[Run]) -> Vec<Sum> {
    drawn(runs)
        .into_iter()
        .map(|(developer, concentrate, total)| Sum {
            developer,
            concentrate_ml: ml(concentrate),
            total_ml: ml(total),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::ml;

    #[test]
    fn volumes_are_printed_to_a_tenth_or_exactly() {
        assert_eq!(ml(9500), "9.5");
        assert_eq!(ml(304_000), "304.0");
        assert_eq!(ml(14_697), "14.697");
        assert_eq!(ml(0), "0.0");
    }
}
