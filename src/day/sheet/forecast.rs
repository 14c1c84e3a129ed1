//! What a day does to its shared baths, run by run.

use serde::Serialize;

use super::Bench;
use crate::day::Run;

/// One bath over the day.
#[derive(Debug, Serialize)]
pub(in crate::day) struct BathLine {
    label: String,
    /// Rolls' worth it can take before the first run that is still to come.
    before: String,
    /// Run and what is left after it.
    after: Vec<(i64, String)>,
    /// The run that brings it to its limit.
    limit: Option<i64>,
    sentence: String,
}

/// Thousandths of a roll's worth as people write them.
fn rolls(milli: i64) -> String {
    let sign = if milli < 0 { "-" } else { "" };
    let tenths = (milli.abs() + 50) / 100;
    format!("{sign}{}.{}", tenths / 10, tenths % 10)
}

/// What each bath can still take after each run that has not ended; `left` is what it can take now,
/// in thousandths of a roll's worth.
pub(in crate::day) fn forecast(runs: &[Run], bench: &Bench, left: &[(i64, i64)]) -> Vec<BathLine> {
    let one = |(bath, now): &(i64, i64)| {
        let mut still = *now;
        let mut after = Vec::new();
        let mut limit = None;
        for run in runs.iter().filter(|r| r.fixer_id == Some(*bath) && r.ended.is_none()) {
            still -= run.fixer_milli;
            after.push((run.number, rolls(still)));
            if still <= 0 && limit.is_none() {
                limit = Some(run.number);
            }
        }
        let label = bench.label(*bath).unwrap_or_default();
        let sentence = match limit {
            Some(run) => {
                format!("Run {run} brings {label} to its limit. Mix the next bath before it.")
            }
            None => format!("{label} lasts through the day."),
        };
        BathLine { label, before: rolls(*now), after, limit, sentence }
    };
    left.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::rolls;

    #[test]
    fn rolls_are_written_to_a_tenth() {
        assert_eq!(
            (rolls(11_000), rolls(-1500), rolls(0)),
            ("11.0".into(), "-1.5".into(), "0.0".into())
        );
    }
}
