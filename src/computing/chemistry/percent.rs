//! Percentages of a volume, and one strength from another.

use crate::units::{Millilitres, Percent, ratio_nearest};

use super::{Refusal, Split};

/// A percentage of a volume (fact DIL-13, Army SS0514 p. SS05140051).
#[must_use]
pub fn percent_of(volume: Millilitres, percent: Percent) -> Millilitres {
    let part = ratio_nearest(volume.microlitres(), u64::from(percent.thousandths()), 100_000);
    part.and_then(|units| Millilitres::from_microlitres(units).ok()).unwrap_or(volume)
}

/// Makes `wanted` per cent from a stronger solution: strong = volume × % wanted ÷
/// % on hand, water for the rest (fact DIL-1, Army SS0513 p. SS05130024).
/// By volume; never to be offered for glacial acid, which a member must not handle.
///
/// # Errors
/// When the solution on hand is weaker than the one wanted.
pub fn percent_to_percent(
    volume: Millilitres,
    wanted: Percent,
    on_hand: Percent,
) -> Result<Split, Refusal> {
    if wanted > on_hand {
        return Err(Refusal::TooWeak { on_hand, wanted });
    }
    let (want, have) = (u64::from(wanted.thousandths()), u64::from(on_hand.thousandths()));
    let units = ratio_nearest(volume.microlitres(), want, have).unwrap_or(0);
    let strong = Millilitres::from_microlitres(units)?;
    Ok(Split { concentrate: strong, water: volume.less(strong) })
}
