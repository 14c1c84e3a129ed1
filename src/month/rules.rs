//! The month in figures. Times are counted in whole minutes and every figure stands in the table, so
//! that the sums are the sums of what is shown.

use chrono::{Datelike, NaiveDate};

use crate::clock::{Month, Span};

/// One day of the room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct DayUse {
    pub(super) date: NaiveDate,
    /// Minutes the room is open.
    pub(super) open: i64,
    /// Minutes each sink is taken while the room is open, never more than that.
    pub(super) taken: Vec<i64>,
}

impl DayUse {
    /// Minutes of all sinks together.
    pub(super) fn sum(&self) -> i64 {
        self.taken.iter().sum()
    }
}

/// How much of each day's opening each sink is taken. Where a sink has several places it is taken
/// as long as somebody is at one of them, so what meets is counted once.
pub(super) fn days(
    open: &[(NaiveDate, Vec<Span>)],
    sinks: &[i64],
    taken: &[(i64, Span)],
) -> Vec<DayUse> {
    let of = |sink: &i64| -> Vec<Span> {
        taken.iter().filter(|(of, _)| of == sink).map(|(_, span)| *span).collect()
    };
    let by_sink: Vec<Vec<Span>> = sinks.iter().map(of).collect();
    let day = |(date, open): &(NaiveDate, Vec<Span>)| DayUse {
        date: *date,
        open: minutes(open.clone()),
        taken: by_sink.iter().map(|spans| minutes(within(spans, open))).collect(),
    };
    open.iter().map(day).collect()
}

/// The parts of some stretches that lie within others.
fn within(spans: &[Span], open: &[Span]) -> Vec<Span> {
    let part = |a: &Span, b: &Span| Span::new(a.from.max(b.from), a.to.min(b.to));
    spans.iter().flat_map(|s| open.iter().filter_map(move |o| part(s, o))).collect()
}

/// The whole minutes that these stretches cover, each moment once.
fn minutes(mut spans: Vec<Span>) -> i64 {
    spans.sort_by_key(|s| s.from);
    let mut seconds = 0;
    let mut until = None;
    for span in spans {
        let from = until.map_or(span.from, |until| span.from.max(until));
        seconds += span.to.since(from).max(0);
        until = Some(until.map_or(span.to, |until| span.to.max(until)));
    }
    seconds / 60
}

/// A week, as far as it lies in the month.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct WeekOfRolls {
    pub(super) from: NaiveDate,
    pub(super) to: NaiveDate,
    /// Tickets handed in.
    pub(super) came: i64,
    /// Tickets developed.
    pub(super) developed: i64,
}

/// What came in and was developed in each week of the month, Monday to Sunday.
pub(super) fn weeks(month: Month, came: &[NaiveDate], developed: &[NaiveDate]) -> Vec<WeekOfRolls> {
    let mut all: Vec<WeekOfRolls> = Vec::new();
    for date in month.dates() {
        match all.last_mut() {
            Some(week) if date.weekday() != chrono::Weekday::Mon => week.to = date,
            _ => all.push(WeekOfRolls { from: date, to: date, came: 0, developed: 0 }),
        }
    }
    for week in &mut all {
        let lies_in = |d: &&NaiveDate| (week.from..=week.to).contains(*d);
        let count = |dates: &[NaiveDate]| {
            i64::try_from(dates.iter().filter(lies_in).count()).unwrap_or(i64::MAX)
        };
        (week.came, week.developed) = (count(came), count(developed));
    }
    all
}

/// Minutes as hours on a clock: `7:30`.
pub(super) fn hours(minutes: i64) -> String {
    format!("{}:{:02}", minutes / 60, minutes % 60)
}

