//! Cells of a spreadsheet: what would be taken for a formula is made harmless, and read back as
//! it was.

use std::borrow::Cow;

/// The cell with an apostrophe in front where a spreadsheet would take it for a formula, or where
/// it begins with one already, so that [`original`] gives back exactly what was there.
#[must_use]
pub fn harmless(cell: &str) -> Cow<'_, str> {
    if cell.starts_with(['=', '+', '-', '@', '\'', '\t', '\r', '\n']) {
        Cow::Owned(format!("'{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// The cell as it was before [`harmless`].
#[must_use]
pub fn original(cell: &str) -> &str {
    cell.strip_prefix('\'').unwrap_or(cell)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn formulas_become_words() {
        for formula in ["=1+1", "+1", "-1", "@sum", "\t=1"] {
            assert!(harmless(formula).starts_with('\''), "{formula}");
        }
        assert_eq!(harmless("Gannet 400"), "Gannet 400");
    }

    proptest! {
        #[test]
        fn a_cell_reads_back_as_it_was(text in ".{0,20}", first in "[=+@'-]?") {
            let cell = format!("{first}{text}");
            let kept = harmless(&cell).into_owned();
            prop_assert_eq!(original(&kept), &cell);
        }
    }
}
