//! Which waste may go where, and what may be said of getting rid of it.

use chrono::NaiveDate;
use serde::Serialize;

use crate::shelf::figure;

/// A kind of waste; each has containers of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Waste {
    /// Used fixer, rich in silver.
    Fixer,
    /// The first rinse after the fixer: a waste of its own.
    Rinse,
    /// Used developer.
    Developer,
    /// Used stop bath.
    Stop,
    /// Used bleach.
    Bleach,
    /// Used wash aid.
    WashAid,
    /// Used wetting agent.
    WettingAgent,
}

impl Waste {
    /// All of them with their word for programs and their words for people.
    pub const ALL: [(Waste, &'static str, &'static str); 7] = [
        (Waste::Fixer, "fixer", "Used fixer"),
        (Waste::Rinse, "rinse", "First rinse after the fixer"),
        (Waste::Developer, "developer", "Used developer"),
        (Waste::Stop, "stop", "Used stop bath"),
        (Waste::Bleach, "bleach", "Used bleach"),
        (Waste::WashAid, "wash_aid", "Used wash aid"),
        (Waste::WettingAgent, "wetting_agent", "Used wetting agent"),
    ];

    /// The word in the database.
    #[must_use]
    pub fn word(self) -> &'static str {
        Waste::ALL.iter().find(|w| w.0 == self).map_or("fixer", |w| w.1)
    }

    /// The words for people.
    #[must_use]
    pub fn name(self) -> &'static str {
        Waste::ALL.iter().find(|w| w.0 == self).map_or("Used fixer", |w| w.2)
    }

    /// The kind of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Waste> {
        Waste::ALL.iter().find(|w| w.1 == word).map(|w| w.0)
    }

    /// Where the safety notes say its rule, if they do.
    #[must_use]
    pub fn blank(self) -> Option<&'static str> {
        match self {
            Waste::Fixer => Some("rule-fixer"),
            Waste::Developer => Some("rule-developer"),
            Waste::Stop => Some("rule-stop-bath"),
            Waste::Bleach => Some("rule-bleach"),
            Waste::Rinse | Waste::WashAid | Waste::WettingAgent => None,
        }
    }

    /// Whether it carries silver.
    #[must_use]
    pub fn has_silver(self) -> bool {
        matches!(self, Waste::Fixer | Waste::Rinse)
    }
}

/// What two kinds of waste set free together. Thiosulfate fixers give off ammonia with alkali and
/// sulfur dioxide with acid (suppliers' sheets, from memory); the gases of bleach are general
/// chemistry, from memory.
#[must_use]
pub fn gas(a: Waste, b: Waste) -> Option<&'static str> {
    use Waste::{Bleach, Developer, Fixer, Rinse, Stop};
    let pair = |x, y| (a, b) == (x, y) || (a, b) == (y, x);
    if pair(Fixer, Developer) || pair(Rinse, Developer) {
        Some("ammonia")
    } else if pair(Fixer, Stop) || pair(Rinse, Stop) {
        Some("sulfur dioxide")
    } else if pair(Fixer, Bleach) || pair(Rinse, Bleach) {
        Some("chlorine, chloramines or sulfur dioxide")
    } else if pair(Bleach, Stop) {
        Some("chlorine")
    } else {
        None
    }
}

/// Why one kind may not go into a container of another, in a sentence; nothing where it is the
/// container's own kind.
#[must_use]
pub fn refusal(container: &str, accepts: Waste, poured: Waste) -> Option<String> {
    if accepts == poured {
        return None;
    }
    let (takes, brought) = (accepts.name().to_lowercase(), poured.name().to_lowercase());
    Some(match gas(accepts, poured) {
        Some(gas) => format!(
            "Stop: “{container}” takes {takes} only. With {brought} it would release {gas}, a \
             poisonous gas. Choose a container for {brought}."
        ),
        None => format!(
            "“{container}” takes {takes} only. Choose a container for {brought}, or start one."
        ),
    })
}

/// What a lead typed of the local rule for a kind of waste.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    /// For what.
    pub waste: Waste,
    /// The rule, in the lead's words.
    pub rule: String,
    /// Who made it.
    pub authority: String,
    /// When it was made or asked for.
    pub dated: NaiveDate,
}

/// What stands on every line about getting rid of a kind of waste. Without a typed rule it is
/// closed; with one it repeats the rule and decides nothing.
#[must_use]
pub fn disposal(rule: Option<&Rule>) -> String {
    match rule {
        None => "Collect, do not pour.".to_owned(),
        Some(r) => format!("Local rule of {}, {}: {}", r.authority, r.dated, r.rule),
    }
}

