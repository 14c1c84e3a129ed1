//! Labels: sheets described by their measures, and the code that opens a roll's page.

use std::borrow::Cow;

use qrcode::{Color, EcLevel, QrCode};

/// A sheet of labels, described by its measures in tenths of a millimetre.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Sheet {
    /// What it is called in an address.
    pub(super) word: Cow<'static, str>,
    /// What a lead calls it; empty for a common one.
    pub(super) name: String,
    /// The paper: `a4`, `letter` or `own`.
    pub(super) paper: &'static str,
    /// The paper's width and height.
    pub(super) page: (i64, i64),
    /// Labels beside and below each other.
    pub(super) grid: (i64, i64),
    /// One label's width and height.
    pub(super) label: (i64, i64),
    /// The gap between two beside and two below each other.
    pub(super) gap: (i64, i64),
    /// What is left free beside and above the first label.
    pub(super) margin: (i64, i64),
}

const A4: (i64, i64) = (2100, 2970);
const LETTER: (i64, i64) = (2159, 2794);

/// Sheets that stationers sell everywhere (measures of common practice, no source): try one on
/// plain paper first.
pub(super) const SHEETS: [Sheet; 5] = [
    sheet("a4-3x8", ("a4", A4), (3, 8), (700, 370), (0, 0)),
    sheet("a4-3x7", ("a4", A4), (3, 7), (635, 381), (25, 0)),
    sheet("a4-4x10", ("a4", A4), (4, 10), (525, 297), (0, 0)),
    sheet("a4-5x13", ("a4", A4), (5, 13), (381, 212), (25, 0)),
    sheet("letter-3x10", ("letter", LETTER), (3, 10), (667, 254), (31, 0)),
];

/// A common sheet; what is left of the paper beside and above the labels is shared out evenly.
const fn sheet(
    word: &'static str,
    (paper, page): (&'static str, (i64, i64)),
    grid: (i64, i64),
    label: (i64, i64),
    gap: (i64, i64),
) -> Sheet {
    let margin = (
        (page.0 - grid.0 * label.0 - (grid.0 - 1) * gap.0) / 2,
        (page.1 - grid.1 * label.1 - (grid.1 - 1) * gap.1) / 2,
    );
    Sheet { word: Cow::Borrowed(word), name: String::new(), paper, page, grid, label, gap, margin }
}

impl Sheet {
    /// Labels on one sheet.
    pub(super) fn count(&self) -> i64 {
        self.grid.0 * self.grid.1
    }

    /// The sheet in words.
    pub(super) fn in_words(&self) -> String {
        let name = match self.paper {
            "a4" => "A4",
            "letter" => "US Letter",
            _ => self.name.as_str(),
        };
        format!(
            "{name}, {} labels, {} × {} of {} × {} mm",
            self.count(),
            self.grid.0,
            self.grid.1,
            millimetres(self.label.0),
            millimetres(self.label.1)
        )
    }

    /// What is wrong with its measures: which field, and what to do.
    pub(super) fn fault(&self) -> Option<(&'static str, String)> {
        let over = |margin: i64, count: i64, label: i64, gap: i64, page: i64| {
            margin + count * label + (count - 1) * gap - page
        };
        let across = over(self.margin.0, self.grid.0, self.label.0, self.gap.0, self.page.0);
        let down = over(self.margin.1, self.grid.1, self.label.1, self.gap.1, self.page.1);
        let sentence = |by: i64, way: &str| {
            format!(
                "The labels are {} mm too much for the paper {way}. Check margin, number, size and \
                 gap.",
                millimetres(by)
            )
        };
        if across > 0 {
            return Some(("label_width", sentence(across, "across")));
        }
        (down > 0).then(|| ("label_height", sentence(down, "downwards")))
    }

    /// The upper left corner of the label on this place, counted row by row from 0.
    pub(super) fn corner(&self, place: i64) -> (i64, i64) {
        let (column, row) = (place % self.grid.0, place / self.grid.0 % self.grid.1);
        (
            self.margin.0 + column * (self.label.0 + self.gap.0),
            self.margin.1 + row * (self.label.1 + self.gap.1),
        )
    }
}

/// Tenths of a millimetre as millimetres.
pub(super) fn millimetres(tenths: i64) -> String {
    if tenths % 10 == 0 {
        (tenths / 10).to_string()
    } else {
        format!("{}.{}", tenths / 10, (tenths % 10).abs())
    }
}

/// A code for a scanner: its modules as an SVG path in units of one module, and how many modules
/// it is wide, the quiet zone of four left out (ISO/IEC 18004).
#[derive(Clone, Debug)]
pub(super) struct Code {
    /// The dark modules.
    pub(super) path: String,
    /// Modules beside each other.
    pub(super) width: usize,
}

/// The code of an address; nothing when it is too long for one.
pub(super) fn code(address: &str) -> Option<Code> {
    let code = QrCode::with_error_correction_level(address, EcLevel::M).ok()?;
    let width = code.width();
    let colors = code.to_colors();
    let mut path = String::new();
    for (y, row) in colors.chunks(width).enumerate() {
        let mut x = 0;
        while x < row.len() {
            let dark = row.iter().skip(x).take_while(|c| **c == Color::Dark).count();
            if dark > 0 {
                path.push_str(&format!("M{x} {y}h{dark}v1h-{dark}z"));
            }
            x += dark.max(1);
        }
    }
    Some(Code { path, width })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_label_lies_on_its_paper_and_on_no_other() {
        for s in SHEETS {
            assert_eq!(s.fault(), None);
            let all: Vec<(i64, i64)> = (0..s.count()).map(|n| s.corner(n)).collect();
            for (n, (x, y)) in all.iter().enumerate() {
                assert!(*x >= 0 && x + s.label.0 <= s.page.0, "{} {n}", s.word);
                assert!(*y >= 0 && y + s.label.1 <= s.page.1, "{} {n}", s.word);
                for (other_x, other_y) in all.iter().skip(n + 1) {
                    let beside = (x - other_x).abs() >= s.label.0;
                    assert!(beside || (y - other_y).abs() >= s.label.1, "{} {n}", s.word);
                }
            }
        }
    }

    #[test]
    fn labels_that_do_not_fit_their_paper_are_named() {
        let [mut s, ..] = SHEETS;
        s.margin.0 = 20;
        assert!(
            s.fault().is_some_and(|(field, why)| field == "label_width" && why.contains("2 mm"))
        );
        s.margin = (0, 50);
        assert!(s.fault().is_some_and(|(field, _)| field == "label_height"));
    }

    #[test]
    fn a_code_is_as_large_as_its_text_needs() {
        let short = code("https://a.example/rolls/ABCDEF").unwrap();
        let long = code(&format!("https://a.example/{}", "x".repeat(300))).unwrap();
        assert!(short.width >= 21 && long.width > short.width);
        assert!(short.path.starts_with('M'));
        assert!(code(&"x".repeat(5000)).is_none());
    }
}
