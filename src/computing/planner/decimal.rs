//! Exact decimals, so that "does it fit" never depends on how a float prints.

use std::fmt;

/// Millionths in one.
pub(crate) const ONE: i64 = 1_000_000;

/// An exact decimal with at most six decimals, kept as whole millionths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Decimal(i64);

impl Decimal {
    /// The decimal of so many millionths.
    pub const fn from_millionths(millionths: i64) -> Self {
        Self(millionths)
    }

    /// The whole number `n`; beyond nine billion it stays at the nearest value that can be kept.
    pub const fn whole(n: i64) -> Self {
        Self(n.saturating_mul(ONE))
    }

    /// How many millionths it is.
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// As a 128-bit count of millionths, for products.
    pub(crate) fn wide(self) -> i128 {
        i128::from(self.0)
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, part) = (self.0.unsigned_abs() / 1_000_000, self.0.unsigned_abs() % 1_000_000);
        if part == 0 {
            return write!(f, "{sign}{whole}");
        }
        let digits = format!("{part:06}");
        write!(f, "{sign}{whole}.{}", digits.trim_end_matches('0'))
    }
}

impl serde::Serialize for Decimal {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::Error;
        serde_json::value::RawValue::from_string(self.to_string())
            .map_err(S::Error::custom)?
            .serialize(serializer)
    }
}

/// Why the text of a JSON number is not an exact decimal that can be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unreadable {
    /// More decimals than are kept.
    TooFine,
    /// Further from zero than can be kept.
    TooLarge,
}

/// Reads the text of a JSON number as a whole count of `10^-places`.
///
/// The text must already be a JSON number; anything else reads as too large.
pub(crate) fn scaled(text: &str, places: u32) -> Result<i128, Unreadable> {
    let (negative, digits) = text.strip_prefix('-').map_or((false, text), |rest| (true, rest));
    let (base, power) = match digits.split_once(['e', 'E']) {
        Some((base, power)) => (base, power.parse::<i64>().unwrap_or(i64::from(i32::MAX))),
        None => (digits, 0),
    };
    let (whole, part) = base.split_once('.').unwrap_or((base, ""));
    let all = format!("{whole}{part}");
    let significant = all.trim_start_matches('0').trim_end_matches('0');
    if significant.is_empty() {
        return Ok(0);
    }
    let trailing = all.len() - all.trim_end_matches('0').len();
    let exponent = power
        .saturating_sub(i64::try_from(part.len()).unwrap_or(i64::MAX))
        .saturating_add(i64::try_from(trailing).unwrap_or(i64::MAX))
        .saturating_add(i64::from(places));
    if exponent < 0 {
        return Err(Unreadable::TooFine);
    }
    let value = u32::try_from(exponent)
        .ok()
        .and_then(|exponent| 10_i128.checked_pow(exponent))
        .and_then(|scale| significant.parse::<i128>().ok()?.checked_mul(scale))
        .ok_or(Unreadable::TooLarge)?;
    Ok(if negative { -value } else { value })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_numbers_are_read_exactly() {
        for (text, value) in [
            ("0.5", 500_000),
            ("-2.25", -2_250_000),
            ("1e2", 100_000_000),
            ("1.50000000000000", 1_500_000),
            ("0.000001", 1),
            ("1E-6", 1),
            ("0e999999999999999999999", 0),
            ("100", 100_000_000),
        ] {
            assert_eq!(scaled(text, 6), Ok(value), "{text}");
        }
    }

    #[test]
    fn what_cannot_be_kept_is_refused() {
        assert_eq!(scaled("0.0000001", 6), Err(Unreadable::TooFine));
        assert_eq!(scaled("1e-99999999999999999999", 6), Err(Unreadable::TooLarge));
        assert_eq!(scaled("1e999", 6), Err(Unreadable::TooLarge));
        assert_eq!(scaled(&"9".repeat(80), 6), Err(Unreadable::TooLarge));
    }

    #[test]
    fn decimals_print_without_needless_zeros() {
        assert_eq!(Decimal::from_millionths(9_500_000).to_string(), "9.5");
        assert_eq!(Decimal::whole(-3).to_string(), "-3");
        assert_eq!(Decimal::from_millionths(-1).to_string(), "-0.000001");
    }
}
