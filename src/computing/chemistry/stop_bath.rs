//! Stop bath: capacity and time.

use crate::units::{Millilitres, OutOfRange, RollEquivalents, RollsPerLitre, Seconds};

use super::{CapacityUse, defaults};

/// The state of a stop bath: 12 rolls' worth per litre unless another figure was
/// typed (fact FIX-27, Anchell 2008 p. 268; replace it, do not revive it).
#[must_use]
pub fn stop_bath_use(
    mixed: Millilitres,
    per_litre: Option<RollsPerLitre>,
    film: RollEquivalents,
) -> CapacityUse {
    let rate = per_litre.unwrap_or(defaults::STOP_BATH.value);
    CapacityUse::new(rate.of_volume(mixed), film, defaults::NEAR_LIMIT.value)
}

/// Checks a time in the stop bath: 30 s or more (fact AGI-5, Army SS0509 web
/// p. Ss050980030: 30-60 s; FIX-27 gives up to 3 min).
///
/// # Errors
/// When under 30 s or above 5 min.
pub fn check_stop_time(time: Seconds) -> Result<Seconds, OutOfRange> {
    let (least, _) = defaults::STOP_TIME.value;
    if time < least || time > Seconds::minutes(5) {
        let value = format!("{} s", time.get());
        return Err(OutOfRange::new("time in the stop bath", value, "30 to 300 s"));
    }
    Ok(time)
}
