//! Replenishing a developer by the film that went through it.

use serde::{Deserialize, Serialize};

use crate::units::{Millilitres, OutOfRange, RollEquivalents, ratio_up};

use super::{Refusal, Warning};

/// The volumes of one replenishment, in the order in which they are moved (fact
/// DEV-5, Army SS0514 p. SS05140050).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Replenishment {
    /// First take this much out of the bottle.
    pub take_out: Millilitres,
    /// Then add this much replenisher.
    pub replenisher: Millilitres,
    /// Then fill up to the mark with this much of what was taken out.
    pub put_back: Millilitres,
    /// Collect the rest.
    pub discard: Millilitres,
    /// What the bottle still lacks.
    pub lacks: Millilitres,
}

/// Replenishes a bottle. `per_roll` comes from the maker's sheet: there is no default.
/// `holds` is what is in the bottle now, `mark` what it should hold.
///
/// # Errors
/// When the bottle holds more than its mark, or the replenisher alone passes it.
pub fn replenish(
    per_roll: Millilitres,
    film: RollEquivalents,
    holds: Millilitres,
    mark: Millilitres,
) -> Result<Replenishment, Refusal> {
    let units = ratio_up(per_roll.microlitres(), film.millionths(), 1_000_000);
    let replenisher = Millilitres::from_microlitres(units.unwrap_or(u64::MAX))
        .map_err(|e| e.named("replenisher"))?;
    if holds > mark {
        let allowed = format!("0 ml to {mark:#}, its mark");
        return Err(OutOfRange::new("developer in the bottle", holds, allowed).into());
    }
    if replenisher > mark {
        let allowed = format!("0 ml to {mark:#}; mix the developer anew");
        return Err(OutOfRange::new("replenisher", replenisher, allowed).into());
    }
    let take_out = replenisher.min(holds);
    let room = mark.less(holds.less(take_out) + replenisher);
    let put_back = take_out.min(room);
    Ok(Replenishment {
        take_out,
        replenisher,
        put_back,
        discard: take_out.less(put_back),
        lacks: room.less(put_back),
    })
}

impl Replenishment {
    /// A warning when the replenisher is less than what was carried out.
    #[must_use]
    pub fn warning(&self) -> Option<Warning> {
        (self.lacks > Millilitres::ZERO).then_some(Warning::TankFalls(self.lacks))
    }
}
