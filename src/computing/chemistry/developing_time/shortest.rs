//! How short a developing time may be.

use crate::chemistry::{Refusal, Warning, defaults};
use crate::units::{Millilitres, Seconds};

/// How long pouring takes: 10 s, and 10 s more for each litre (common practice, no source).
#[must_use]
pub fn pouring_time(volume: Millilitres) -> f64 {
    let (any, per_litre) = defaults::POURING.value;
    any.real() + per_litre.real() * volume.litres()
}

/// The shortest developing time allowed: twenty times the pouring time, rounded up
/// (common practice, no source).
///
/// # Errors
/// When that is longer than any time allowed.
pub fn shortest_time(volume: Millilitres) -> Result<Seconds, Refusal> {
    let seconds = pouring_time(volume) * f64::from(defaults::POURINGS.value);
    Ok(Seconds::nearest((seconds - 1e-9).ceil())
        .map_err(|e| e.named("shortest developing time"))?)
}

/// Refuses a time under the shortest one, and warns under 5 min (AGI-10, from memory).
///
/// # Errors
/// When `time` is under [`shortest_time`] of the volume.
pub fn check_shortest(time: Seconds, volume: Millilitres) -> Result<Option<Warning>, Refusal> {
    let shortest = shortest_time(volume)?;
    if time < shortest {
        return Err(Refusal::TooShort { time, shortest });
    }
    let under = defaults::SHORT_TIME.value;
    Ok((time < under).then_some(Warning::ShortTime { time, under }))
}
