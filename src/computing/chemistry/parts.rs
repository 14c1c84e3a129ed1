//! Named parts, such as A, B and water of a two-part developer.

use serde::{Deserialize, Serialize};

use crate::units::{Factor, Millilitres, OutOfRange, ratio_nearest, whole};

use super::Refusal;

/// One named part of a mixture.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// What is poured ("A", "B", "water").
    pub name: String,
    /// How many parts, in thousandths, so that 1.5 parts are exact.
    thousandths: u32,
}

impl Part {
    /// A part with its number of parts.
    ///
    /// # Errors
    /// When the number is not a number, not above 0, or above 10,000.
    pub fn new(name: impl Into<String>, parts: f64) -> Result<Self, OutOfRange> {
        whole(parts, 1000.0)
            .and_then(|units| u32::try_from(units).ok())
            .filter(|units| (1..=10_000_000).contains(units))
            .map(|thousandths| Self { name: name.into(), thousandths })
            .ok_or_else(|| OutOfRange::new("parts", parts, "0.001 to 10,000"))
    }

    /// Its number of parts in thousandths.
    #[must_use]
    pub fn thousandths(&self) -> u32 {
        self.thousandths
    }
}

/// A volume to measure, under its name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct NamedVolume {
    /// What is poured.
    pub name: String,
    /// How much of it.
    pub volume: Millilitres,
}

/// A mixture of named parts, in the order in which they are listed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Part>", into = "Vec<Part>")]
pub struct Parts(Vec<Part>);

impl Parts {
    /// From one to twenty parts.
    ///
    /// # Errors
    /// When there are none, or more than twenty.
    pub fn new(parts: Vec<Part>) -> Result<Self, Refusal> {
        match parts.len() {
            0 => Err(Refusal::Missing("a part of the mixture")),
            1..=20 => Ok(Self(parts)),
            many => Err(OutOfRange::new("number of parts", many, "1 to 20").into()),
        }
    }

    /// The parts as they were given.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.0
    }

    /// All parts together, in thousandths.
    pub(crate) fn total_thousandths(&self) -> u64 {
        self.0.iter().map(|part| u64::from(part.thousandths)).sum()
    }

    /// Divides a total; the volumes add up to it exactly, and none is more than a
    /// thousandth of a millilitre from its true share.
    #[must_use]
    pub fn divide(&self, total: Millilitres) -> Vec<NamedVolume> {
        let all = self.total_thousandths();
        let mut poured = 0;
        let mut reached = Millilitres::ZERO;
        let volume_up_to = |parts| {
            let units = ratio_nearest(total.microlitres(), parts, all);
            units.and_then(|u| Millilitres::from_microlitres(u).ok()).unwrap_or(total)
        };
        let mut volumes = Vec::with_capacity(self.0.len());
        for part in &self.0 {
            poured += u64::from(part.thousandths);
            let mark = volume_up_to(poured);
            volumes.push(NamedVolume { name: part.name.clone(), volume: mark.less(reached) });
            reached = mark;
        }
        volumes
    }

    /// How often the first part fits into the whole: the 1+n of the first part.
    #[must_use]
    pub fn strength_of_first(&self) -> Option<Factor> {
        let first = f64::from(self.0.first()?.thousandths);
        let all = self.0.iter().map(|part| f64::from(part.thousandths)).sum::<f64>();
        Factor::new(all / first).ok()
    }
}

impl TryFrom<Vec<Part>> for Parts {
    type Error = Refusal;

    fn try_from(parts: Vec<Part>) -> Result<Self, Refusal> {
        Self::new(parts)
    }
}

impl From<Parts> for Vec<Part> {
    fn from(parts: Parts) -> Self {
        parts.0
    }
}