/// What is in a container.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Contents {
    /// How much, in microlitres.
    pub volume_ul: i64,
    /// Least silver estimated in it, in milligrams.
    pub silver_least_mg: i64,
    /// Most silver estimated in it, in milligrams.
    pub silver_most_mg: i64,
    /// When the first of it was poured in, in UTC seconds.
    pub since_s: Option<i64>,
}

/// One line of the log, as far as the contents need it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Poured {
    /// When, in UTC seconds.
    pub at_s: i64,
    /// Whether everything was picked up.
    pub picked_up: bool,
    /// How much went in, in microlitres.
    pub volume_ul: i64,
    /// Silver in it, least and most, in milligrams.
    pub silver_mg: (i64, i64),
}

/// What the log of a container comes to: everything since the last pick-up.
#[must_use]
pub(super) fn contents(log: &[Poured]) -> Contents {
    log.iter().fold(Contents::default(), |sum, line| {
        if line.picked_up {
            return Contents::default();
        }
        Contents {
            volume_ul: sum.volume_ul.saturating_add(line.volume_ul),
            silver_least_mg: sum.silver_least_mg.saturating_add(line.silver_mg.0),
            silver_most_mg: sum.silver_most_mg.saturating_add(line.silver_mg.1),
            since_s: sum.since_s.or(Some(line.at_s)),
        }
    })
}

/// Estimated silver in words, from least and most in milligrams. Two figures each, the least rounded
/// down and the most up: more would look like a measurement.
#[must_use]
pub fn silver_range((least, most): (i64, i64)) -> String {
    let step = |mg: i64| 10_i64.pow(mg.max(1).ilog10().saturating_sub(1));
    let (down, up) = (step(least), step(most));
    let least = least.div_euclid(down).saturating_mul(down);
    let most = most.saturating_add(up - 1).div_euclid(up).saturating_mul(up);
    format!("{} to {}\u{202f}g", figure(least), figure(most))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_estimate_of_silver_does_not_look_measured() {
        assert_eq!(silver_range((2_462, 10_942)), "2.4 to 11\u{202f}g");
        assert_eq!(silver_range((88, 415)), "0.088 to 0.42\u{202f}g");
        assert_eq!(silver_range((0, 9)), "0 to 0.009\u{202f}g");
        assert_eq!(silver_range((10_000, 99_001)), "10 to 100\u{202f}g");
    }
    use proptest::prelude::*;

    #[test]
    fn a_container_takes_its_own_kind_and_names_the_gas_of_any_other() {
        let says = |a, b| refusal("Fixer drum", a, b).unwrap_or_default();
        assert_eq!(refusal("Fixer drum", Waste::Fixer, Waste::Fixer), None);
        assert!(says(Waste::Fixer, Waste::Developer).contains("release ammonia"));
        assert!(says(Waste::Fixer, Waste::Stop).contains("release sulfur dioxide"));
        assert!(says(Waste::Fixer, Waste::Bleach).contains("chlorine"));
        assert!(says(Waste::Developer, Waste::Fixer).contains("release ammonia"));
        assert!(says(Waste::WashAid, Waste::WettingAgent).contains("takes used wash aid only"));
        for (a, ..) in Waste::ALL {
            for (b, ..) in Waste::ALL {
                assert_eq!(refusal("x", a, b).is_none(), a == b);
                assert_eq!(gas(a, b), gas(b, a));
            }
        }
    }

    #[test]
    fn disposal_fails_closed() {
        assert_eq!(disposal(None), "Collect, do not pour.");
        let rule = Rule {
            waste: Waste::Fixer,
            rule: "Hand it in at the depot.".to_owned(),
            authority: "Quillhaven harbour board".to_owned(),
            dated: "2027-01-12".parse().unwrap(),
        };
        let said = disposal(Some(&rule));
        assert!(said.contains("Quillhaven harbour board, 2027-01-12: Hand it in at the depot."));
    }

    proptest! {
        #[test]
        fn a_pick_up_empties_a_container(
            before in proptest::collection::vec((1_i64..10_000, 0_i64..500), 0..10),
            after in proptest::collection::vec((1_i64..10_000, 0_i64..500), 0..10),
        ) {
            let line = |(v, s): &(i64, i64)| Poured {
                at_s: 1, picked_up: false, volume_ul: *v, silver_mg: (*s, *s * 2),
            };
            let mut log: Vec<Poured> = before.iter().map(line).collect();
            log.push(Poured { at_s: 2, picked_up: true, volume_ul: 0, silver_mg: (0, 0) });
            log.extend(after.iter().map(line));
            let now = contents(&log);
            prop_assert_eq!(now.volume_ul, after.iter().map(|a| a.0).sum::<i64>());
            prop_assert_eq!(now.silver_most_mg, 2 * now.silver_least_mg);
        }
    }
}