/// So many per cent of a whole, rounded down; nothing of nothing.
pub(super) fn percent(part: i64, whole: i64) -> i64 {
    crate::web::in_proportion(part, whole, 100)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::{Moment, Zone};
    use proptest::prelude::*;

    fn span(from: i64, to: i64) -> Span {
        Span { from: Moment(from), to: Moment(to) }
    }

    #[test]
    fn what_meets_is_counted_once_and_what_is_outside_not_at_all() {
        let date = NaiveDate::from_ymd_opt(2027, 3, 15).unwrap();
        let open = vec![(date, vec![span(3600, 7200), span(10_800, 14_400)])];
        let taken = [
            (1, span(0, 5400)),
            (1, span(4500, 6000)),
            (1, span(7200, 10_800)),
            (2, span(12_000, 99_000)),
            (3, span(3600, 7200)),
        ];
        let day = DayUse { date, open: 120, taken: vec![40, 40] };
        assert_eq!(days(&open, &[1, 2], &taken), [day]);
        assert_eq!(hours(615), "10:15");
        assert_eq!((percent(1, 3), percent(0, 0), percent(7, 7)), (33, 0, 100));
    }

    #[test]
    fn a_day_whose_clocks_change_has_its_own_hours() {
        // EU summer time 2027 begins on 28 March and ends on 31 October (Directive 2000/84/EC).
        let dublin = Zone::named("Europe/Dublin").unwrap();
        for (day, open) in [("2027-03-28", 23 * 60), ("2027-10-31", 25 * 60)] {
            let date = day.parse().unwrap();
            let whole = dublin.day(date);
            let used = days(&[(date, vec![whole])], &[1], &[(1, whole)]);
            assert_eq!((used[0].open, used[0].taken[0]), (open, open), "{day}");
        }
    }

    proptest! {
        #[test]
        fn nothing_is_taken_longer_than_the_room_is_open(
            taken in prop::collection::vec((0_i64..4, 0_i64..2_700_000, 0_i64..200_000), 0..40),
            open in prop::collection::vec((0_i64..86_400, 0_i64..40_000), 0..3),
            month in 0..1200,
        ) {
            let dublin = Zone::named("Europe/Dublin").unwrap();
            let month = Month::read("2100-01").unwrap().step(month - 600);
            let start = month.span(dublin).from;
            let opening: Vec<(NaiveDate, Vec<Span>)> = month.dates().map(|d| {
                let day = dublin.day(d);
                let part = |(at, long): &(i64, i64)| {
                    Span::new(day.from.plus(*at), day.to.min(day.from.plus(at + long)))
                };
                (d, open.iter().filter_map(part).collect())
            }).collect();
            let taken: Vec<(i64, Span)> = taken.into_iter()
                .map(|(s, at, long)| (s, span(start.0 + at, start.0 + at + long))).collect();
            let used = days(&opening, &[0, 1, 2], &taken);
            prop_assert_eq!(used.len(), month.dates().count());
            for day in &used {
                let longest = dublin.day(day.date).seconds() / 60;
                prop_assert!(day.open <= longest);
                prop_assert!(day.taken.iter().all(|t| (0..=day.open).contains(t)));
                prop_assert!(percent(day.sum(), day.open * 3) <= 100);
            }
            // A sink taken all the time is taken for just as long as the room is open.
            let whole = days(&opening, &[9], &[(9, month.span(dublin))]);
            prop_assert!(whole.iter().all(|d| d.taken == [d.open]));
        }

        #[test]
        fn the_weeks_hold_every_ticket_of_the_month_once(
            came in prop::collection::vec(0_u64..120, 0..60),
            developed in prop::collection::vec(0_u64..120, 0..60),
            month in prop_oneof![Just(0), Just(2399), 0..2400],
        ) {
            let month = Month::read("2000-01").unwrap().step(month);
            let dates = |offsets: Vec<u64>| -> Vec<NaiveDate> {
                let begin = month.first() - chrono::Days::new(45);
                offsets.into_iter().map(|n| begin + chrono::Days::new(n)).collect()
            };
            let (came, developed) = (dates(came), dates(developed));
            let weeks = weeks(month, &came, &developed);
            // Not by `Month::of`: what lies beyond the calendar's two ends is no ticket of its end.
            let name = month.to_string();
            let of = |all: &[NaiveDate]| {
                let in_it = |d: &&NaiveDate| d.format("%Y-%m").to_string() == name;
                i64::try_from(all.iter().filter(in_it).count()).unwrap()
            };
            prop_assert_eq!(weeks.iter().map(|w| w.came).sum::<i64>(), of(&came));
            prop_assert_eq!(weeks.iter().map(|w| w.developed).sum::<i64>(), of(&developed));
            prop_assert_eq!((weeks[0].from, weeks[weeks.len() - 1].to), (month.first(), month.last()));
            for pair in weeks.windows(2) {
                prop_assert_eq!(pair[0].to.succ_opt(), Some(pair[1].from));
                prop_assert_eq!(pair[1].from.weekday(), chrono::Weekday::Mon);
            }
        }
    }
}
