//! What a search tells while it goes on, and how it ends when it is told to.

use serde_json::{Value, json};
use wetside_computing::planner::{Budget, Day, Part, Plan, Progress, plan};

use crate::days::example;

/// A day whose rolls compete for one tank, so that no part of the search is needless.
fn crowded(rolls: usize) -> Day {
    let mut day = example();
    let roll = day["rolls"][0].clone();
    let times = [480, 500, 525, 610, 640];
    day["rolls"] = (0..rolls)
        .map(|at| {
            let mut roll = roll.clone();
            roll["id"] = json!(format!("R{at}"));
            roll["time_s"] = json!(times[at % times.len()]);
            roll
        })
        .collect();
    day["open"] = json!([["10:00", "12:10"]]);
    day["people"][0]["hours"] = day["open"].clone();
    day["sinks"][0]["busy"] = json!([]);
    Day::from_json(&day.to_string()).expect("a valid day")
}

fn watched(rolls: usize, watch: &mut dyn FnMut(Progress<'_>)) -> Plan {
    plan(&crowded(rolls), &Budget::default(), watch)
}

fn ids(plan: &Plan) -> usize {
    plan.runs.iter().map(|run| run.rolls.len()).sum::<usize>() + plan.left_over.len()
}

#[test]
fn every_part_is_told_and_the_best_day_only_gets_better() {
    let mut parts = Vec::new();
    let mut least = (i64::MAX, usize::MAX, usize::MAX);
    watched(13, &mut |progress| {
        assert!(progress.done <= progress.of, "{} of {}", progress.done, progress.of);
        if parts.last() != Some(&progress.part) {
            parts.push(progress.part);
        }
        let now = (progress.left_over_weight, progress.late, progress.runs);
        assert!(progress.tries == 0 || now <= least, "{now:?} after {least:?}");
        least = now;
    });
    assert!(parts.contains(&Part::Trying), "{parts:?}");
    assert!(parts.contains(&Part::Proving), "{parts:?}");
    assert!(parts.is_sorted(), "parts follow one another: {parts:?}");
}

#[test]
fn a_search_told_to_end_hands_out_the_best_day_it_has() {
    for last in [Part::Grouping, Part::Trying, Part::Proving] {
        let (mut told, mut best) = (0, None);
        let ended = watched(13, &mut |progress| {
            if progress.part == last {
                told += 1;
                best = progress.best().map(|plan| plan.totals);
                *progress.stop = true;
            }
        });
        assert_eq!(told, 1, "nothing is told after the end of {last:?}");
        assert_eq!(ids(&ended), 13, "no roll is lost by an end in {last:?}");
        if let Some(best) = best {
            assert_eq!(best, ended.totals, "what was shown last in {last:?} is what is handed out");
        }
    }
}

#[test]
fn a_backlog_of_hundreds_can_be_watched_and_ended() {
    let mut seen = 0;
    let ended = watched(500, &mut |progress| {
        seen += 1;
        *progress.stop = progress.tries > 3;
    });
    assert!(seen > 1);
    assert_eq!(ids(&ended), 500);
    let text = serde_json::to_value(&ended).expect("a plan is JSON");
    assert!(text["left_over"].as_array().is_some_and(|left| left.iter().all(Value::is_object)));
}
