//! One developing time for all rolls of a run.

use super::{clock::Seconds, day::Roll};

const WHOLE: i128 = 100_000_000;

/// The least and the greatest whole second that a roll allows.
pub(super) fn allowed(roll: &Roll) -> (Seconds, Seconds) {
    let time = i128::from(roll.time_s);
    let least = time * (WHOLE - roll.tolerance.under.wide());
    let most = time * (WHOLE + roll.tolerance.over.wide());
    let second = |value: i128| Seconds::try_from(value).unwrap_or(roll.time_s);
    (second((least + WHOLE - 1) / WHOLE), second(most / WHOLE))
}

/// The time of a run whose rolls ask for `shortest` to `longest` and allow `least..=most`.
///
/// The geometric mean of the extremes, on a multiple of `step` where one is allowed.
pub(super) fn common(
    (shortest, longest): (Seconds, Seconds),
    (least, most): (Seconds, Seconds),
    step: Seconds,
) -> Seconds {
    let first = (least + step - 1).div_euclid(step) * step;
    let (mut best, step) = if first <= most { (first, step) } else { (least, 1) };
    while best + step <= most && !nearer(best, best + step, (shortest, longest), (least, most)) {
        best += step;
    }
    best
}

/// Whether the shorter of two neighbours is strictly nearer to the moved geometric mean.
fn nearer(
    short: Seconds,
    long: Seconds,
    ends: (Seconds, Seconds),
    room: (Seconds, Seconds),
) -> bool {
    let sum = i128::from(short) + i128::from(long);
    let square = 4 * i128::from(ends.0) * i128::from(ends.1);
    let (least, most) = (2 * i128::from(room.0), 2 * i128::from(room.1));
    if square <= least * least {
        return least < sum;
    }
    if square >= most * most {
        return most < sum;
    }
    square < sum * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_is_moved_to_a_step_ties_to_the_longer() {
        assert_eq!(common((480, 480), (456, 504), 15), 480);
        assert_eq!(common((480, 500), (475, 504), 15), 495);
        assert_eq!(common((400, 900), (600, 600), 30), 600);
        assert_eq!(common((480, 490), (481, 489), 30), 485);
        assert_eq!(common((100, 100), (90, 110), 40), 100);
        assert_eq!(common((100, 100), (80, 120), 40), 120);
        assert_eq!(common((100, 900), (500, 520), 100), 500);
        assert_eq!(common((100, 121), (105, 115), 7), 112);
    }
}
