//! The developing time at the temperature the developer really has, with its working.

use serde::Serialize;

use super::facts::at_temperature;
use super::process::About;
use super::sheet::minutes;
use super::store::Run;
use crate::chemistry::{
    Band, Coefficient, Development, OneTime, RunTemperature, TimeBasis, developing_time,
    needs_correction,
};
use crate::units::{Celsius, Millilitres, Seconds};
use crate::web::thousandths;

/// What was measured, and what it makes of the developing time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub(super) struct Measured {
    /// Thousandths of a degree C.
    pub(super) mc: i64,
    /// The time it asks for.
    pub(super) time_s: i64,
    /// How that was found, a line each.
    pub(super) lines: Vec<String>,
    /// Why no time can be given, where none can.
    pub(super) refusal: Option<String>,
}

/// The developing time at a measured temperature, with its working.
pub(super) fn measured(run: &Run, about: &About, mc: i64) -> Measured {
    match corrected(run, about, mc) {
        Ok((time_s, lines)) => Measured { mc, time_s, lines, refusal: None },
        Err(refusal) => {
            Measured { mc, time_s: run.time_s, lines: Vec::new(), refusal: Some(refusal) }
        }
    }
}

fn corrected(run: &Run, about: &About, mc: i64) -> Result<(i64, Vec<String>), String> {
    let planned = Celsius::new(thousandths(run.temperature_mc)).map_err(|e| e.to_string())?;
    let found = Celsius::new(thousandths(mc)).map_err(|e| e.to_string())?;
    if !needs_correction(planned, found) {
        return Ok((
            run.time_s,
            vec![format!(
                "{found} is within 0.5 °C of {planned}: no correction (international report on aerial \
                 film practice, p. 43)."
            )],
        ));
    }
    if about.recipes.is_empty() {
        by_factor(run, about, (planned, found))
    } else {
        by_recipes(run, about, mc)
    }
}

/// The run's time, longer or shorter by as much as its recipes are between the two temperatures:
/// each by its own table where it has one, by its developer's factor elsewhere. Where the recipes
/// differ, by the middle of the least and the greatest ratio, as the run's own time was found.
fn by_recipes(run: &Run, about: &About, mc: i64) -> Result<(i64, Vec<String>), String> {
    let mut lines = Vec::new();
    let mut pairs = Vec::new();
    for recipe in &about.recipes {
        let (then, _) = at_temperature(recipe, run.temperature_mc, Millilitres::ZERO)?;
        let (now, own) = at_temperature(recipe, mc, Millilitres::ZERO)?;
        let name = format!("{} at EI {}", recipe.film.name, recipe.ei);
        let from = if recipe.table.len() >= 2 { "its own table" } else { "the developer's factor" };
        lines.extend(own);
        lines.push(format!("{name}: {} instead of {} by {from}", minutes(now), minutes(then)));
        pairs.push((now, then));
    }
    let seconds = in_proportion(run.time_s, &pairs, 5);
    lines.push(format!(
        "this run: {} becomes {}, to a multiple of 5 s",
        minutes(run.time_s),
        minutes(seconds)
    ));
    Ok((seconds, lines))
}

/// A time longer or shorter by as much as these pairs of a new and an old time are, to a multiple of
/// `step_s`; where they differ, by the middle of the least and the greatest ratio.
pub(super) fn in_proportion(time_s: i64, pairs: &[(i64, i64)], step_s: i64) -> i64 {
    let ratios = pairs.iter().map(|(new, old)| (i128::from(*new).max(1), i128::from(*old).max(1)));
    let by_ratio = |a: &(i128, i128), b: &(i128, i128)| (a.0 * b.1).cmp(&(b.0 * a.1));
    let least = ratios.clone().min_by(by_ratio).unwrap_or((1, 1));
    let most = ratios.max_by(by_ratio).unwrap_or((1, 1));
    // In thousandths of a second, so that the root is exact enough to be rounded once.
    let time = i128::from(time_s) * 1000;
    let squared = time * time * least.0 * most.0 / (least.1 * most.1);
    let found = i64::try_from(squared.isqrt()).unwrap_or(i64::MAX / 2);
    let step = step_s.max(1);
    (found + step * 500).div_euclid(step * 1000) * step
}

/// For a run that was planned before its recipes were kept with it.
fn by_factor(
    run: &Run,
    about: &About,
    (planned, found): (Celsius, Celsius),
) -> Result<(i64, Vec<String>), String> {
    let coefficient = match about.factor_milli {
        Some(milli) => Coefficient::own(thousandths(milli)).map_err(|e| e.to_string())?,
        None => Coefficient::estimate(),
    };
    let seconds = u32::try_from(run.time_s).map_err(|e| e.to_string())?;
    let time = Seconds::new(seconds).map_err(|e| e.to_string())?;
    let basis = TimeBasis::OneTime(OneTime { time, at: planned, coefficient, band: Band::usual() });
    let ul = u64::try_from(run.concentrate_ul + run.water_ul).unwrap_or(0);
    let volume = Millilitres::from_microlitres(ul).unwrap_or(Millilitres::ZERO);
    let wanted = Development {
        basis: &basis,
        temperature: RunTemperature::Steady(found),
        push: None,
        re_use: None,
        agitation: None,
        volume,
        step: Seconds::of(5),
    };
    let time = developing_time(&wanted).map_err(|refusal| refusal.to_string())?;
    let mut lines: Vec<String> = time.steps.iter().map(ToString::to_string).collect();
    lines.extend(time.warnings.iter().map(ToString::to_string));
    Ok((i64::from(time.time.get()), lines))
}

#[cfg(test)]
mod tests {
    use super::super::process::tests::run;
    use super::*;

    #[test]
    fn the_measured_temperature_corrects_the_time_and_says_how() {
        let about = About { factor_milli: Some(2500), ..About::default() };
        // 480 s x 2.5^(-0.2) = 399.6 s, to a multiple of 5 s (Wall 1910: log K per degree).
        let found = measured(&run(), &about, 22_000);
        assert_eq!((found.time_s, found.refusal), (400, None));
        assert!(found.lines[0].contains("temperature"));
        assert_eq!(measured(&run(), &about, 20_400).time_s, 480);
        let cold = measured(&run(), &about, 12_000);
        assert!(cold.refusal.unwrap().contains("bring it to"));
    }

    #[test]
    fn a_time_follows_the_middle_of_its_recipes() {
        assert_eq!(in_proportion(480, &[(400, 480)], 5), 400);
        // Ratios 0.8 and 0.9: their geometric middle is 0.8485.
        assert_eq!(in_proportion(500, &[(400, 500), (450, 500)], 1), 424);
        assert_eq!(in_proportion(480, &[], 5), 480);
    }
}
