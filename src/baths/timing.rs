//! How long film stays in a bath, in words.

use super::rules::{Bath, Place, minutes};
use super::state::State;
use crate::chemistry::fixer::time_in_each_of_two;
use crate::units::Seconds;

/// How long film stays in it, in a sentence; nothing for what is not timed here.
#[must_use]
pub fn timing(bath: &Bath, state: &State) -> Option<String> {
    if bath.is_fixer() {
        let measured = match state.clearing_s {
            Some(s) => format!("twice its clearing time of {} min", minutes(s)),
            None => "not yet tested, so as its mixer said".to_owned(),
        };
        return Some(match bath.place {
            Place::First | Place::Second => {
                let half = u32::try_from(state.fix_s / 2 + state.fix_s % 2).unwrap_or(0);
                let half = Seconds::new(half).map_or(half, |s| time_in_each_of_two(s).get());
                format!("Fix {} min in each of the two ({measured}).", minutes(i64::from(half)))
            }
            _ => format!("Fix {} min ({measured}).", minutes(state.fix_s)),
        });
    }
    if bath.growth.is_some() {
        if state.time_permille == 1000 {
            return Some("Develop for the recipe's time.".to_owned());
        }
        return Some(format!(
            "Develop for {} times the recipe's time.",
            crate::shelf::figure(state.time_permille)
        ));
    }
    None
}
