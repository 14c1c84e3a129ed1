//! The file of a day: what is read, and how every fault in it is named.

use serde_json::{Value, json};
use wetside_computing::planner::{Budget, Day, plan};

use crate::days::example;

/// The faults of the example after a change, as they are printed.
fn faults(change: impl FnOnce(&mut Value)) -> Vec<String> {
    let mut day = example();
    change(&mut day);
    text_faults(&day.to_string())
}

fn text_faults(text: &str) -> Vec<String> {
    Day::from_json(text).err().unwrap_or_default().iter().map(ToString::to_string).collect()
}

#[test]
fn the_example_gives_the_plan_of_the_specification() {
    let day = Day::from_json(include_str!("example.json")).unwrap();
    let plan = plan(&day, &Budget::default(), &mut |_| {});
    let mut written = serde_json::to_value(&plan).unwrap();
    assert!(written["runs"][0]["why"].as_array().is_some_and(|why| !why.is_empty()));
    written["runs"][0]["why"] = json!(["..."]);
    let text = serde_json::to_string(&written).unwrap();
    let wanted = concat!(
        r#"{"runs":[{"tank":"A","sink":"north","person":"lead","loader":"lead","#,
        r#""load_start":"2027-03-14T10:00:00+00:00","load_end":"2027-03-14T10:05:00+00:00","#,
        r#""start":"2027-03-14T10:05:00+00:00","end":"2027-03-14T10:30:00+00:00","rolls":["R1"],"#,
        r#""developer":"saltmarsh","time_s":480,"developer_ml":304.0,"concentrate_ml":9.5,"#,
        r#""water_ml":294.5,"why":["..."]}],"left_over":[],"late":[],"#,
        r#""totals":{"runs":1,"concentrate_ml":{"saltmarsh":9.5},"developer_ml":{"saltmarsh":304.0},"#,
        r#""fixer":1.0,"cost":1.583,"left_over_weight":0,"late":0},"#,
        r#""bound":{"left_over_weight":0,"late":0,"runs":1,"cost":1.583},"optimal":true}"#,
    );
    assert_eq!(text, wanted);
}

#[test]
fn each_fault_is_named_by_its_path() {
    let cases: [(&str, Value, &str); 9] = [
        ("/rolls/0/due", json!("25:00"), "$.rolls[0].due: "),
        ("/rolls/0/developer", json!("nobody"), "$.rolls[0].developer: "),
        ("/rolls/0/format", json!("glass"), "$.rolls[0].format: "),
        ("/rolls/0/time_s", json!(-5), "$.rolls[0].time_s: "),
        ("/open/0", json!(["18:00", "10:00"]), "$.open[0]"),
        ("/time_zone", json!("Quillhaven"), "$.time_zone: "),
        ("/tanks/0/max_ml", json!("many"), "$.tanks[0].max_ml: "),
        ("/reels/0/busy/0", json!(["12:00", "13:00"]), "$.reels[0].busy[0]"),
        ("/format", json!(2), "$.format: "),
    ];
    for (place, value, path) in cases {
        let found = faults(|day| *day.pointer_mut(place).unwrap() = value);
        assert!(
            found.len() == 1 && found[0].starts_with(path),
            "{place} should be one fault at {path}, not {found:?}"
        );
    }
}

#[test]
fn all_faults_come_at_once_and_in_the_order_of_the_file() {
    let found = faults(|day| {
        day["rolls"][0]["due"] = json!("25:00");
        day["people"][0]["tanks_at_once"] = json!(-1);
        day["rules"]["grid_s"] = json!("often");
    });
    let paths = ["$.rules.grid_s: ", "$.people[0].tanks_at_once: ", "$.rolls[0].due: "];
    assert_eq!(found.len(), 3, "{found:?}");
    assert!(found.iter().zip(paths).all(|(found, path)| found.starts_with(path)), "{found:?}");
    assert_eq!(found[2], r#"$.rolls[0].due: "25:00" is not a time of day; write HH:MM"#);
}

#[test]
fn unknown_double_and_missing_keys_are_faults() {
    let unknown = faults(|day| day["rolls"][0]["colour"] = json!("red"));
    assert!(unknown.len() == 1 && unknown[0].contains("colour"), "{unknown:?}");
    let missing = faults(|day| drop(day["steps"].as_object_mut().unwrap().remove("fix_s")));
    assert!(missing.len() == 1 && missing[0].contains("fix_s"), "{missing:?}");
    let twice = include_str!("example.json").replacen(
        r#""time_s": 480,"#,
        r#""time_s": 480, "time_s": 490,"#,
        1,
    );
    let twice = text_faults(&twice);
    assert!(twice.len() == 1 && twice[0].contains("time_s"), "{twice:?}");
    let same = faults(|day| {
        let roll = day["rolls"][0].clone();
        day["rolls"].as_array_mut().unwrap().push(roll);
    });
    assert!(same.len() == 1 && same[0].starts_with("$.rolls[1].id: "), "{same:?}");
}

#[test]
fn a_syntax_error_stands_alone_with_line_and_column() {
    let found = text_faults("{\n  \"format\": 1,,\n}");
    assert!(
        found.len() == 1 && found[0].contains("line 2") && found[0].contains("column"),
        "{found:?}"
    );
    assert_eq!(text_faults("").len(), 1);
}

#[test]
fn a_time_that_the_clock_skips_or_repeats_is_named() {
    for (date, what) in [("2027-03-28", "does not exist"), ("2027-10-31", "exists twice")] {
        let found = faults(|day| {
            day["date"] = json!(date);
            day["rolls"][0]["ready"] = json!("01:30");
        });
        assert!(found.len() == 1 && found[0].contains(what), "{found:?}");
    }
}
