//! How a developer is made ready, whatever its form, as a list to measure.

use serde::{Deserialize, Serialize};

use crate::units::Dilution;

use super::measuring::{Measuring, friendly, friendly_parts};
use super::parts::{NamedVolume, Parts};
use super::tank_volume::Need;

/// The form in which a developer is used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Preparation {
    /// Diluted 1+n; 1+0 is used as it is.
    Diluted {
        /// "concentrate" or "stock", as the product is.
        name: String,
        /// 1+n.
        dilution: Dilution,
    },
    /// Named parts mixed together, water among them.
    Mixed(Parts),
    /// Named baths that follow each other, each filling the tank as it is.
    OneAfterAnother(Vec<String>),
}

/// What to measure for one tank.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Measured {
    /// What to pour and how much, in order.
    pub volumes: Vec<NamedVolume>,
    /// True when it must be measured between two marks, because rounding would not fit.
    pub measure_exactly: bool,
}

impl Preparation {
    /// The volumes for what a tank needs. Of a mixture they add up to at least the need
    /// and at most the tank's maximum; of baths that follow each other each one does.
    #[must_use]
    pub fn measure(&self, need: &Need, measuring: &Measuring) -> Measured {
        match self {
            Self::Diluted { name, dilution } => diluted(name, *dilution, need, measuring),
            Self::Mixed(parts) => {
                let (volumes, measure_exactly) = friendly_parts(need, parts, measuring);
                Measured { volumes, measure_exactly }
            }
            Self::OneAfterAnother(baths) => {
                let one = friendly(need, Dilution::UNDILUTED, measuring);
                let named =
                    |name: &String| NamedVolume { name: name.clone(), volume: one.split.total() };
                Measured {
                    volumes: baths.iter().map(named).collect(),
                    measure_exactly: one.measure_exactly,
                }
            }
        }
    }
}

fn diluted(name: &str, dilution: Dilution, need: &Need, measuring: &Measuring) -> Measured {
    let ready = friendly(need, dilution, measuring);
    let mut volumes =
        vec![NamedVolume { name: String::from(name), volume: ready.split.concentrate }];
    if !dilution.is_undiluted() {
        volumes.push(NamedVolume { name: String::from("water"), volume: ready.split.water });
    }
    Measured { volumes, measure_exactly: ready.measure_exactly }
}
