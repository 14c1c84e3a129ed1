//! How well a stretch of time is covered by leads on duty.

use std::collections::BTreeSet;

use chrono::{Days, NaiveDate, NaiveTime};

use crate::clock::{Moment, Span, WallFault, Zone};
use crate::error::Error;

/// The fewest different leads on duty at any moment of a stretch.
#[must_use]
pub fn fewest(span: Span, duties: &[(i64, Span)]) -> usize {
    // Cover changes only where a duty begins or ends, so a look after each such edge is enough.
    let edges = duties.iter().flat_map(|(_, d)| [d.from, d.to]);
    let looks = edges.chain([span.from]).filter(|m| span.from <= *m && *m < span.to);
    let on_duty = |at: Moment| {
        let here = duties.iter().filter(|(_, d)| d.from <= at && at < d.to);
        here.map(|(lead, _)| *lead).collect::<BTreeSet<_>>().len()
    };
    looks.map(on_duty).min().unwrap_or(0)
}

/// The stretch that these wall-clock times name; midnight as the end is the end of the day. A
/// repeated hour counts whole: who is on duty over it is there for both.
pub(super) fn span(
    zone: Zone,
    date: NaiveDate,
    from: NaiveTime,
    to: NaiveTime,
) -> Result<Span, Error> {
    let day_of_end = if to == NaiveTime::MIN {
        date.checked_add_days(Days::new(1)).unwrap_or(date)
    } else {
        date
    };
    let at = |field: &str, wall, late: bool| match zone.instant(wall) {
        Ok(m) => Ok(m),
        Err(WallFault::Twice(first, second)) => Ok(if late { second } else { first }),
        Err(WallFault::Missing) => Err(Error::field(
            field,
            format!("On {date} the clocks go forward and skip that time. Choose another."),
        )),
    };
    let start = at("from", date.and_time(from), false)?;
    let end = at("to", day_of_end.and_time(to), true)?;
    Span::new(start, end)
        .ok_or_else(|| Error::field("to", "The end must come after the beginning, the same day."))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn s(from: i64, to: i64) -> Span {
        Span { from: Moment(from), to: Moment(to) }
    }

    #[test]
    fn a_gap_of_a_moment_is_a_gap() {
        assert_eq!(fewest(s(0, 100), &[(1, s(0, 50)), (2, s(50, 100))]), 1);
        assert_eq!(fewest(s(0, 100), &[(1, s(0, 50)), (2, s(51, 100))]), 0);
        assert_eq!(fewest(s(0, 100), &[(1, s(0, 99))]), 0);
        assert_eq!(
            fewest(s(0, 100), &[(1, s(-5, 200)), (1, s(0, 100))]),
            1,
            "one lead counts once"
        );
        assert_eq!(fewest(s(0, 100), &[(1, s(-5, 200)), (2, s(0, 100))]), 2);
        assert_eq!(fewest(s(0, 100), &[]), 0);
    }

    proptest! {
        #[test]
        fn it_is_what_looking_at_every_second_finds(
            duties in proptest::collection::vec((1_i64..4, 0_i64..60, 1_i64..30), 0..8)
        ) {
            let duties: Vec<(i64, Span)> =
                duties.into_iter().map(|(lead, from, long)| (lead, s(from, from + long))).collect();
            let slowly = (10..50).map(|t| {
                let here = duties.iter().filter(|(_, d)| d.from.0 <= t && t < d.to.0);
                here.map(|(l, _)| *l).collect::<BTreeSet<_>>().len()
            }).min().unwrap();
            prop_assert_eq!(fewest(s(10, 50), &duties), slowly);
        }
    }
}
