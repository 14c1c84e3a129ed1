//! How much came in and was developed in a stretch of time, by the keys of those times.

use diesel::prelude::*;

use crate::clock::{Moment, Span};
use crate::db::Conn;
use crate::db::schema::{processing_records, rolls};
use crate::error::Error;

/// When tickets were handed in.
pub(in crate::rolls) fn handed_in_within(
    conn: &mut Conn,
    span: Span,
) -> Result<Vec<Moment>, Error> {
    let times: Vec<i64> = rolls::table
        .filter(rolls::handed_in_s.ge(span.from.0))
        .filter(rolls::handed_in_s.lt(span.to.0))
        .select(rolls::handed_in_s)
        .load(conn)?;
    Ok(times.into_iter().map(Moment).collect())
}

/// When film was developed, as the processing records say.
pub(in crate::rolls) fn developed_within(
    conn: &mut Conn,
    span: Span,
) -> Result<Vec<Moment>, Error> {
    let times: Vec<i64> = processing_records::table
        .filter(processing_records::at_s.ge(span.from.0))
        .filter(processing_records::at_s.lt(span.to.0))
        .select(processing_records::at_s)
        .load(conn)?;
    Ok(times.into_iter().map(Moment).collect())
}
