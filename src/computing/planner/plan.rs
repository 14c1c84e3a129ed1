//! The plan as it is handed out.

use serde::{Serialize, Serializer, ser::SerializeMap};

use super::decimal::Decimal;

/// An amount printed with at least one decimal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Amount(pub Decimal);

impl Serialize for Amount {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::Error;
        let mut text = self.0.to_string();
        if !text.contains('.') {
            text.push_str(".0");
        }
        serde_json::value::RawValue::from_string(text)
            .map_err(S::Error::custom)?
            .serialize(serializer)
    }
}

/// Amounts by name, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Amounts(pub Vec<(String, Amount)>);

impl Serialize for Amounts {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, amount) in &self.0 {
            map.serialize_entry(name, amount)?;
        }
        map.end()
    }
}

/// One loaded tank going through the whole process once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Run {
    /// Id of the tank.
    pub tank: String,
    /// Id of the sink.
    pub sink: String,
    /// Id of the person who pours.
    pub person: String,
    /// Id of the person who loads; none for a tank that was loaded before.
    pub loader: Option<String>,
    /// RFC 3339.
    pub load_start: Option<String>,
    /// RFC 3339.
    pub load_end: Option<String>,
    /// RFC 3339.
    pub start: String,
    /// RFC 3339, end of hanging.
    pub end: String,
    /// Ids in reel order, bottom first.
    pub rolls: Vec<String>,
    /// Id of the developer.
    pub developer: String,
    /// Developing time in seconds.
    pub time_s: i64,
    /// Working developer.
    pub developer_ml: Amount,
    /// Concentrate or stock in it; zero from a shared bath.
    pub concentrate_ml: Amount,
    /// Water in it; zero from a shared bath.
    pub water_ml: Amount,
    /// Why the run is what it is, a sentence each.
    pub why: Vec<String>,
}

/// A roll that no run takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeftOver {
    /// Its id.
    pub roll: String,
    /// Why, so that a person can act on it.
    pub reason: String,
}

/// Sums over the plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Totals {
    /// Number of runs.
    pub runs: usize,
    /// Concentrate by developer, shared baths apart.
    pub concentrate_ml: Amounts,
    /// Working developer by developer.
    pub developer_ml: Amounts,
    /// Rolls' worth of fixer used, with each film's factor.
    pub fixer: Amount,
    /// Cost of developer.
    pub cost: Amount,
    /// Summed weight of rolls left over.
    pub left_over_weight: i64,
    /// Number of late rolls.
    pub late: usize,
}

/// Proven lower bounds; none after the first that the plan does not meet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Bound {
    /// Of the summed weight of rolls left over.
    pub left_over_weight: i64,
    /// Of late rolls.
    pub late: Option<usize>,
    /// Of runs.
    pub runs: Option<usize>,
    /// Of the cost of developer.
    pub cost: Option<Amount>,
}

/// A day's plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Plan {
    /// By start, then tank.
    pub runs: Vec<Run>,
    /// In the order of the file.
    pub left_over: Vec<LeftOver>,
    /// Ids of late rolls, in the order of the file.
    pub late: Vec<String>,
    /// Sums.
    pub totals: Totals,
    /// What is proven.
    pub bound: Bound,
    /// Whether all four bounds are met.
    pub optimal: bool,
}
