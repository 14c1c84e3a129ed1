//! Days of the frozen set of small ones of which a wrong bound was claimed once: what an
//! independent solver proved of them, and no less.

use wetside_computing::planner::{Budget, Day, plan};

/// Weight left over, late rolls, runs and the cost in millionths (told to a thousandth), all proven.
fn proven(day: &str) -> (i64, usize, usize, i64) {
    let day = Day::from_json(day).unwrap();
    let plan = plan(&day, &Budget::default(), &mut |_| {});
    assert!(plan.optimal, "{:?}", plan.bound);
    let totals = &plan.totals;
    (totals.left_over_weight, totals.late, totals.runs, totals.cost.0.millionths())
}

#[test]
fn two_sinks_and_one_person_leave_four_of_twelve_rolls() {
    assert_eq!(proven(include_str!("small_253.json")), (4, 0, 5, 4_533_000));
}

#[test]
fn one_sink_and_two_people_leave_five_of_eleven_rolls() {
    assert_eq!(proven(include_str!("small_270.json")), (5, 0, 3, 7_400_000));
}
