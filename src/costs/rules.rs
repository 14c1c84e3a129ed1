//! What chemistry cost, film by film. All money here is in thousandths of the smallest coin, so
//! that small shares add up; it is rounded only where it is shown.

use std::collections::BTreeMap;

use crate::clock::Moment;

/// Something taken from the shelf.
#[derive(Clone, Debug)]
pub(super) struct Draw {
    /// When.
    pub at: Moment,
    /// The run it was used in.
    pub run: Option<i64>,
    /// The bath it was mixed into.
    pub bath: Option<i64>,
    /// Its cost in the smallest coin.
    pub cost: i64,
}

/// Film that went through a bath, corrections already in it.
#[derive(Clone, Debug)]
pub(super) struct Use {
    /// When.
    pub at: Moment,
    /// Which bath.
    pub bath: i64,
    /// The run, where it was one.
    pub run: Option<i64>,
    /// Who recorded it.
    pub by: Option<i64>,
    /// The load, in thousandths of a roll's worth.
    pub milli: i64,
    /// What was written beside it.
    pub note: String,
}

/// What a bath cost and what it can take.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct BathCost {
    /// What was drawn for it, in the smallest coin.
    pub cost: i64,
    /// What it can take, in thousandths of a roll's worth.
    pub capacity_milli: i64,
    /// What it has taken in all.
    pub taken_milli: i64,
}

impl BathCost {
    /// The share of so much film: of what the bath can take, or of what it took where that was more.
    #[must_use]
    pub(super) fn share(&self, milli: i64) -> i64 {
        let over = i128::from(self.capacity_milli.max(self.taken_milli).max(1));
        let value = i128::from(self.cost) * 1000 * i128::from(milli);
        i64::try_from((value + over / 2).div_euclid(over)).unwrap_or(i64::MAX)
    }
}

/// A film of a run.
#[derive(Clone, Debug)]
pub(super) struct Film {
    /// Whose it is.
    pub owner: i64,
    /// Its ticket.
    pub ticket: String,
    /// How much film it is, in thousandths of a roll's worth.
    pub milli: i64,
}

/// One line of somebody's statement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Whose it is; nobody's where nobody was named.
    pub owner: Option<i64>,
    /// When.
    pub at: Moment,
    /// The ticket, or what was written beside the use.
    pub what: String,
    /// The film, in thousandths of a roll's worth.
    pub milli: i64,
    /// Its share of what the run drew, in thousandths of the smallest coin.
    pub developer: i64,
    /// Its share of the baths, in thousandths of the smallest coin.
    pub baths: i64,
}

/// Everything a stretch of time is reckoned from.
#[derive(Clone, Debug, Default)]
pub(super) struct Facts {
    /// What was taken from the shelf in that time.
    pub draws: Vec<Draw>,
    /// What went through baths in that time.
    pub uses: Vec<Use>,
    /// Those baths.
    pub baths: BTreeMap<i64, BathCost>,
    /// The films of the runs in it.
    pub films: BTreeMap<i64, Vec<Film>>,
}

/// The lines of a stretch of time, by time. A run's cost is split among its films by their size.
#[must_use]
pub(super) fn lines(facts: &Facts) -> Vec<Line> {
    let mut by_run: BTreeMap<i64, (Moment, i64, i64)> = BTreeMap::new();
    let mut all = Vec::new();
    for draw in &facts.draws {
        if let Some(run) = draw.run {
            by_run.entry(run).or_insert((draw.at, 0, 0)).1 += draw.cost.saturating_mul(1000);
        }
    }
    for used in &facts.uses {
        let share = facts.baths.get(&used.bath).map_or(0, |b| b.share(used.milli));
        match used.run.filter(|r| facts.films.contains_key(r)) {
            Some(run) => by_run.entry(run).or_insert((used.at, 0, 0)).2 += share,
            None => all.push(Line {
                owner: used.by,
                at: used.at,
                what: if used.note.is_empty() { "by hand".to_owned() } else { used.note.clone() },
                milli: used.milli,
                developer: 0,
                baths: share,
            }),
        }
    }
    for (run, (at, developer, baths)) in by_run {
        let films = facts.films.get(&run).map(Vec::as_slice).unwrap_or_default();
        let weights: Vec<i64> = films.iter().map(|f| f.milli).collect();
        let (developer, baths) = (split(developer, &weights), split(baths, &weights));
        for ((film, developer), baths) in films.iter().zip(developer).zip(baths) {
            all.push(Line {
                owner: Some(film.owner),
                at,
                what: format!("ticket {}", film.ticket),
                milli: film.milli,
                developer,
                baths,
            });
        }
    }
    all.sort_by(|a, b| (a.at, &a.what).cmp(&(b.at, &b.what)));
    all
}

/// Splits an amount by weights so that the parts add up to it exactly.
#[must_use]
pub(super) fn split(amount: i64, weights: &[i64]) -> Vec<i64> {
    let total: i128 = weights.iter().map(|w| i128::from((*w).max(0))).sum();
    let mut before = 0_i128;
    let mut given = 0_i64;
    weights
        .iter()
        .map(|weight| {
            if total == 0 {
                return 0;
            }
            before += i128::from((*weight).max(0));
            let upto = i64::try_from(i128::from(amount) * before / total).unwrap_or(i64::MAX);
            let part = upto.saturating_sub(given);
            given = upto;
            part
        })
        .collect()
}

/// Thousandths of a coin to the nearest coin.
#[must_use]
pub fn coins(milli: i64) -> i64 {
    milli.saturating_add(500).div_euclid(1000)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn film(owner: i64, ticket: &str, milli: i64) -> Film {
        Film { owner, ticket: ticket.to_owned(), milli }
    }

    #[test]
    fn a_roll_costs_what_its_run_drew_and_its_share_of_the_baths() {
        let at = Moment(1);
        let facts = Facts {
            draws: vec![Draw { at, run: Some(7), bath: None, cost: 90 }],
            uses: vec![
                Use { at, bath: 1, run: Some(7), by: None, milli: 3000, note: String::new() },
                Use { at, bath: 1, run: None, by: Some(4), milli: 1000, note: String::new() },
            ],
            // 12.00 for a bath of 30 rolls' worth: 0.40 a roll.
            baths: BTreeMap::from([(
                1,
                BathCost { cost: 1200, capacity_milli: 30_000, taken_milli: 4000 },
            )]),
            films: BTreeMap::from([(7, vec![film(2, "A", 1000), film(3, "B", 2000)])]),
        };
        let said = lines(&facts);
        let of = |owner| said.iter().find(|l| l.owner == Some(owner)).unwrap();
        assert_eq!((of(2).developer, of(2).baths), (30_000, 40_000));
        assert_eq!((of(3).developer, of(3).baths), (60_000, 80_000));
        assert_eq!((of(4).developer, of(4).baths), (0, 40_000));
    }

    #[test]
    fn a_bath_used_past_its_limit_costs_no_more_than_it_cost() {
        let bath = BathCost { cost: 1000, capacity_milli: 10_000, taken_milli: 20_000 };
        assert_eq!(bath.share(20_000), 1_000_000);
    }

    proptest! {
        #[test]
        fn a_split_adds_up(amount in 0_i64..10_000_000, weights in proptest::collection::vec(1_i64..5000, 1..9)) {
            let parts = split(amount, &weights);
            prop_assert_eq!(parts.iter().sum::<i64>(), amount);
            prop_assert!(parts.iter().all(|p| *p >= 0));
        }
    }
}
