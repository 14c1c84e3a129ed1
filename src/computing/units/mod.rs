//! Quantities with their units: a number that has passed a constructor is
//! finite and inside its range, so nothing that computes with it can meet a
//! NaN, an infinity or a negative volume.
//!
//! Volumes, times, temperatures, masses, areas and roll equivalents are whole
//! numbers of a small unit inside, so that parts add up to their total exactly.
//! In JSON they are plain numbers in the unit of their name; a [`Dilution`] is
//! a text such as `"1+31"`.

mod area;
mod dilution;
mod factor;
mod film_speed;
mod mass;
mod measures;
mod out_of_range;
mod percent;
mod rolls;
mod rolls_per_litre;
mod scaled;
mod temperature;
#[cfg(test)]
mod tests;
mod time;
mod volume;

pub use area::Area;
pub use dilution::Dilution;
pub use factor::Factor;
pub use film_speed::{FilmSpeed, Stops};
pub use mass::Grams;
pub use measures::Measures;
pub use out_of_range::OutOfRange;
pub use percent::Percent;
pub use rolls::{RollBalance, RollEquivalents};
pub use rolls_per_litre::RollsPerLitre;
pub(crate) use scaled::{ratio_down, ratio_nearest, ratio_up, real, short, whole};
pub use temperature::Celsius;
pub use time::{Days, Seconds};
pub use volume::Millilitres;
