//! What holds for any day.

use proptest::prelude::*;
use serde_json::{Value, json};
use wetside_computing::planner::{Budget, Day, Plan, plan};

use crate::days::{any_day, any_value, mutate};

fn planned(day: &Value) -> Plan {
    let day = Day::from_json(&day.to_string()).expect("a valid day");
    plan(&day, &Budget::default(), &mut |_| {})
}

/// Objectives 1 to 4.
fn worth(plan: &Plan) -> (i64, usize, usize, i64) {
    let totals = &plan.totals;
    (totals.left_over_weight, totals.late, totals.runs, totals.cost.0.millionths())
}

fn settings() -> ProptestConfig {
    ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() }
}

/// Seconds of hanging for a roll and of work after the fixing: hands that are free before a run
/// ends, just then, or later.
fn any_hands() -> impl Strategy<Value = (i64, i64)> {
    prop_oneof![Just((90, 45)), Just((0, 45)), Just((0, 900)), Just((20, 3600))]
}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn no_roll_is_lost_and_none_runs_twice(day in any_day()) {
        let plan = planned(&day);
        let ran = plan.runs.iter().flat_map(|run| run.rolls.clone());
        let mut seen: Vec<String> =
            ran.chain(plan.left_over.iter().map(|left| left.roll.clone())).collect();
        let mut all: Vec<String> = day["rolls"].as_array().unwrap().iter()
            .map(|roll| roll["id"].as_str().unwrap().to_owned()).collect();
        seen.sort();
        all.sort();
        prop_assert_eq!(seen, all);
        prop_assert!(plan.left_over.iter().all(|left| !left.reason.is_empty()));
        prop_assert!(plan.runs.iter().all(|run| !run.why.is_empty()));
    }

    #[test]
    fn one_more_tank_never_makes_a_proven_day_worse(day in any_day(), which in 0_usize..2) {
        let mut more = day.clone();
        let tanks = more["tanks"].as_array_mut().unwrap();
        let mut tank = tanks[which % tanks.len()].clone();
        tank["id"] = json!("another");
        tanks.push(tank);
        let (fewer, more) = (planned(&day), planned(&more));
        if fewer.optimal && more.optimal {
            prop_assert!(worth(&more) <= worth(&fewer), "{:?} {:?}", worth(&more), worth(&fewer));
        }
    }

    #[test]
    fn the_bound_never_passes_the_plan(day in any_day()) {
        let plan = planned(&day);
        let (left, late, runs, cost) = worth(&plan);
        prop_assert!(plan.bound.left_over_weight <= left);
        prop_assert!(plan.bound.late.is_none_or(|bound| bound <= late));
        prop_assert!(plan.bound.runs.is_none_or(|bound| bound <= runs));
        prop_assert!(plan.bound.cost.is_none_or(|bound| bound.0.millionths() <= cost));
        let met = plan.bound.left_over_weight == left
            && plan.bound.late == Some(late)
            && plan.bound.runs == Some(runs)
            && plan.bound.cost.is_some_and(|bound| bound.0.millionths() == cost);
        prop_assert_eq!(plan.optimal, met);
    }

}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..settings() })]

    #[test]
    fn no_bound_passes_what_a_shorter_search_finds(
        day in any_day(),
        alone in any::<bool>(),
        close in 11_usize..16,
        (hang, after_fix) in any_hands(),
    ) {
        let mut day = day;
        day["steps"]["hang_s_per_roll"] = json!(hang);
        day["hands"]["after_fix_s"] = json!(after_fix);
        if alone {
            // One person at one place of a sink, in a short day.
            for key in ["people", "sinks"] {
                day[key].as_array_mut().unwrap().truncate(1);
            }
            day["sinks"][0]["places"] = json!(1);
            day["rules"]["grid_s"] = json!(60);
            day["open"] = json!([["10:00", format!("{close}:30")]]);
            day["people"][0]["hours"] = json!([["10:00", "18:00"]]);
        } else {
            // A second sink, a second person, and reels enough that only hands and hours bind.
            day["open"] = json!([["10:00", format!("{close}:30")]]);
            day["sinks"].as_array_mut().unwrap().push(json!({ "id": "south", "places": 1 }));
            let mut second = day["people"][0].clone();
            second["id"] = json!("mira");
            day["people"].as_array_mut().unwrap().push(second);
            day["reels"].as_array_mut().unwrap().iter_mut().for_each(|reel| reel["owned"] = json!(9));
        }
        let full = planned(&day);
        let read = Day::from_json(&day.to_string()).expect("a valid day");
        let short = plan(&read, &Budget { starts: 0, ..Budget::default() }, &mut |_| {});
        let (left, late, runs, cost) = worth(&short);
        prop_assert!(worth(&full) <= worth(&short));
        prop_assert!(full.bound.left_over_weight <= left);
        if full.bound.left_over_weight == left {
            prop_assert!(full.bound.late.is_none_or(|bound| bound <= late));
            if full.bound.late == Some(late) {
                prop_assert!(full.bound.runs.is_none_or(|bound| bound <= runs));
                if full.bound.runs == Some(runs) {
                    prop_assert!(full.bound.cost.is_none_or(|bound| bound.0.millionths() <= cost));
                }
            }
        }
    }

}

proptest! {
    #![proptest_config(settings())]

    #[test]
    fn the_same_day_gives_the_same_bytes_on_any_thread(day in any_day()) {
        let text = |day: &Value| serde_json::to_string(&planned(day)).unwrap();
        let first = text(&day);
        let others: Vec<String> = std::thread::scope(|scope| {
            let threads: Vec<_> = (0..3).map(|_| scope.spawn(|| text(&day))).collect();
            threads.into_iter().map(|thread| thread.join().unwrap()).collect()
        });
        prop_assert!(others.iter().all(|other| *other == first));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..settings() })]

    #[test]
    fn no_change_of_a_day_makes_the_reader_panic(
        day in any_day(),
        changes in proptest::collection::vec((any::<usize>(), proptest::option::of(any_value())), 1..4),
    ) {
        let mut day = day;
        changes.iter().for_each(|(place, value)| mutate(&mut day, *place, value.as_ref()));
        if let Err(faults) = Day::from_json(&day.to_string()) {
            prop_assert!(!faults.is_empty());
            prop_assert!(faults.iter().all(|fault| !fault.path.is_empty() && !fault.message.is_empty()));
        }
    }

    #[test]
    fn whatever_is_read_can_be_planned(
        day in any_day(),
        changes in proptest::collection::vec((any::<usize>(), proptest::option::of(any_value())), 1..3),
    ) {
        let mut day = day;
        changes.iter().for_each(|(place, value)| mutate(&mut day, *place, value.as_ref()));
        if let Ok(day) = Day::from_json(&day.to_string()) {
            let quick = Budget { tries: 60, grouping: 2000, starts: 2000 };
            let plan = plan(&day, &quick, &mut |_| {});
            prop_assert!(serde_json::to_string(&plan).is_ok());
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,200}", cut in 0_usize..1700) {
        prop_assert!(Day::from_json(&text).is_err());
        let whole = include_str!("example.json");
        let cut = whole.char_indices().map(|(at, _)| at).nth(cut).unwrap_or(10);
        prop_assert!(Day::from_json(&whole[..cut]).is_err());
    }
}
