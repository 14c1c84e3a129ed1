//! “Time for my roll”: what was typed, the time that comes out, and how it was worked out.

use serde::Serialize;

use super::{amount, amount_if_any, clock, minutes, temperature};
use crate::chemistry::DevelopingTime;
use crate::chemistry::developing_time::Step;
use crate::error::Error;
use crate::recipes::{Recipe, TimeWish, rules, time_for};
use crate::units::{Factor, FilmSpeed, Millilitres, RollEquivalents, Seconds};
use crate::web::{Fields, Form, thousandths};

/// The time and its working, or why there is none.
#[derive(Serialize)]
pub(super) struct Worked {
    /// The time, such as `8:15`.
    time: Option<String>,
    /// Between which times it may lie.
    between: Option<String>,
    /// What the recipe says.
    from: String,
    lines: Vec<Line>,
    warnings: Vec<String>,
    refusal: Option<String>,
    faults: Vec<String>,
}

#[derive(Serialize)]
struct Line {
    what: String,
    before: String,
    factor: String,
    after: String,
    because: String,
    source: String,
    estimate: Option<String>,
}

/// The form with what was typed, or with what the recipe says.
pub(super) fn form(f: &Fields, recipe: &Recipe) -> Form {
    let mut form = Form::new(&format!("/chart/{}", recipe.id))
        .with("at", rules::decimal(recipe.temperature_mc))
        .with("shot", recipe.ei)
        .with("volume", "500")
        .with("step", "0:15")
        .with("film", "1");
    form.values.extend(f.values().into_iter().filter(|(_, v)| !v.is_empty()));
    if let Err(Error::Invalid(faults)) = f.done() {
        form.faults = faults;
    }
    form
}

/// Reads what was typed; what is left out is as the recipe says.
pub(in crate::recipes) fn read(f: &mut Fields, recipe: &Recipe) -> Result<TimeWish, Error> {
    let at = amount_if_any(f, "at", "the temperature in °C", 0..=60_000);
    let end = amount_if_any(f, "end", "the temperature in °C", 0..=60_000);
    let shot = if f.raw("shot").trim().is_empty() {
        Some(recipe.ei)
    } else {
        f.number("shot", "the exposure index", 1..=102_400)
    };
    let factor = amount_if_any(f, "push_factor", "a factor", 10..=100_000);
    let used = amount_if_any(f, "used", "an amount of film", 0..=1_000_000_000);
    let film = amount_if_any(f, "film", "an amount of film", 0..=1_000_000_000);
    let volume = if f.raw("volume").trim().is_empty() {
        Some(500_000)
    } else {
        amount(f, "volume", "the developer in ml", 1..=100_000_000)
    };
    let step = if f.raw("step").trim().is_empty() {
        Some(15)
    } else {
        clock(f, "step", "a step", 0..=300)
    };
    let way = f.raw("way").trim().to_owned();
    let agitation = rules::agitation_scheme(&way);
    if agitation.is_none() && !way.is_empty() {
        f.fault("way", "Choose how the tank is moved, or leave it as in the recipe.");
    }
    f.done()?;
    let missing = || f.faults();
    let rolls = |milli: Option<i64>, if_none: i64| {
        RollEquivalents::new(thousandths(milli.unwrap_or(if_none))).map_err(|_e| missing())
    };
    Ok(TimeWish {
        temperature: temperature(at.ok_or_else(missing)?.unwrap_or(recipe.temperature_mc))?,
        end: end.ok_or_else(missing)?.map(temperature).transpose()?,
        ei: u32::try_from(shot.ok_or_else(missing)?)
            .ok()
            .and_then(|ei| FilmSpeed::new(ei).ok())
            .ok_or_else(missing)?,
        push_factor: factor.ok_or_else(missing)?.and_then(|m| Factor::new(thousandths(m)).ok()),
        agitation,
        used: rolls(used.ok_or_else(missing)?, 0)?,
        this_run: rolls(film.ok_or_else(missing)?, 1000)?,
        volume: u64::try_from(volume.ok_or_else(missing)?)
            .ok()
            .and_then(|ul| Millilitres::from_microlitres(ul).ok())
            .ok_or_else(missing)?,
        step: rules::seconds(step.ok_or_else(missing)?).unwrap_or(Seconds::ZERO),
    })
}

/// The time for what was typed.
pub(super) fn worked(f: &mut Fields, recipe: &Recipe) -> Worked {
    let mut worked = Worked {
        time: None,
        between: None,
        from: format!(
            "{} at {}\u{202f}°C",
            minutes(recipe.time_s),
            rules::decimal(recipe.temperature_mc)
        ),
        lines: Vec::new(),
        warnings: Vec::new(),
        refusal: None,
        faults: Vec::new(),
    };
    match read(f, recipe) {
        Err(Error::Invalid(faults)) => worked.faults = faults.into_values().collect(),
        Err(e) => worked.refusal = Some(rules::capital(&e.to_string())),
        Ok(wish) => match time_for(recipe, &wish) {
            Err(refusal) => {
                worked.refusal = Some(format!("{}.", rules::capital(&refusal.to_string())))
            }
            Ok(time) => fill(&mut worked, &time),
        },
    }
    worked
}

fn fill(worked: &mut Worked, time: &DevelopingTime) {
    let recipe = time.recipe_time;
    worked.time = Some(rules::clock_of(i64::from(time.time.get())));
    worked.from = format!("{recipe} at {}", time.recipe_temperature);
    worked.between = time.estimated_between.map(|(least, most)| format!("{least} and {most}"));
    worked.lines = time.steps.iter().map(line).collect();
    worked.warnings =
        time.warnings.iter().map(|w| format!("{}.", rules::capital(&w.to_string()))).collect();
}

fn line(step: &Step) -> Line {
    let whole = |s: f64| {
        let nearest = Seconds::nearest(s).unwrap_or(Seconds::ZERO);
        rules::clock_of(i64::from(nearest.get()))
    };
    Line {
        what: rules::capital(&step.correction.to_string()),
        before: whole(step.before_s),
        factor: format!("{:.3}", step.factor),
        after: whole(step.after_s),
        because: step.formula.clone(),
        source: step.source.to_string(),
        estimate: step
            .estimated_between
            .map(|(least, most)| format!("estimate, × {least:.2} to × {most:.2}")),
    }
}
