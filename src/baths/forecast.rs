//! When a bath will reach its limit, from published days and from recent weeks.

use chrono::NaiveDate;

/// What is known of the days to come.
#[derive(Clone, Debug, Default)]
pub struct Demand {
    /// What published runs will put through it: the day, and how much, in thousandths of a roll's
    /// worth.
    pub planned: Vec<(NaiveDate, i64)>,
    /// What went through such baths on a day in recent weeks, on average, in thousandths.
    pub daily_milli: i64,
}

/// Nobody looks further ahead than this many days.
pub(super) const HORIZON_DAYS: u64 = 180;
/// Recent weeks are these many days.
pub const RECENT_DAYS: i64 = 28;

/// Nothing is said of a usual day from fewer days than these.
const LEAST_DAYS: i64 = 7;

/// What goes through such baths on a usual day, in thousandths: what went through in recent weeks,
/// over as many days as there is anything written down, a week at the least.
#[must_use]
pub fn usual_day(recent_milli: i64, written_down_days: i64) -> i64 {
    recent_milli / written_down_days.clamp(LEAST_DAYS, RECENT_DAYS)
}

/// The day a bath reaches its limit: on each day the published runs count, or the usual use of a
/// day where that is more. Nothing where it lasts beyond the horizon.
#[must_use]
pub fn reaches_limit(remaining_milli: i64, today: NaiveDate, demand: &Demand) -> Option<NaiveDate> {
    if remaining_milli <= 0 {
        return Some(today);
    }
    let mut left = remaining_milli;
    for ahead in 0..HORIZON_DAYS {
        let day = today.checked_add_days(chrono::Days::new(ahead))?;
        let planned: i64 = demand.planned.iter().filter(|p| p.0 == day).map(|p| p.1).sum();
        // Today's usual use has mostly happened already.
        let usual = if ahead == 0 { 0 } else { demand.daily_milli };
        left = left.saturating_sub(planned.max(usual));
        if left <= 0 {
            return Some(day);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn published_runs_and_the_usual_use_are_both_counted() {
        let today = day("2027-03-15");
        let usual = Demand { planned: Vec::new(), daily_milli: 500 };
        assert_eq!(reaches_limit(5000, today, &usual), Some(day("2027-03-25")));
        let busy = Demand { planned: vec![(day("2027-03-17"), 4000)], daily_milli: 500 };
        assert_eq!(reaches_limit(5000, today, &busy), Some(day("2027-03-18")));
        assert_eq!(reaches_limit(0, today, &usual), Some(today));
        assert_eq!(reaches_limit(5000, today, &Demand::default()), None);
    }

    #[test]
    fn a_young_studio_is_not_taken_for_an_idle_one() {
        assert_eq!(usual_day(14_000, 400), 500);
        assert_eq!(usual_day(14_000, 28), 500);
        assert_eq!(usual_day(14_000, 14), 1000);
        assert_eq!(usual_day(14_000, 1), 2000);
    }

    proptest! {
        #[test]
        fn more_to_come_is_never_later(
            left in 0_i64..100_000, daily in 0_i64..5000,
            plans in proptest::collection::vec((0_u64..60, 0_i64..9000), 0..8), more in 1_i64..9000,
        ) {
            let today = day("2027-03-15");
            let on = |d: u64| today.checked_add_days(chrono::Days::new(d)).unwrap();
            let planned: Vec<_> = plans.iter().map(|(d, m)| (on(*d), *m)).collect();
            let less = Demand { planned: planned.clone(), daily_milli: daily };
            let mut with = less.clone();
            with.planned.push((on(3), more));
            let (a, b) = (reaches_limit(left, today, &less), reaches_limit(left, today, &with));
            prop_assert!(b.unwrap_or(NaiveDate::MAX) <= a.unwrap_or(NaiveDate::MAX));
        }
    }
}
