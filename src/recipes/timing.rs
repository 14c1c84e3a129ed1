//! The developing time of a recipe in another run than it was written for: another temperature,
//! exposure index, way of moving the tank, or developer that was used before.

use super::rules::{self, Handling};
use super::{Developer, Recipe};
use crate::chemistry::developing_time::{Counted, Growth, GrowthOn};
use crate::chemistry::{
    AgitationChange, AgitationScheme, Band, Coefficient, DevelopingTime, Development, OneTime,
    Push, PushFactor, ReUse, Refusal, RunTemperature, TimeBasis, developing_time,
};
use crate::units::{Celsius, Factor, FilmSpeed, Millilitres, Percent, RollEquivalents, Seconds};
use crate::web::thousandths;

/// What differs from the recipe in this run.
#[derive(Clone, Copy, Debug)]
pub struct TimeWish {
    /// Temperature of the developer when it is poured.
    pub temperature: Celsius,
    /// Its temperature at the end, where it was or will be another.
    pub end: Option<Celsius>,
    /// The exposure index the film was shot at; the recipe's own where it is the same.
    pub ei: FilmSpeed,
    /// The studio's own factor for this push or pull, where it has one.
    pub push_factor: Option<Factor>,
    /// How the tank is moved; as in the recipe where nothing is said.
    pub agitation: Option<AgitationScheme>,
    /// Film already developed in this developer.
    pub used: RollEquivalents,
    /// Film of this run.
    pub this_run: RollEquivalents,
    /// Developer that is poured.
    pub volume: Millilitres,
    /// Times are given in multiples of this.
    pub step: Seconds,
}

/// The developing time with its working.
///
/// # Errors
/// A refusal that says what is outside of what can be used and what would do.
pub fn time_for(recipe: &Recipe, wish: &TimeWish) -> Result<DevelopingTime, Refusal> {
    let basis = basis(recipe)?;
    let temperature = match wish.end {
        Some(end) if end != wish.temperature => RunTemperature::FromTo(wish.temperature, end),
        _ => RunTemperature::Steady(wish.temperature),
    };
    developing_time(&Development {
        basis: &basis,
        temperature,
        push: push(recipe, wish)?,
        re_use: re_use(&recipe.developer, wish)?,
        agitation: agitation(recipe, wish)?,
        volume: wish.volume,
        step: wish.step,
    })
}

fn basis(recipe: &Recipe) -> Result<TimeBasis, Refusal> {
    if recipe.table.len() >= 2 {
        return Ok(TimeBasis::Table(rules::time_table(&recipe.table)?));
    }
    let coefficient = match recipe.developer.factor_milli {
        Some(milli) => Coefficient::own(thousandths(milli))?,
        None => Coefficient::estimate(),
    };
    Ok(TimeBasis::OneTime(OneTime {
        time: rules::seconds(recipe.time_s)?,
        at: rules::celsius(recipe.temperature_mc)?,
        coefficient,
        band: Band::usual(),
    }))
}

fn push(recipe: &Recipe, wish: &TimeWish) -> Result<Option<Push>, Refusal> {
    let recipe_ei = FilmSpeed::new(u32::try_from(recipe.ei).unwrap_or(0))?;
    if recipe_ei == wish.ei {
        return Ok(None);
    }
    let by = wish.push_factor.map_or(PushFactor::Estimate, PushFactor::Own);
    Ok(Some(Push { stops: recipe_ei.stops_to(wish.ei), by }))
}

fn agitation(recipe: &Recipe, wish: &TimeWish) -> Result<Option<AgitationChange>, Refusal> {
    let Some(run) = wish.agitation else { return Ok(None) };
    let known = rules::agitation_scheme(&recipe.agitation);
    let recipe = known
        .ok_or(Refusal::NoFigure("agitation factor from this recipe's way of moving the tank"))?;
    Ok(Some(AgitationChange { recipe, run, factor: None }))
}

fn re_use(developer: &Developer, wish: &TimeWish) -> Result<Option<ReUse>, Refusal> {
    if wish.used == RollEquivalents::ZERO || developer.handling() == Handling::Replenished {
        return Ok(None);
    }
    let growth = growth(developer)?.ok_or(match developer.handling() {
        Handling::UsedAgain => Refusal::NoFigure("growth of time with use of this developer"),
        _ => Refusal::NoFigure("re-use of a developer that is mixed for one run"),
    })?;
    Ok(Some(ReUse { used: wish.used, this_run: wish.this_run, growth }))
}

/// How the developer's time grows with use, where the studio typed it.
fn growth(developer: &Developer) -> Result<Option<Growth>, Refusal> {
    let row = &developer.growth;
    let (Some(percent), Some(every)) = (row.growth_percent_milli, row.growth_every_milli) else {
        return Ok(None);
    };
    let rolls = |milli: i64| RollEquivalents::new(thousandths(milli));
    Ok(Some(Growth {
        percent: Percent::new(thousandths(percent))?,
        every: rolls(every)?,
        counted: match row.growth_counted.as_deref() {
            Some("in_proportion") => Counted::InProportion,
            _ => Counted::WholeSteps,
        },
        on: match row.growth_on.as_deref() {
            Some("last_time") => GrowthOn::LastTime,
            _ => GrowthOn::FirstTime,
        },
        at_most: row.takes_milli.map(rolls).transpose()?,
    }))
}
