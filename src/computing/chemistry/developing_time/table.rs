//! A recipe's own table of times and temperatures.

use serde::{Deserialize, Serialize};

use crate::chemistry::Refusal;
use crate::units::{Celsius, OutOfRange, Seconds};

use super::curve::{Curve, within};

/// One row of a time-temperature table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct TableRow {
    /// Temperature.
    pub at: Celsius,
    /// Developing time there.
    pub time: Seconds,
}

/// Times at two to a hundred temperatures, by rising temperature. Between its rows a
/// time is read in the logarithm of time; outside them it is refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<TableRow>", into = "Vec<TableRow>")]
pub struct TimeTable {
    coldest: TableRow,
    rest: Vec<TableRow>,
}

impl TimeTable {
    /// From rows in any order.
    ///
    /// # Errors
    /// When there are fewer than 2 or more than 100 rows, two of one temperature, a
    /// time of zero, or a time that grows with the temperature.
    pub fn new(mut rows: Vec<TableRow>) -> Result<Self, Refusal> {
        rows.sort_by_key(|row| row.at);
        if !(2..=100).contains(&rows.len()) {
            return Err(OutOfRange::new("rows of the time table", rows.len(), "2 to 100").into());
        }
        for (colder, warmer) in rows.iter().zip(rows.iter().skip(1)) {
            check(colder, warmer)?;
        }
        let mut rows = rows.into_iter();
        let coldest = rows.next().ok_or(Refusal::Missing("a row of the time table"))?;
        Ok(Self { coldest, rest: rows.collect() })
    }

    /// The rows by rising temperature.
    pub fn rows(&self) -> impl Iterator<Item = &TableRow> {
        std::iter::once(&self.coldest).chain(&self.rest)
    }

    /// The coldest and the warmest temperature it is good for.
    #[must_use]
    pub fn band(&self) -> (Celsius, Celsius) {
        (self.coldest.at, self.rest.last().unwrap_or(&self.coldest).at)
    }

    /// The time at a temperature, in seconds.
    ///
    /// # Errors
    /// When the temperature is outside the table.
    pub fn time_at(&self, temperature: Celsius) -> Result<f64, Refusal> {
        self.time_over(temperature, temperature)
    }

    pub(super) fn time_over(&self, start: Celsius, end: Celsius) -> Result<f64, Refusal> {
        let (lowest, highest) = self.band();
        within(start, lowest, highest)?;
        within(end, lowest, highest)?;
        Ok(Curve::new(self.rows().map(|row| (row.at, row.time.real()))).time_over(start, end))
    }

    /// The time of the row at, or nearest to, the normal temperature.
    pub(super) fn reference(&self, normal: Celsius) -> TableRow {
        let nearest = |best: TableRow, row: &TableRow| {
            if row.at.apart(normal) < best.at.apart(normal) { *row } else { best }
        };
        self.rest.iter().fold(self.coldest, nearest)
    }
}

fn check(colder: &TableRow, warmer: &TableRow) -> Result<(), Refusal> {
    if colder.at == warmer.at {
        let value = colder.at.to_string();
        return Err(OutOfRange::new("temperature of a row", value, "each one once").into());
    }
    if warmer.time == Seconds::ZERO || warmer.time > colder.time {
        let allowed = format!("1 s to {} s, the time of the colder row", colder.time.get());
        let value = format!("{} s at {}", warmer.time.get(), warmer.at);
        return Err(OutOfRange::new("time of a row", value, allowed).into());
    }
    Ok(())
}

impl TryFrom<Vec<TableRow>> for TimeTable {
    type Error = Refusal;

    fn try_from(rows: Vec<TableRow>) -> Result<Self, Refusal> {
        Self::new(rows)
    }
}

impl From<TimeTable> for Vec<TableRow> {
    fn from(table: TimeTable) -> Self {
        table.rows().copied().collect()
    }
}
