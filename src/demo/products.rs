//! What stands on the invented shelf, each with an invented data sheet.

use super::chart::TWO_PARTS;
use crate::error::Error;
use crate::hazards::{Lines, Sheet};
use crate::shelf::{Form, Purpose};

/// Name, purpose, form, the chart's developer, water parts, grams a litre, rolls' worth a litre,
/// days it keeps mixed and open, size of one in ml or g, buy at, price in cents, hazard lines.
pub(super) type Line = (
    (&'static str, Purpose, Form, Option<&'static str>),
    (Option<i64>, Option<i64>, Option<i64>),
    (Option<i64>, Option<i64>),
    (i64, i64, i64),
    &'static str,
);

pub(super) const PRODUCTS: [Line; 10] = [
    (
        ("Slack Tide rapid fixer", Purpose::Fixer, Form::Concentrate, None),
        (Some(4), None, Some(20)),
        (Some(60), Some(365)),
        (1000, 1000, 1890),
        "/ EUH031 / With alkalis it gives off ammonia. Invented sheet.",
    ),
    (
        ("Breakwater paper fixer", Purpose::Fixer, Form::Concentrate, None),
        (Some(9), None, Some(12)),
        (Some(30), Some(365)),
        (1000, 500, 1520),
        "/ EUH031 / With alkalis it gives off ammonia. Invented sheet.",
    ),
    (
        ("Stillwater stop", Purpose::Stop, Form::Concentrate, None),
        (Some(19), None, Some(12)),
        (Some(90), None),
        (500, 250, 860),
        "Danger / H314, P260, P280 / Invented sheet. | Warning / H319, P280 / Invented sheet.",
    ),
    (
        ("Clearwell wash aid", Purpose::WashAid, Form::Concentrate, None),
        (Some(19), None, Some(30)),
        (Some(14), None),
        (1000, 500, 1100),
        "Warning / H319, P280 / Invented sheet. | // Not classified at this strength. Invented sheet.",
    ),
    (
        ("Raindrop wetting agent", Purpose::WettingAgent, Form::Concentrate, None),
        (Some(240), None, Some(40)),
        (Some(7), None),
        (250, 50, 790),
        "Warning / H319, P280 / Invented sheet. | // Not classified at this strength. Invented sheet.",
    ),
    (
        (
            "Saltmarsh concentrate",
            Purpose::Developer,
            Form::Concentrate,
            Some("Saltmarsh concentrate, 1+31"),
        ),
        (Some(31), None, None),
        (None, Some(120)),
        (500, 250, 2150),
        "Danger / H302, H317, H318, P261, P280 / Invented sheet. | Warning / H317, P280 / Invented sheet.",
    ),
    (
        ("Fathom powder", Purpose::Developer, Form::Powder, Some("Fathom stock, 1+1")),
        (None, Some(110), None),
        (Some(180), None),
        (550, 550, 1240),
        "Warning / H302, H317, P260, P280 / Invented sheet. | Warning / H317, P280 / Invented sheet.",
    ),
    (
        (
            "Lamplight concentrate",
            Purpose::Developer,
            Form::Concentrate,
            Some("Lamplight concentrate, 1+9"),
        ),
        (Some(9), None, None),
        (None, Some(90)),
        (500, 500, 1780),
        "Danger / H314, P260, P280 / Invented sheet. | Warning / H315, H319, P280 / Invented sheet.",
    ),
    (
        ("Twinrope A", Purpose::Developer, Form::Concentrate, Some(TWO_PARTS)),
        (None, None, None),
        (None, Some(180)),
        (250, 100, 1640),
        "Danger / H302, H317, H318, P261, P280 / Invented sheet. | Warning / H317, P280 / Invented sheet.",
    ),
    (
        ("Twinrope B", Purpose::Developer, Form::Concentrate, Some(TWO_PARTS)),
        (None, None, None),
        (None, Some(365)),
        (250, 100, 980),
        "Warning / H319, P280 / Invented sheet. | // Not classified at this strength. Invented sheet.",
    ),
];

/// The lines of a data sheet written in one text: signal word / codes / plain words, and after `|`
/// the same for the working strength, where it differs.
pub(super) fn sheet_of(text: &str) -> Result<Sheet, Error> {
    let lines = |text: &str| {
        let mut parts = text.splitn(3, '/').map(str::trim);
        let mut next = || parts.next().unwrap_or_default();
        Lines::read(next(), next(), next()).map_err(|e| Error::broken("the invented shelf", e))
    };
    let (strong, weak) = text.split_once('|').unwrap_or((text, text));
    Ok(Sheet { concentrate: lines(strong)?, working: lines(weak)? })
}
