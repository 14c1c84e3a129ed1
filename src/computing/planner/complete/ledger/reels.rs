//! Reels go round: while its reels are held and dry, a run is under way at one moment at least of
//! a few that lie a round apart; at each of them there are so many reels.
#![allow(
    clippy::indexing_slicing,
    clippy::as_conversions,
    reason = "the search kernel: places come from the lists they index"
)]

use std::collections::BTreeMap;

use super::{
    super::{
        super::{clock::Seconds, problem::Problem},
        types::Mixtures,
    },
    linear::FAR,
    rows::{MANY, Rows, hull},
    waves,
};

/// A kind of reel and how many of it; or a column of the sums and what it counts there.
type Pairs = Vec<(usize, i64)>;

/// With more rounds than this in a day reels do not bind.
const MOST_ROUNDS: Seconds = 6;

/// Adds the rows where any kind of reel is asked for more often than there are reels.
pub(super) fn add(rows: &mut Rows, problem: &Problem<'_>, mixtures: &Mixtures) {
    let day = problem.day;
    let asked = |kind: usize| -> i64 {
        let own = mixtures.kinds.iter().filter(|own| own.reel == kind);
        own.map(|own| own.rolls.len() as i64 * problem.items[own.rolls[0]].reels).sum()
    };
    let scarce: Vec<usize> =
        (0..day.reels.len()).filter(|kind| asked(*kind) > day.reels[*kind].owned).collect();
    let held = |mixture: &super::super::types::Mixture| {
        let own = mixture.reels.iter().filter(|(kind, _)| scarce.contains(kind));
        let dry = own.map(|(kind, _)| day.reels[*kind].drying_s).min();
        dry.map(|dry| mixture.loading + mixture.length + dry)
    };
    let Some(round) = mixtures.all.iter().filter_map(held).min() else { return };
    let dry = scarce.iter().map(|kind| day.reels[*kind].drying_s).max().unwrap_or(0);
    let open = hull(&day.open);
    // An interval of a round's length or more, all in the day, covers one of so many moments.
    let rounds = (open.to + dry - open.from).checked_div(round).unwrap_or(Seconds::MAX);
    if rounds > MOST_ROUNDS {
        return;
    }
    // In a longer day what is loaded late is loaded in more waves than one, and not bound by time.
    if rounds <= 2 {
        scarce.iter().for_each(|kind| waves::add(rows, problem, mixtures, *kind));
    }
    let mut shapes: BTreeMap<Pairs, Pairs> = BTreeMap::new();
    for (column, choice) in rows.choices.iter().enumerate() {
        let mixture = &mixtures.all[choice.at];
        let own = mixture.reels.iter().filter(|(kind, _)| scarce.contains(kind));
        let own: Pairs = own.copied().collect();
        if !own.is_empty() {
            shapes.entry(own).or_default().push((column, -1));
        }
    }
    at_moments(rows, rounds, &scarce, problem, shapes);
}

/// Each run at one of the moments, and no more reels at any than there are.
fn at_moments(
    rows: &mut Rows,
    rounds: Seconds,
    scarce: &[usize],
    problem: &Problem<'_>,
    mut shapes: BTreeMap<Pairs, Pairs>,
) {
    let (mut counts, mut all, mut before) = (Vec::new(), Vec::new(), None);
    for _ in 0..rounds {
        let mut there: Pairs = Vec::new();
        let mut taken: BTreeMap<usize, Pairs> = BTreeMap::new();
        for (shape, terms) in &mut shapes {
            let column = rows.column(0, MANY);
            terms.push((column, 1));
            there.push((column, 1));
            all.push(column);
            for (kind, n) in shape {
                taken.entry(*kind).or_default().push((column, *n));
            }
        }
        for kind in scarce {
            let terms = taken.remove(kind).unwrap_or_default();
            rows.row(terms, 0, problem.day.reels[*kind].owned);
        }
        // Moments are like one another: that with most runs comes first.
        let count = rows.column(0, MANY);
        there.push((count, -1));
        rows.row(there, 0, 0);
        if let Some(before) = before {
            rows.row(vec![(before, 1), (count, -1)], 0, FAR);
        }
        before = Some(count);
        counts.push(count);
    }
    for terms in shapes.into_values() {
        rows.row(terms, 0, 0);
    }
    rows.groups.push(counts);
    rows.groups.push(all);
}
