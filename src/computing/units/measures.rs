//! Which units a page speaks.

use serde::{Deserialize, Serialize};

/// A space that is narrow and never breaks, between a number and its unit.
pub(crate) const THIN_SPACE: char = '\u{202F}';

/// 1 US fluid ounce in millilitres.
pub(crate) const FLUID_OUNCE_ML: f64 = 29.573_529_562_5;

/// 1 avoirdupois ounce in grams.
pub(crate) const OUNCE_G: f64 = 28.349_523_125;

/// The units in which a quantity is written out. Metric unless asked otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measures {
    /// Millilitres, grams, degrees Celsius, square centimetres.
    #[default]
    Metric,
    /// US fluid ounces, ounces, degrees Fahrenheit, square inches.
    Us,
}
