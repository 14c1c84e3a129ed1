//! What a bottle is worth, which is used first, and when more must be bought.

use chrono::NaiveDate;
use serde::Serialize;

/// What a product is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Makes the picture visible.
    Developer,
    /// Ends development.
    Stop,
    /// Takes the undeveloped silver out.
    Fixer,
    /// Shortens the wash.
    WashAid,
    /// Lets the last water run off.
    WettingAgent,
    /// Takes developed silver back.
    Bleach,
    /// Anything else.
    Other,
}

impl Purpose {
    /// All of them with their word for programs and their words for people.
    pub const ALL: [(Purpose, &'static str, &'static str); 7] = [
        (Purpose::Developer, "developer", "Developer"),
        (Purpose::Stop, "stop", "Stop bath"),
        (Purpose::Fixer, "fixer", "Fixer"),
        (Purpose::WashAid, "wash_aid", "Wash aid"),
        (Purpose::WettingAgent, "wetting_agent", "Wetting agent"),
        (Purpose::Bleach, "bleach", "Bleach"),
        (Purpose::Other, "other", "Other"),
    ];

    /// The word in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        Purpose::ALL.iter().find(|p| p.0 == self).map_or("other", |p| p.1)
    }

    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        Purpose::ALL.iter().find(|p| p.0 == self).map_or("Other", |p| p.2)
    }

    /// The purpose of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Purpose> {
        Purpose::ALL.iter().find(|p| p.1 == word).map(|p| p.0)
    }
}

/// How a product comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Form {
    /// A liquid to be diluted.
    Concentrate,
    /// A powder to be dissolved.
    Powder,
    /// A liquid used as it is.
    Ready,
}

impl Form {
    /// All of them with their word for programs and their words for people.
    pub const ALL: [(Form, &'static str, &'static str); 3] = [
        (Form::Concentrate, "concentrate", "Liquid concentrate"),
        (Form::Powder, "powder", "Powder"),
        (Form::Ready, "ready", "Ready to use"),
    ];

    /// The word in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        Form::ALL.iter().find(|f| f.0 == self).map_or("concentrate", |f| f.1)
    }

    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        Form::ALL.iter().find(|f| f.0 == self).map_or("Liquid concentrate", |f| f.2)
    }

    /// The form of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Form> {
        Form::ALL.iter().find(|f| f.1 == word).map(|f| f.0)
    }

    /// The unit its amounts are shown in.
    #[must_use]
    pub fn unit(self) -> &'static str {
        if self == Form::Powder { "g" } else { "ml" }
    }

    /// What one of it stands in.
    #[must_use]
    pub fn vessel(self) -> &'static str {
        self.vessels().0
    }

    /// What it is sold in, one and several.
    #[must_use]
    pub fn vessels(self) -> (&'static str, &'static str) {
        if self == Form::Powder { ("packet", "packets") } else { ("bottle", "bottles") }
    }

    /// An amount in words: microlitres as ml, milligrams as g.
    #[must_use]
    pub fn amount(self, thousandths: i64) -> String {
        format!("{}\u{202f}{}", figure(thousandths), self.unit())
    }
}

