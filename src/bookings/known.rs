//! Days that were just read, for whoever looks at them next.
//!
//! The pulse counts every change of what a board shows, and its count comes with the question who
//! is asking. While it stands, no day has changed, and nothing is asked of the database again.

use std::collections::VecDeque;
use std::sync::Arc;

use chrono::NaiveDate;
use parking_lot::Mutex;

use super::board::{Board, board};
use crate::app::App;
use crate::clock::Zone;
use crate::error::Error;
use crate::pulse;

/// So many days are kept: a week, the weeks beside it, and some.
const MOST: usize = 24;

#[derive(Debug)]
struct Known {
    zone: Zone,
    date: NaiveDate,
    /// The pulse's count when this day was found at its own.
    beat: Option<i64>,
    revision: i64,
    board: Option<Read>,
}

/// A board with the minute in which it was read.
type Read = (i64, Arc<Board>);

/// A date, the count of its last change, and the present minute.
type Wanted = (NaiveDate, i64, i64);

/// Days that were just read, each under the count of its last change.
#[derive(Debug, Default)]
pub struct KnownDays(Mutex<VecDeque<Known>>);

impl KnownDays {
    fn revision(&self, zone: Zone, date: NaiveDate, beat: i64) -> Option<i64> {
        let is_it = |k: &&Known| k.zone == zone && k.date == date && k.beat == Some(beat);
        self.0.lock().iter().find(is_it).map(|k| k.revision)
    }

    /// The day, read in this minute: a pulse that missed a change would not be believed for long.
    fn board(&self, zone: Zone, (date, revision, minute): Wanted) -> Option<Arc<Board>> {
        let is_it = |k: &&Known| k.zone == zone && k.date == date && k.revision == revision;
        let days = self.0.lock();
        let (read, board) = days.iter().find(is_it)?.board.as_ref()?;
        (*read == minute).then(|| board.clone())
    }

    /// Notes what is known of a day; a board of the same count stays.
    fn note(&self, new: Known) {
        let mut days = self.0.lock();
        let before = days.iter().position(|k| k.zone == new.zone && k.date == new.date);
        let before = before.and_then(|at| days.remove(at)).filter(|k| k.revision == new.revision);
        let kept = before.as_ref().and_then(|k| k.board.clone());
        let beat = new.beat.or(before.and_then(|k| k.beat));
        days.push_back(Known { beat, board: new.board.or(kept), ..new });
        while days.len() > MOST {
            days.pop_front();
        }
    }
}

/// The count of the last change of this day, asked of the database only if anything at all
/// changed since it was last asked. `beat` is the pulse's count as whoever asks was recognised.
///
/// # Errors
/// As the database's.
pub(super) async fn revision(app: &App, beat: Option<i64>, date: NaiveDate) -> Result<i64, Error> {
    let zone = app.zone();
    if let Some(known) = beat.and_then(|beat| app.days.revision(zone, date, beat)) {
        return Ok(known);
    }
    let revision = app.db.glance(move |conn| pulse::revision(conn, zone.day(date))).await?;
    // Asked after the beat was: what changed between the two is in it already.
    app.days.note(Known { zone, date, beat, revision, board: None });
    Ok(revision)
}

/// The day as it was at this count or later: a change between the two is drawn now and again,
/// never missed.
///
/// # Errors
/// As the database's.
pub(super) async fn at_revision(
    app: &App,
    date: NaiveDate,
    revision: i64,
) -> Result<Arc<Board>, Error> {
    let zone = app.zone();
    let minute = app.clock.now().0.div_euclid(60);
    if let Some(known) = app.days.board(zone, (date, revision, minute)) {
        return Ok(known);
    }
    let read = Arc::new(app.db.look_briefly(move |conn| board(conn, zone, date)).await?);
    app.days.note(Known { zone, date, beat: None, revision, board: Some((minute, read.clone())) });
    Ok(read)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn zone() -> Zone {
        Zone::named("Europe/Dublin").unwrap()
    }

    fn day(number: u64) -> NaiveDate {
        "2027-03-01".parse::<NaiveDate>().unwrap() + chrono::Days::new(number)
    }

    fn known(number: u64, beat: Option<i64>, revision: i64, is_read: bool) -> Known {
        let board = Board {
            date: day(number),
            open: Vec::new(),
            special: None,
            grid_min: 15,
            sinks: Vec::new(),
            entries: Vec::new(),
        };
        let board = is_read.then(|| (0, Arc::new(board)));
        Known { zone: zone(), date: day(number), beat, revision, board }
    }

    #[test]
    fn a_day_is_known_under_its_own_count_and_no_other() {
        let (days, zone) = (KnownDays::default(), zone());
        days.note(known(1, Some(7), 4, false));
        assert_eq!(days.revision(zone, day(1), 7), Some(4));
        assert_eq!(days.revision(zone, day(1), 8), None, "something changed since");
        assert_eq!(days.revision(zone, day(2), 7), None);
        assert!(days.board(zone, (day(1), 4, 0)).is_none());
        days.note(known(1, None, 4, true));
        assert_eq!(days.revision(zone, day(1), 7), Some(4), "reading it forgets no count");
        days.note(known(1, Some(8), 4, false));
        assert!(days.board(zone, (day(1), 4, 0)).is_some(), "another day changed");
        assert!(days.board(zone, (day(1), 4, 1)).is_none(), "a minute has gone by");
        days.note(known(1, Some(9), 9, false));
        assert!(days.board(zone, (day(1), 4, 0)).is_none(), "this day changed");
        assert!(days.board(zone, (day(1), 9, 0)).is_none());
    }

    #[test]
    fn the_days_not_asked_for_longest_make_room() {
        let (days, zone) = (KnownDays::default(), zone());
        for number in 0..u64::try_from(MOST).unwrap() + 2 {
            days.note(known(number, Some(1), 1, true));
        }
        assert!(days.board(zone, (day(1), 1, 0)).is_none());
        assert!(days.board(zone, (day(2), 1, 0)).is_some());
    }
}
