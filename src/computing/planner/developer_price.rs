//! What developer costs, in whole numbers, so that two plans can be compared exactly.

use super::{day::Day, developer_volume::parts};

/// 10^-18 of a millilitre, a price or a part of it.
const FINE: i128 = 1_000_000_000_000_000_000;
const MILLION: i128 = 1_000_000;

/// Prices of all developers over one common denominator.
pub(super) struct Prices {
    /// Per developer: price of one unit, and the unit in 10^-18 ml of working developer.
    each: Vec<(i128, i128)>,
    /// What a whole number of cost is worth, as a fraction.
    worth: Ratio,
}

impl Prices {
    /// Exact for the prices of a real shelf; where the denominators of absurd ones do not fit
    /// in 128 bits, prices are rounded to twelve decimals instead.
    pub(super) fn new(day: &Day) -> Self {
        let developers = 0..day.developers.len();
        let units: Vec<i128> = developers.clone().map(|at| unit(day, at)).collect();
        let exact: Vec<Ratio> = developers.map(|at| price(day, at)).collect();
        let per_unit: Vec<Option<Ratio>> = exact
            .iter()
            .zip(&units)
            .map(|(price, unit)| price.times(Ratio::new(*unit, FINE)))
            .collect();
        let common = per_unit.iter().try_fold(1_i128, |all, price| {
            let under = price.as_ref()?.under;
            (all / gcd(all, under))
                .checked_mul(under)
                .filter(|all| *all < MILLION * MILLION * MILLION)
        });
        let common = common.unwrap_or(MILLION * MILLION);
        let whole = |price: &Option<Ratio>| {
            let price = price.as_ref()?;
            let value = price.over.checked_mul(common)? / price.under;
            (value < MILLION * MILLION * MILLION).then_some(value)
        };
        let prices: Vec<i128> = per_unit
            .iter()
            .map(|price| whole(price).unwrap_or(MILLION * MILLION * MILLION))
            .collect();
        let shared = prices.iter().fold(0, |all, price| gcd(*price, all));
        let each = prices.into_iter().map(|price| price / shared).zip(units).collect();
        Self { each, worth: Ratio::new(shared, common) }
    }

    /// The cost of a volume in whole numbers.
    pub(super) fn cost(&self, developer: usize, fine_ml: i128) -> i128 {
        self.each.get(developer).map_or(0, |(price, unit)| (fine_ml / unit).saturating_mul(*price))
    }

    /// A cost in millionths of the currency, rounded to whole thousandths.
    pub(super) fn millionths(&self, cost: i128) -> i64 {
        let twice = cost.saturating_mul(self.worth.over).saturating_mul(2000) / self.worth.under;
        i64::try_from((twice + 1) / 2).unwrap_or(i64::MAX / 1000).saturating_mul(1000)
    }
}

#[derive(Clone, Copy)]
struct Ratio {
    over: i128,
    under: i128,
}

impl Ratio {
    fn new(over: i128, under: i128) -> Self {
        let shared = gcd(over, under);
        Self { over: over / shared, under: under / shared }
    }

    fn times(&self, other: Self) -> Option<Self> {
        let (left, right) = (gcd(self.over, other.under), gcd(other.over, self.under));
        let over = (self.over / left).checked_mul(other.over / right)?;
        let under = (self.under / right).checked_mul(other.under / left)?;
        Some(Self { over, under })
    }
}

/// At least 1, so that it may divide.
fn gcd(a: i128, b: i128) -> i128 {
    if b == 0 { a.max(1) } else { gcd(b, a % b) }
}

/// A unit that divides every volume the developer can be poured in.
fn unit(day: &Day, at: usize) -> i128 {
    let Some(developer) = day.developers.get(at) else { return 1 };
    let per_roll = parts(developer) * developer.min_per_roll_ml.wide();
    let steps =
        day.rules.measuring.iter().map(|tool| tool.step_ml.wide() * MILLION * parts(developer));
    let plain = |ml: super::Decimal| ml.wide() * MILLION * MILLION;
    let tanks = day.tanks.iter().flat_map(|tank| [plain(tank.base_ml), plain(tank.min_ml)]);
    let reels = day.reels.iter().map(|reel| plain(reel.cover_ml));
    let rolls = day.rolls.iter().filter(|roll| roll.developer == at);
    let rolls = rolls.map(|roll| per_roll * roll.roll_equivalents.wide());
    let all = steps.chain(tanks).chain(reels).chain(rolls).filter(|volume| *volume > 0);
    all.fold(0, |unit, volume| gcd(volume, unit)).max(1)
}

/// The price of a millilitre of working developer.
fn price(day: &Day, at: usize) -> Ratio {
    let Some(developer) = day.developers.get(at) else { return Ratio::new(0, 1) };
    let part = Ratio::new(MILLION, parts(developer));
    let of_concentrate = match (developer.bath, developer.cost_per_ml) {
        (Some(_), _) => Ratio::new(0, 1),
        (None, Some(price)) => Ratio::new(price, FINE),
        (None, None) if developer.min_per_roll_ml.wide() == 0 => Ratio::new(1, 1),
        (None, None) => Ratio::new(MILLION, developer.min_per_roll_ml.wide()),
    };
    of_concentrate.times(part).unwrap_or(Ratio::new(0, 1))
}