/// Thousandths as people write them: `12.5`.
#[must_use]
pub fn figure(thousandths: i64) -> String {
    let sign = if thousandths < 0 { "-" } else { "" };
    let n = thousandths.unsigned_abs();
    let text = format!("{sign}{}.{:03}", n / 1000, n % 1000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Money in the smallest coin as people write it: `12.50`.
#[must_use]
pub fn money(coins: i64) -> String {
    let sign = if coins < 0 { "-" } else { "" };
    let n = coins.unsigned_abs();
    format!("{sign}{}.{:02}", n / 100, n % 100)
}

/// What a part of a bottle cost, to the nearest coin.
#[must_use]
pub(super) fn cost(price: i64, amount: i64, size: i64) -> i64 {
    let size = i128::from(size.max(1));
    let value = i128::from(price) * i128::from(amount);
    let half = if value < 0 { -size / 2 } else { size / 2 };
    i64::try_from((value + half) / size).unwrap_or(i64::MAX)
}

/// Where a bottle stands in its life.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Already begun.
    Opened,
    /// As it came.
    Sealed,
    /// Past the day it keeps to.
    Expired,
    /// Not to be used; a lead said why.
    SetAside,
    /// Nothing in it.
    Empty,
}

impl Standing {
    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Standing::Opened => "Opened",
            Standing::Sealed => "Sealed",
            Standing::Expired => "Past its date",
            Standing::SetAside => "Set aside",
            Standing::Empty => "Empty",
        }
    }

    /// How grave it is, as pages show it.
    #[must_use]
    pub fn tone(self) -> &'static str {
        match self {
            Standing::Opened | Standing::Sealed => "good",
            Standing::Expired | Standing::SetAside => "bad",
            Standing::Empty => "off",
        }
    }
}

/// What is known of a bottle when it is judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Facts {
    /// Its id.
    pub id: i64,
    /// What is left in it.
    pub held: i64,
    /// The date on it.
    pub expires: Option<NaiveDate>,
    /// The day it was opened.
    pub opened: Option<NaiveDate>,
    /// How many days it keeps once it is open.
    pub opened_keeps_days: Option<i64>,
    /// Whether it was set aside.
    pub set_aside: bool,
}

impl Facts {
    /// The last day it is good: the date on it, or so many days after it was opened, whichever is
    /// earlier; none where neither is known.
    #[must_use]
    pub fn good_until(&self) -> Option<NaiveDate> {
        let after_opening = self.opened.zip(self.opened_keeps_days).and_then(|(day, keeps)| {
            day.checked_add_days(chrono::Days::new(u64::try_from(keeps).unwrap_or(0)))
        });
        match (self.expires, after_opening) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        }
    }

    /// Where it stands on this day.
    #[must_use]
    pub fn standing(&self, today: NaiveDate) -> Standing {
        if self.set_aside {
            Standing::SetAside
        } else if self.held == 0 {
            Standing::Empty
        } else if self.good_until().is_some_and(|d| d < today) {
            Standing::Expired
        } else if self.opened.is_some() {
            Standing::Opened
        } else {
            Standing::Sealed
        }
    }
}

/// The bottles to draw from in the order they are used: first to expire first, an opened one before
/// a sealed one of the same date. Those past their date come last, and only where `also_expired`.
#[must_use]
pub(super) fn in_order(bottles: &[Facts], today: NaiveDate, also_expired: bool) -> Vec<Facts> {
    let mut order: Vec<(Standing, &Facts)> = bottles
        .iter()
        .map(|b| (b.standing(today), b))
        .filter(|(s, _)| {
            matches!(s, Standing::Opened | Standing::Sealed)
                || (also_expired && *s == Standing::Expired)
        })
        .collect();
    order.sort_by_key(|(standing, b)| {
        (*standing == Standing::Expired, b.good_until().unwrap_or(NaiveDate::MAX), *standing, b.id)
    });
    order.into_iter().map(|(_, b)| b.clone()).collect()
}

/// How much comes out of which bottle, and how much is missing.
#[must_use]
pub(super) fn apportion(order: &[Facts], amount: i64) -> (Vec<(i64, i64)>, i64) {
    let mut missing = amount.max(0);
    let mut parts = Vec::new();
    for bottle in order {
        if missing == 0 {
            break;
        }
        let part = missing.min(bottle.held);
        if part > 0 {
            parts.push((bottle.id, part));
            missing -= part;
        }
    }
    (parts, missing)
}

/// How many whole vessels bring the stock, after what the plans draw, above the re-order point.
#[must_use]
pub(super) fn to_buy(held: i64, planned: i64, reorder_at: i64, size: i64) -> i64 {
    let left = held.saturating_sub(planned);
    if left > reorder_at || (reorder_at == 0 && left >= 0) {
        return 0;
    }
    let lacking = reorder_at.saturating_sub(left);
    (lacking / size.max(1)).saturating_add(1)
}

