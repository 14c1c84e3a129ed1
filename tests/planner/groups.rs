//! Rolls put into runs without the room.

use proptest::prelude::*;
use serde_json::{Value, json};
use wetside_computing::planner::{Budget, Day, Groups, groups, plan};

use crate::days::{any_day, example};

fn grouped(day: &Value) -> Groups {
    let day = Day::from_json(&day.to_string()).expect("a valid day");
    groups(&day, &Budget::default(), &mut |_| {})
}

#[test]
fn tanks_are_filled_and_what_no_tank_holds_is_named() {
    let mut day = example();
    let roll = day["rolls"][0].clone();
    let named = |id: &str, reels: i64| {
        let mut roll = roll.clone();
        (roll["id"], roll["reels"]) = (json!(id), json!(reels));
        roll
    };
    // Four reels of 50 mm stand in the 210 mm of tank A, and 10 + 4 x 290 ml in its 1250 ml.
    let rolls = (0..9).map(|at| named(&format!("R{at}"), 1));
    day["rolls"] = rolls.chain([named("tall", 5)]).collect();
    let found = grouped(&day);
    assert_eq!((found.runs.len(), found.least_runs), (3, 3));
    assert_eq!(found.runs.iter().map(Vec::len).sum::<usize>(), 9);
    assert_eq!(found.unfit, ["tall"]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// A day in which the room forbids nothing needs as many runs as its rolls grouped.
    #[test]
    fn no_day_that_runs_everything_has_fewer_runs(day in any_day()) {
        let found = grouped(&day);
        prop_assert!(found.least_runs <= found.runs.len());
        prop_assert!(found.least_cost.0.millionths() <= found.cost.0.millionths());
        let day = Day::from_json(&day.to_string()).expect("a valid day");
        let plan = plan(&day, &Budget::default(), &mut |_| {});
        if plan.left_over.is_empty() {
            prop_assert!(plan.runs.len() >= found.least_runs);
        }
    }
}
