//! From real numbers to whole numbers of a small unit and back: the only place
//! where number types are cast.

/// The nearest whole number of small units in `value`, or `None` when it is not
/// finite or too large to be counted exactly.
pub(crate) fn whole(value: f64, units_per_one: f64) -> Option<i64> {
    const EXACT: f64 = 9_007_199_254_740_992.0; // 2^53: above it a float skips whole numbers
    let scaled = (value * units_per_one).round();
    if !scaled.is_finite() || scaled.abs() > EXACT {
        return None;
    }
    #[expect(clippy::as_conversions, reason = "finite, whole and within 2^53, checked above")]
    Some(scaled as i64)
}

/// A whole number as a real one.
#[expect(clippy::as_conversions, reason = "all quantities are far below 2^53")]
pub(crate) fn real(units: i64) -> f64 {
    units as f64
}

/// a * b / c rounded down, `None` when c is zero or the result too large.
pub(crate) fn ratio_down(a: u64, b: u64, c: u64) -> Option<u64> {
    let product = u128::from(a) * u128::from(b);
    u64::try_from(product.checked_div(u128::from(c))?).ok()
}

/// a * b / c rounded up, `None` when c is zero or the result too large.
pub(crate) fn ratio_up(a: u64, b: u64, c: u64) -> Option<u64> {
    let product = u128::from(a) * u128::from(b);
    if c == 0 {
        return None;
    }
    u64::try_from(product.div_ceil(u128::from(c))).ok()
}

/// a * b / c to the nearest, halves up, `None` when c is zero or the result too large.
pub(crate) fn ratio_nearest(a: u64, b: u64, c: u64) -> Option<u64> {
    let product = u128::from(a) * u128::from(b) + u128::from(c / 2);
    u64::try_from(product.checked_div(u128::from(c))?).ok()
}

/// A number in at most `places` decimals without trailing zeros, for people.
pub(crate) fn short(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    let text = match text.split_once('.') {
        Some(_) => text.trim_end_matches('0').trim_end_matches('.'),
        None => text.as_str(),
    };
    if text == "-0" { String::from("0") } else { String::from(text) }
}
