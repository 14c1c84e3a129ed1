//! The day as a table and as a list: which stretch of which place is what. Pure.

use super::{Board, Entry};
use crate::clock::{Moment, Span};
use crate::sinks::Sink;

/// A column of the day: one place at one sink.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column<'a> {
    /// The sink.
    pub sink: &'a Sink,
    /// Which place of it, from 1.
    pub seat: i64,
}

/// What one place is for a while.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Piece<'a> {
    /// Held.
    Held(&'a Entry),
    /// The studio is closed.
    Closed,
    /// Gone by.
    Past,
    /// Free, for one row.
    Free,
}

/// A piece with the rows it reaches over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell<'a> {
    /// What it is.
    pub piece: Piece<'a>,
    /// When.
    pub span: Span,
    /// Over how many rows, at least 1.
    pub rows: usize,
}

/// The places of the day, in the order of the sinks.
#[must_use]
pub fn columns(board: &Board) -> Vec<Column<'_>> {
    board
        .sinks
        .iter()
        .flat_map(|sink| (1..=sink.places).map(move |seat| Column { sink, seat }))
        .collect()
}

/// Where rows begin and where the last ends: about every half hour of the opening, on the grid that
/// bookings keep to, and wherever something begins or ends. Nothing before `from`.
#[must_use]
pub fn marks(board: &Board, from: Moment) -> Vec<Moment> {
    let (Some(first), Some(last)) = (board.open.first(), board.open.last()) else {
        return Vec::new();
    };
    let grid_s = board.grid_min.max(1) * 60;
    let row_s = (1800 + grid_s - 1) / grid_s * grid_s;
    let start = first.from.max(from);
    let end = last.to;
    let mut marks: Vec<Moment> = board
        .open
        .iter()
        .flat_map(|o| [o.from, o.to])
        .chain(board.entries.iter().flat_map(|e| [e.span.from, e.span.to]))
        .filter(|m| start < *m && *m < end)
        .chain([start, end])
        .collect();
    let mut row = start.plus(row_s);
    while row < end {
        marks.push(row);
        row = row.plus(row_s);
    }
    marks.sort_unstable();
    marks.dedup();
    if start < end { marks } else { Vec::new() }
}

/// The cells of one place from the first mark to the last: row by row where it is free, over as
/// many rows as it lasts where it is not.
#[must_use]
pub fn cells<'a>(
    board: &'a Board,
    column: Column<'_>,
    marks: &[Moment],
    now: Moment,
) -> Vec<Cell<'a>> {
    let entries: Vec<&Entry> = board
        .entries
        .iter()
        .filter(|e| e.sink_id == column.sink.id && e.seat == column.seat)
        .collect();
    let mut cells: Vec<Cell<'a>> = Vec::new();
    for (from, to) in marks.iter().zip(marks.iter().skip(1)) {
        let row = Span { from: *from, to: *to };
        let piece = match entries.iter().find(|e| e.span.meets(&row)) {
            Some(entry) => Piece::Held(entry),
            None if !board.open.iter().any(|o| o.meets(&row)) => Piece::Closed,
            None if row.to <= now => Piece::Past,
            None => Piece::Free,
        };
        match cells.last_mut() {
            Some(last) if last.piece == piece && piece != Piece::Free => {
                last.rows += 1;
                last.span.to = row.to;
            }
            _ => cells.push(Cell { piece, span: row, rows: 1 }),
        }
    }
    cells
}

/// The stretches from now on in which the sink is open and has a place free.
#[must_use]
pub fn free(board: &Board, sink: &Sink, now: Moment) -> Vec<Span> {
    let places = usize::try_from(sink.places).unwrap_or(0);
    let held: Vec<Span> =
        board.entries.iter().filter(|e| e.sink_id == sink.id).map(|e| e.span).collect();
    let mut free: Vec<Span> = Vec::new();
    for open in board.open.iter().filter(|o| now < o.to) {
        let start = open.from.max(now);
        let mut marks: Vec<Moment> = held
            .iter()
            .flat_map(|s| [s.from, s.to])
            .filter(|m| start < *m && *m < open.to)
            .chain([start, open.to])
            .collect();
        marks.sort_unstable();
        for (from, to) in marks.iter().zip(marks.iter().skip(1)).filter(|(a, b)| a < b) {
            let busy = held.iter().filter(|s| s.from <= *from && *from < s.to).count();
            if busy >= places {
                continue;
            }
            match free.last_mut() {
                Some(last) if last.to == *from && *from != start => last.to = *to,
                _ => free.push(Span { from: *from, to: *to }),
            }
        }
    }
    free
}

