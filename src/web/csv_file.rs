//! Tables as files for a spreadsheet.

use std::borrow::Cow;

use actix_web::HttpResponse;

use super::cell;
use crate::error::Error;

/// Rows as CSV (RFC 4180): commas, quotes where they are needed, CRLF, UTF-8 without a byte order
/// mark. Every cell goes through `guard`, such as [`cell::harmless`].
///
/// # Errors
/// When a row cannot be written.
pub fn csv_text<'a>(
    rows: impl IntoIterator<Item = &'a Vec<String>>,
    guard: impl Fn(&str) -> Cow<'_, str>,
) -> Result<Vec<u8>, Error> {
    let bad = |e: &dyn std::fmt::Display| Error::broken("writing a CSV file", e);
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .flexible(true)
        .from_writer(Vec::new());
    for row in rows {
        writer.write_record(row.iter().map(|c| guard(c).into_owned())).map_err(|e| bad(&e))?;
    }
    writer.into_inner().map_err(|e| bad(&e))
}

/// Answers with a CSV file for download, for people to read and add up: what a spreadsheet would
/// take for a formula is made harmless, plain numbers are left as they are.
///
/// # Errors
/// As [`csv_text`].
pub fn csv_file(name: &str, rows: &[Vec<String>]) -> Result<HttpResponse, Error> {
    let body = csv_text(rows, harmless_but_numbers)?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header(("Content-Disposition", format!("attachment; filename=\"{name}\"")))
        .body(body))
}

fn harmless_but_numbers(text: &str) -> Cow<'_, str> {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let number = !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit() || c == '.');
    if number { Cow::Borrowed(text) } else { cell::harmless(text) }
}

#[cfg(test)]
mod tests {
    use super::harmless_but_numbers;

    #[test]
    fn a_cell_is_never_a_formula() {
        assert_eq!(harmless_but_numbers("=1+1"), "'=1+1");
        assert_eq!(harmless_but_numbers("@cmd"), "'@cmd");
        assert_eq!(harmless_but_numbers("-12.50"), "-12.50");
        assert_eq!(harmless_but_numbers("-A1"), "'-A1");
        assert_eq!(harmless_but_numbers("-"), "'-");
        assert_eq!(harmless_but_numbers("Fixer, 1+4"), "Fixer, 1+4");
    }
}
