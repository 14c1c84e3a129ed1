//! When an evening ends, and who can have come to which booking.

use crate::clock::{Moment, Span};

/// So long before its beginning somebody can come to a booking, in seconds.
pub(super) const EARLY_S: i64 = 3600;

/// When the room should have been left by somebody who came in at this moment: the end of the
/// opening they came in, or the last one before; the end of the day they came on when it was
/// closed altogether.
#[must_use]
pub(super) fn closing_time(open: &[Span], day: Span, came: Moment) -> Moment {
    let ahead = open.iter().map(|o| o.to).filter(|to| *to > came).max();
    ahead.or_else(|| open.iter().map(|o| o.to).max()).unwrap_or(day.to).max(came)
}

/// Whether coming in at this moment is coming to that booking.
#[must_use]
pub(super) fn comes_to(booking: Span, now: Moment) -> bool {
    booking.from.plus(-EARLY_S) <= now && now < booking.to
}

/// Whether a booking that began at `from` is to be given back: nobody came within the grace
/// (minutes, 0 for never), and there is time left to give.
#[must_use]
pub(super) fn is_no_show(booking: Span, grace_min: i64, now: Moment) -> bool {
    grace_min > 0 && now >= booking.from.plus(grace_min * 60) && now < booking.to
}

#[cfg(test)]
mod tests {
    use super::*;

    fn s(from: i64, to: i64) -> Span {
        Span { from: Moment(from), to: Moment(to) }
    }

    #[test]
    fn the_evening_ends_with_the_last_opening_of_the_day() {
        let day = s(0, 86_400);
        let open = [s(36_000, 46_800), s(54_000, 79_200)];
        assert_eq!(closing_time(&open, day, Moment(40_000)), Moment(79_200));
        assert_eq!(closing_time(&open, day, Moment(80_000)), Moment(80_000), "came after closing");
        assert_eq!(closing_time(&[], day, Moment(40_000)), Moment(86_400), "a closed day");
    }

    #[test]
    fn a_booking_is_given_back_only_after_its_grace_and_before_its_end() {
        let booking = s(3600, 7200);
        assert!(!is_no_show(booking, 0, Moment(5000)), "never, where the studio says so");
        assert!(!is_no_show(booking, 20, Moment(3600 + 1199)));
        assert!(is_no_show(booking, 20, Moment(3600 + 1200)));
        assert!(!is_no_show(booking, 20, Moment(7200)), "over");
        assert!(comes_to(booking, Moment(0)) && comes_to(booking, Moment(7199)));
        assert!(!comes_to(booking, Moment(-1)) && !comes_to(booking, Moment(7200)));
    }
}
