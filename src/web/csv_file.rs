//! Tables as files for a spreadsheet.

use actix_web::HttpResponse;

use crate::error::Error;

/// Answers with a CSV file (RFC 4180, UTF-8) for download. A cell that a spreadsheet would take for
/// a formula gets an apostrophe in front; plain numbers are left as they are.
///
/// # Errors
/// When a row cannot be written.
pub fn csv_file(name: &str, rows: &[Vec<String>]) -> Result<HttpResponse, Error> {
    let bad = |e: &dyn std::fmt::Display| Error::broken("writing a CSV file", e);
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .flexible(true)
        .from_writer(Vec::new());
    for row in rows {
        writer.write_record(row.iter().map(|c| harmless(c))).map_err(|e| bad(&e))?;
    }
    let body = writer.into_inner().map_err(|e| bad(&e))?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8")
        .insert_header(("Content-Disposition", format!("attachment; filename=\"{name}\"")))
        .body(body))
}

fn harmless(cell: &str) -> String {
    let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
    let number = !cell.is_empty()
        && cell.strip_prefix('-').unwrap_or(cell).chars().all(|c| c.is_ascii_digit() || c == '.');
    if formula && !number { format!("'{cell}") } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn a_cell_is_never_a_formula() {
        assert_eq!(harmless("=1+1"), "'=1+1");
        assert_eq!(harmless("@cmd"), "'@cmd");
        assert_eq!(harmless("-12.50"), "-12.50");
        assert_eq!(harmless("-A1"), "'-A1");
        assert_eq!(harmless("Fixer, 1+4"), "Fixer, 1+4");
    }
}
