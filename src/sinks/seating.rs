//! Seats for counted things: which of eight like reels somebody gets is of no matter to them, but
//! promised one after another they leave gaps. When no single one is free all through a wish, yet
//! at no moment all are taken, the coming promises are dealt out anew.

use crate::clock::{Moment, Span};

/// One promise as it sits now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Placed {
    /// Which of the things it has, from 0.
    pub(super) seat: usize,
    /// When.
    pub(super) span: Span,
    /// Whether it has begun: what somebody holds in their hands is not swapped.
    pub(super) fixed: bool,
}

/// New seats for everything.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Seating {
    /// The seat of each promise, in the order they were given.
    pub(super) placed: Vec<usize>,
    /// The seats of the new wish.
    pub(super) new: Vec<usize>,
}

/// Deals `seats` like things out so that `count` more fit into `span`, moving only promises that
/// have not begun; nothing if at some moment there are too few.
///
/// Intervals taken in the order of their beginning find a free colour whenever no more than that
/// many meet, whichever free one each takes, so every promise keeps its seat where it can.
#[must_use]
pub(super) fn deal(seats: usize, placed: &[Placed], span: Span, count: usize) -> Option<Seating> {
    let mut order: Vec<(Span, bool, Option<usize>)> =
        placed.iter().enumerate().map(|(i, p)| (p.span, !p.fixed, Some(i))).collect();
    order.extend(std::iter::repeat_n((span, true, None), count));
    order.sort_by_key(|(span, moves, who)| (*moves, span.from, who.is_none(), *who));
    let mut free_from = vec![Moment(i64::MIN); seats];
    let mut result = Seating { placed: vec![0; placed.len()], new: Vec::with_capacity(count) };
    for (span, moves, who) in order {
        let own = who.and_then(|i| placed.get(i)).map(|p| p.seat);
        let is_free = |seat: usize| free_from.get(seat).is_some_and(|f| *f <= span.from);
        let seat = match own {
            Some(seat) if is_free(seat) => seat,
            Some(_) if !moves => return None,
            _ => (0..seats).find(|s| is_free(*s))?,
        };
        *free_from.get_mut(seat)? = span.to;
        match who {
            Some(i) => *result.placed.get_mut(i)? = seat,
            None => result.new.push(seat),
        }
    }
    Some(result)
}

/// The most of these spans that meet at one moment inside `within`.
#[must_use]
pub fn most_at_once(spans: &[Span], within: Span) -> usize {
    let at = |m: Moment| spans.iter().filter(|s| s.from <= m && m < s.to).count();
    let starts = spans.iter().map(|s| s.from).filter(|f| within.from < *f && *f < within.to);
    starts.chain([within.from]).map(at).max().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn span(from: i64, to: i64) -> Span {
        Span { from: Moment(from), to: Moment(to) }
    }

    #[test]
    fn two_half_free_reels_make_one_whole() {
        let placed = [
            Placed { seat: 0, span: span(0, 10), fixed: false },
            Placed { seat: 1, span: span(10, 20), fixed: false },
        ];
        let dealt = deal(2, &placed, span(0, 20), 1).unwrap();
        assert_eq!(dealt.placed[0], dealt.placed[1]);
        assert_ne!(dealt.new[0], dealt.placed[0]);
        assert_eq!(deal(2, &placed, span(0, 20), 2), None);
    }

    #[test]
    fn what_has_begun_stays_where_it_is() {
        let placed = [
            Placed { seat: 1, span: span(0, 10), fixed: true },
            Placed { seat: 0, span: span(10, 20), fixed: false },
        ];
        let dealt = deal(2, &placed, span(5, 20), 1).unwrap();
        assert_eq!(dealt, Seating { placed: vec![1, 1], new: vec![0] });
    }

    proptest! {
        #[test]
        fn it_fits_exactly_when_no_moment_needs_too_many(
            wishes in proptest::collection::vec((0_i64..50, 1_i64..20, 1_usize..3), 1..30),
            seats in 1_usize..5,
        ) {
            let mut placed: Vec<Placed> = Vec::new();
            for (from, length, count) in wishes {
                let wish = span(from, from + length);
                let spans: Vec<Span> = placed.iter().map(|p| p.span).collect();
                let taken = most_at_once(&spans, wish);
                let dealt = deal(seats, &placed, wish, count);
                prop_assert_eq!(dealt.is_some(), taken + count <= seats);
                let Some(dealt) = dealt else { continue };
                for (p, seat) in placed.iter_mut().zip(&dealt.placed) {
                    p.seat = *seat;
                }
                placed.extend(dealt.new.iter().map(|seat| Placed { seat: *seat, span: wish, fixed: false }));
                for (i, a) in placed.iter().enumerate() {
                    for b in placed.iter().skip(i + 1) {
                        prop_assert!(a.seat != b.seat || !a.span.meets(&b.span));
                    }
                }
            }
        }
    }
}