/// Bottles within so many days of their last day are named.
pub(super) const EXPIRING_DAYS: i64 = 30;

/// Whether a bottle is near its last day, that day included.
#[must_use]
pub(super) fn is_expiring(good_until: Option<NaiveDate>, today: NaiveDate) -> bool {
    good_until.is_some_and(|d| d >= today && (d - today).num_days() <= EXPIRING_DAYS)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn bottle(id: i64, held: i64, expires: Option<&str>, opened: Option<&str>) -> Facts {
        Facts {
            id,
            held,
            expires: expires.map(day),
            opened: opened.map(day),
            opened_keeps_days: Some(90),
            set_aside: false,
        }
    }

    #[test]
    fn the_first_to_expire_is_used_first_whatever_its_place() {
        let all = [
            bottle(1, 500, Some("2027-09-01"), None),
            bottle(2, 500, Some("2027-04-01"), None),
            bottle(3, 500, Some("2028-01-01"), Some("2027-01-20")),
            bottle(4, 500, Some("2027-03-01"), None),
            bottle(5, 0, Some("2027-04-01"), None),
            bottle(6, 500, None, None),
        ];
        let ids =
            |also| in_order(&all, day("2027-03-15"), also).iter().map(|b| b.id).collect::<Vec<_>>();
        assert_eq!(ids(false), [2, 3, 1, 6], "the opened one keeps 90 days, to 20 April");
        assert_eq!(ids(true), [2, 3, 1, 6, 4]);
    }

    #[test]
    fn a_draw_may_empty_one_bottle_and_begin_the_next() {
        let all = [bottle(1, 300, None, None), bottle(2, 1000, None, None)];
        assert_eq!(apportion(&all, 450), (vec![(1, 300), (2, 150)], 0));
        assert_eq!(apportion(&all, 2000), (vec![(1, 300), (2, 1000)], 700));
    }

    #[test]
    fn the_shopping_list_buys_whole_bottles() {
        assert_eq!(to_buy(2000, 0, 500, 1000), 0);
        assert_eq!(to_buy(500, 0, 500, 1000), 1, "at the re-order point it is time to buy");
        assert_eq!(to_buy(2000, 1800, 500, 1000), 1);
        assert_eq!(to_buy(200, 3000, 500, 1000), 4);
        assert_eq!(to_buy(0, 0, 0, 1000), 0, "what has no re-order point is bought by decision");
    }

    #[test]
    fn figures_and_money_are_written_plainly() {
        assert_eq!(Form::Concentrate.amount(12_500), "12.5\u{202f}ml");
        assert_eq!(Form::Powder.amount(500_000), "500\u{202f}g");
        assert_eq!((money(1250), money(-5)), ("12.50".to_owned(), "-0.05".to_owned()));
        assert_eq!(cost(1000, 333, 1000), 333);
    }

    proptest! {
        #[test]
        fn nothing_is_drawn_twice_or_lost(
            held in proptest::collection::vec(0_i64..2000, 0..8), amount in 0_i64..10_000,
        ) {
            let all: Vec<Facts> =
                held.iter().zip(1..).map(|(h, id)| bottle(id, *h, None, None)).collect();
            let (parts, missing) = apportion(&all, amount);
            prop_assert_eq!(parts.iter().map(|p| p.1).sum::<i64>() + missing, amount);
            for (id, part) in parts {
                let b = all.iter().find(|b| b.id == id).unwrap();
                prop_assert!(part > 0 && part <= b.held);
            }
        }

        #[test]
        fn any_input_is_answered(a in any::<i64>(), b in any::<i64>(), c in any::<i64>(), d in any::<i64>()) {
            let _ = (cost(a, b, c), to_buy(a.min(0), b, c.max(0), d), figure(a), money(a));
        }
    }
}
