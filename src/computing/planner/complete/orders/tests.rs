//! What is settled clash by clash, held against what is settled moment by moment.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests fail loudly")]

use std::collections::BTreeSet;

use proptest::prelude::*;
use serde_json::{Value, json};

use super::{
    super::{
        super::{day::Day, problem::Problem},
        Started,
        reach::Reach,
        timetable::{Answer, Timetable},
        types::Mixtures,
    },
    Orders,
};

/// A short day with few reels; rolls by their time, medium format or not, due or not.
fn room(
    rolls: &[(i64, bool, Option<i64>)],
    (people, sinks, owned, close): (usize, i64, i64, i64),
) -> Value {
    let mut day: Value =
        serde_json::from_str(include_str!("../../../../../tests/planner/example.json")).unwrap();
    let clock = |minutes: i64| format!("{:02}:{:02}", minutes / 60, minutes % 60);
    let hours = json!([["10:00", clock(close)]]);
    day["open"] = hours.clone();
    day["rules"]["grid_s"] = json!(300);
    day["people"] = (0..people)
        .map(|name| json!({ "id": format!("P{name}"), "hours": hours, "tanks_at_once": 2 }))
        .collect();
    day["sinks"] = json!([{ "id": "north", "places": sinks }]);
    day["hanging"] = Value::Null;
    day["reels"] = json!([
        { "kind": "135", "height_mm": 50, "cover_ml": 290, "owned": owned, "drying_s": 3600 },
        { "kind": "120", "height_mm": 70, "cover_ml": 490, "owned": 1, "drying_s": 3600 },
    ]);
    let medium = json!({ "id": "120", "reel": "120", "roll_equivalents": 1.0 });
    day["formats"].as_array_mut().unwrap().push(medium);
    day["tanks"] = ["A", "B"].map(|id| json!({ "id": id, "stack_mm": 210, "max_reels": 4, "base_ml": 10, "min_ml": 300, "max_ml": 1250 })).into_iter().collect();
    day["rolls"] = rolls.iter().enumerate().map(|(name, (time, medium, due))| json!({
        "id": format!("R{name}"), "owner": "ana", "format": if *medium { "120" } else { "135-36" },
        "developer": "saltmarsh", "temperature_c": 20.0, "agitation": "30s+5s/60s",
        "pre_soak_s": 60, "time_s": time * 15, "due": due.map(clock),
    })).collect();
    day
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn both_ways_to_settle_a_set_of_runs_agree(
        rolls in proptest::collection::vec(
            (24_i64..56, proptest::bool::weighted(0.3), proptest::option::weighted(0.3, 800_i64..1000)),
            2..7,
        ),
        shape in (1_usize..3, 1_i64..3, 1_i64..4, 660_i64..760),
        chosen in proptest::collection::vec((any::<proptest::sample::Index>(), 0_usize..2), 2..5),
        limit in prop_oneof![Just(usize::MAX), 0_usize..2],
    ) {
        let day = Day::from_json(&room(&rolls, shape).to_string()).unwrap();
        let problem = Problem::new(&day);
        let mixtures = Mixtures::of(&problem, &BTreeSet::new(), 2000).unwrap();
        prop_assume!(!mixtures.all.is_empty());
        let reach = Reach::new(&problem, &mixtures);
        let runs: Vec<Started<'_>> = chosen
            .iter()
            .map(|(of, tank)| {
                let at = of.index(mixtures.all.len());
                Started { mixture: &mixtures.all[at], at, tank: *tank, start: 0 }
            })
            .filter(|run| run.mixture.costs[run.tank].is_some())
            .collect();
        prop_assume!(runs.len() > 1);
        let mut forever = |_: u64| true;
        let orders = Orders::of(&problem, &runs, limit, (20_000, &mut forever)).unwrap();
        let clash_by_clash = orders.find(&runs).0;
        let mut left = 200_000;
        let mut go_on = || { left -= 1; left > 0 };
        let table = Timetable::new(&problem, &reach, &runs, (limit, &mut go_on));
        match (clash_by_clash, table.find()) {
            (Answer::Found(day), other) => {
                prop_assert!(!matches!(other, Answer::None), "{:?}", day);
                prop_assert!(day.late <= limit);
            }
            (Answer::None, other) => prop_assert!(!matches!(other, Answer::Found(_))),
            (Answer::Unknown, _) => {}
        }
    }
}
