//! Days of the studio worked out by hand, step by step, from the rules of the file format: the
//! arithmetic stands beside each check; the figures are the invented studio's, from no source.

use serde_json::{Value, json};
use wetside_computing::planner::{Budget, Day, Plan, plan};

use crate::days::example;

/// The example's day with other rolls, each the example's roll with changes.
fn day(rolls: &[Value]) -> Value {
    let mut day = example();
    let first = day["rolls"][0].clone();
    let changed = |(at, changes): (usize, &Value)| {
        let mut roll = first.clone();
        roll["id"] = json!(format!("R{}", at + 1));
        for (key, value) in changes.as_object().unwrap() {
            roll[key] = value.clone();
        }
        roll
    };
    day["rolls"] = rolls.iter().enumerate().map(changed).collect();
    day
}

fn planned(day: &Value) -> Plan {
    let day = Day::from_json(&day.to_string()).expect("a valid day");
    plan(&day, &Budget::default(), &mut |_| {})
}

#[test]
fn three_rolls_of_near_times_share_the_tank() {
    // 5 % allow 456 to 504, 471 to 519 and 485 to 535 s: together 485 to 504. The mean of 480 and
    // 510 is 494.8, the nearest multiple of 15 is 495.
    // Developer: 10 + 3 x 290 = 880 ml against 3 x 6 x 32 = 576 and at least 300: 880. Of it 1/32
    // is 27.5 ml, which no 20 ml measure holds: the 100 ml one reads 28, and 28 x 32 = 896.
    // Loading 120 + 3 x 180 = 660 s from 10:00; start 10:11.
    // 60 + 495 + 60 + 300 + 30 + 120 + 300 + 60 + 3 x 90 = 1695 s: end 10:39:15.
    let plan =
        planned(&day(&[json!({"time_s": 480}), json!({"time_s": 495}), json!({"time_s": 510})]));
    assert!(plan.optimal);
    assert_eq!(plan.runs.len(), 1);
    let run = serde_json::to_value(&plan.runs[0]).unwrap();
    assert_eq!(run["time_s"], 495);
    assert_eq!((&run["developer_ml"], &run["concentrate_ml"]), (&json!(896.0), &json!(28.0)));
    assert_eq!(run["water_ml"], 868.0);
    assert_eq!(run["load_end"], "2027-03-14T10:11:00+00:00");
    assert_eq!(run["start"], "2027-03-14T10:11:00+00:00");
    assert_eq!(run["end"], "2027-03-14T10:39:15+00:00");
}

#[test]
fn two_times_too_far_apart_follow_one_another_in_the_only_tank() {
    // 456 to 504 and 570 to 630 s never meet. Either way round: loaded 10:00 to 10:05, the first
    // ends 1500 (or 1620) s later, the tank rests 600 s, is loaded in 300 s, and the other takes
    // 1620 (or 1500) s: 10:05 + 1500 + 600 + 300 + 1620 s = 11:12.
    let plan = planned(&day(&[json!({"time_s": 480}), json!({"time_s": 600})]));
    assert!(plan.optimal);
    assert_eq!(plan.runs.len(), 2);
    assert_eq!(plan.runs[1].end, "2027-03-14T11:12:00+00:00");
}

#[test]
fn a_film_is_late_a_minute_after_its_due_time_and_not_at_it() {
    // The example's run ends at 10:30; films are ready 9000 s later, at 13:00.
    let late = |due: &str| planned(&day(&[json!({"due": due})])).late;
    assert_eq!(late("13:00"), Vec::<String>::new());
    assert_eq!(late("12:59"), ["R1"]);
}

#[test]
fn what_the_fixer_cannot_serve_stays_and_says_so() {
    let mut short = day(&[json!({"weight": 1}), json!({"weight": 2})]);
    short["fixer"]["remaining"] = json!(1.5);
    let plan = planned(&short);
    assert!(plan.optimal);
    assert_eq!(plan.totals.left_over_weight, 1);
    assert_eq!(plan.runs[0].rolls, ["R2"]);
    assert!(plan.left_over[0].reason.contains("fixer"), "{}", plan.left_over[0].reason);
}

#[test]
fn hands_may_be_at_work_after_the_room_has_closed() {
    // Loaded by 10:05, over at 10:30: the room closes then. The hands of its person, 3600 s from
    // the beginning of the fixing on (10:15), are at work until 11:25 and so longer than the room
    // is open, but within their own hours; of two such rolls only one can run, whichever it is.
    for (rolls, left) in [(vec![json!({})], 0), (vec![json!({}), json!({"time_s": 600})], 1)] {
        let mut short = day(&rolls);
        short["open"] = json!([["10:00", "10:32"]]);
        short["hands"]["after_fix_s"] = json!(3600);
        let plan = planned(&short);
        assert_eq!((plan.totals.left_over_weight, plan.bound.left_over_weight), (left, left));
        assert_eq!(plan.runs.len(), 1);
    }
}

#[test]
fn hands_that_are_free_before_a_run_ends_load_the_next() {
    // 60 + 360 + 60 + 300 + 30 + 120 + 300 + 60 = 1290 s, nothing is hung: after 825 s hands are
    // free. Loaded by 10:05, over at 10:26:30; the other is loaded (300 s) before that, starts at
    // 10:27 and is over at 10:48:30. Loaded before or after the first run it would be over at
    // 10:53:30, when the room has closed.
    let mut short = day(&[json!({"time_s": 360}), json!({"time_s": 360, "alone": true})]);
    short["open"] = json!([["10:00", "10:50"]]);
    short["steps"]["hang_s_per_roll"] = json!(0);
    short["steps"]["sink_gap_s"] = json!(0);
    let second = json!({"id": "B", "stack_mm": 60, "max_reels": 1, "base_ml": 10, "min_ml": 250, "max_ml": 650});
    short["tanks"].as_array_mut().unwrap().push(second);
    let plan = planned(&short);
    assert!(plan.optimal);
    assert_eq!(plan.totals.left_over_weight, 0);
    assert_eq!(plan.runs[1].end, "2027-03-14T10:48:30+00:00");
}