#[cfg(test)]
mod tests {
    use super::super::What;
    use super::*;

    fn span(from: i64, to: i64) -> Span {
        Span { from: Moment(from * 60), to: Moment(to * 60) }
    }

    fn day(places: i64, held: &[(i64, Span)]) -> Board {
        let entry = |(seat, span): &(i64, Span)| Entry {
            sink_id: 1,
            seat: *seat,
            span: *span,
            cleaning: span.to,
            what: What::Other,
        };
        Board {
            date: "2027-03-15".parse().unwrap(),
            open: vec![span(60, 180), span(240, 300)],
            special: None,
            grid_min: 15,
            sinks: vec![Sink { id: 1, places, ..Sink::default() }],
            entries: held.iter().map(entry).collect(),
        }
    }

    fn rows(board: &Board, now: i64) -> Vec<(String, usize)> {
        let marks = marks(board, Moment(0));
        let column = columns(board)[0];
        cells(board, column, &marks, Moment(now * 60))
            .iter()
            .map(|c| {
                let word = match c.piece {
                    Piece::Held(_) => "held",
                    Piece::Closed => "closed",
                    Piece::Past => "past",
                    Piece::Free => "free",
                };
                (word.to_owned(), c.rows)
            })
            .collect()
    }

    #[test]
    fn every_row_of_a_column_is_covered_once() {
        let board = day(1, &[(1, span(100, 150))]);
        let marks = marks(&board, Moment(0));
        let cells = cells(&board, columns(&board)[0], &marks, Moment(70 * 60));
        assert_eq!(cells.iter().map(|c| c.rows).sum::<usize>(), marks.len() - 1);
        let ends: Vec<Moment> = cells.iter().map(|c| c.span.to).collect();
        assert!(cells.iter().skip(1).zip(ends).all(|(c, end)| c.span.from == end));
    }

    #[test]
    fn rows_keep_to_the_grid_of_bookings() {
        let lengths = |grid_min: i64| {
            let board = Board { grid_min, ..day(1, &[]) };
            let marks = marks(&board, Moment(0));
            let mut lengths: Vec<i64> =
                marks.windows(2).map(|w| w[1].since(w[0]) / 60).filter(|m| *m > 0).collect();
            lengths.sort_unstable();
            lengths.dedup();
            lengths
        };
        assert_eq!(lengths(15), [30]);
        assert_eq!(lengths(60), [60]);
        assert_eq!(lengths(20), [20, 40], "the opening itself ends on the hour");
    }

    #[test]
    fn what_lasts_is_one_cell_and_what_is_free_is_one_a_row() {
        let board = day(1, &[(1, span(100, 150))]);
        let word = |w: &str, n| (w.to_owned(), n);
        assert_eq!(
            rows(&board, 75),
            [
                word("free", 1),
                word("free", 1),
                word("held", 2),
                word("free", 1),
                word("closed", 2),
                word("free", 1),
                word("free", 1)
            ]
        );
        assert_eq!(rows(&board, 95)[0], word("past", 1));
    }

    #[test]
    fn a_sink_is_free_while_one_of_its_places_is() {
        let board = day(2, &[(1, span(60, 120)), (2, span(90, 150))]);
        let sink = board.sinks[0].clone();
        assert_eq!(free(&board, &sink, Moment(0)), [span(60, 90), span(120, 180), span(240, 300)]);
        assert_eq!(free(&board, &sink, Moment(130 * 60))[0], span(130, 180));
        assert_eq!(free(&board, &sink, Moment(200 * 60)), [span(240, 300)]);
        assert_eq!(free(&board, &sink, Moment(300 * 60)), []);
    }
}
