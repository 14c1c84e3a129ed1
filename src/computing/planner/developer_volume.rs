//! How much developer a loaded tank takes, exactly, and how it is measured out.

use super::{
    day::{Developer, Measure, Tank},
    decimal::ONE,
};

/// 10^-18 ml in a millionth of a millilitre.
const FINE: i128 = 1_000_000_000_000;
/// A shared bath is poured in whole steps of this many millionths of a millilitre.
const BATH_STEP: i128 = 5_000_000;

/// What a run's reels ask for, summed, in millionths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Asked {
    pub(super) cover: i128,
    pub(super) equivalents: i128,
}

/// A run's developer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Poured {
    /// In 10^-18 ml.
    pub(super) fine_ml: i128,
    /// Whether the concentrate is a whole step of a measuring tool.
    pub(super) friendly: bool,
}

/// Parts in all, 1+n, in millionths.
pub(super) fn parts(developer: &Developer) -> i128 {
    i128::from(ONE) + developer.water_parts.wide()
}

/// What the tank needs before anything is rounded, in 10^-18 ml.
pub(super) fn need(developer: &Developer, tank: &Tank, asked: Asked) -> i128 {
    let covered = (tank.base_ml.wide() + asked.cover).max(tank.min_ml.wide()) * FINE;
    if developer.bath.is_some() {
        return covered;
    }
    covered.max(parts(developer) * developer.min_per_roll_ml.wide() * asked.equivalents)
}

/// The developer to pour, or nothing where the tank or the bath cannot hold it.
pub(super) fn poured(
    developer: &Developer,
    tank: &Tank,
    tools: &[Measure],
    asked: Asked,
) -> Option<Poured> {
    let need = need(developer, tank, asked);
    let most = tank.max_ml.wide() * FINE;
    if let Some(bath) = developer.bath {
        let volume = up_to_step(need, BATH_STEP * FINE);
        let held = volume <= most && volume <= bath.volume_ml.wide() * FINE;
        return held.then_some(Poured { fine_ml: volume, friendly: true });
    }
    if let Some(volume) = friendly(parts(developer), need, tools).filter(|volume| *volume <= most) {
        return Some(Poured { fine_ml: volume, friendly: true });
    }
    (need <= most).then_some(Poured { fine_ml: need, friendly: false })
}

fn up_to_step(amount: i128, step: i128) -> i128 {
    (amount + step - 1) / step * step
}

/// The volume whose concentrate is a whole step of the smallest tool that holds it.
fn friendly(parts: i128, need: i128, tools: &[Measure]) -> Option<i128> {
    let unit = parts * i128::from(ONE);
    let rounded = |tool: &Measure| up_to_step(need, unit * tool.step_ml.wide());
    tools
        .iter()
        .find(|tool| rounded(tool) <= unit * tool.up_to_ml.wide())
        .or(tools.last())
        .map(rounded)
}
