//! Labels: sheets described by their measures, and the code that opens a roll's page.

use qrcode::{Color, EcLevel, QrCode};

/// A sheet of labels, described by its measures in tenths of a millimetre. What is left of the
/// paper beside and above the labels is shared out evenly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Sheet {
    /// What it is called in an address.
    pub(super) word: &'static str,
    /// The paper: `a4` or `letter`.
    pub(super) paper: &'static str,
    /// The paper's width and height.
    pub(super) page: (i64, i64),
    /// Labels beside and below each other.
    pub(super) grid: (i64, i64),
    /// One label's width and height.
    pub(super) label: (i64, i64),
    /// The gap between two beside and two below each other.
    pub(super) gap: (i64, i64),
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

const fn sheet(
    word: &'static str,
    (paper, page): (&'static str, (i64, i64)),
    grid: (i64, i64),
    label: (i64, i64),
    gap: (i64, i64),
) -> Sheet {
    Sheet { word, paper, page, grid, label, gap }
}

impl Sheet {
    /// The sheet of that word.
    pub(super) fn named(word: &str) -> Option<Sheet> {
        SHEETS.into_iter().find(|s| s.word == word)
    }

    /// Labels on one sheet.
    pub(super) fn count(&self) -> i64 {
        self.grid.0 * self.grid.1
    }

    /// The sheet in words.
    pub(super) fn in_words(&self) -> String {
        let paper = if self.paper == "a4" { "A4" } else { "US Letter" };
        format!(
            "{paper}, {} labels, {} × {} of {} × {} mm",
            self.count(),
            self.grid.0,
            self.grid.1,
            millimetres(self.label.0),
            millimetres(self.label.1)
        )
    }

    /// The upper left corner of the label on this place, counted row by row from 0.
    pub(super) fn corner(&self, place: i64) -> (i64, i64) {
        let (column, row) = (place % self.grid.0, place / self.grid.0 % self.grid.1);
        let edge = |page: i64, count: i64, label: i64, gap: i64| {
            (page - count * label - (count - 1) * gap) / 2
        };
        let left = edge(self.page.0, self.grid.0, self.label.0, self.gap.0);
        let top = edge(self.page.1, self.grid.1, self.label.1, self.gap.1);
        (left + column * (self.label.0 + self.gap.0), top + row * (self.label.1 + self.gap.1))
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
            assert_eq!(Sheet::named(s.word), Some(s));
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
    fn a_code_is_as_large_as_its_text_needs() {
        let short = code("https://a.example/rolls/ABCDEF").unwrap();
        let long = code(&format!("https://a.example/{}", "x".repeat(300))).unwrap();
        assert!(short.width >= 21 && long.width > short.width);
        assert!(short.path.starts_with('M'));
        assert!(code(&"x".repeat(5000)).is_none());
    }
}
