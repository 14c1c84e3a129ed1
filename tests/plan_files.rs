//! `wetside plan FILE` as a process: its exit code, and which of its two ways it speaks on.

use std::{io::Write, process::Command};

use proptest::prelude::*;
use serde_json::Value;
use wetside::planner::{Budget, Day, plan};

use crate::planned_days::{any_day, any_value, example, mutate};

/// What the program printed on its two ways, and its exit code.
fn planned(bytes: &[u8]) -> (i32, String, String) {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(bytes).unwrap();
    let program = env!("CARGO_BIN_EXE_wetside");
    let out = Command::new(program).arg("plan").arg(file.path()).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("it speaks UTF-8");
    (out.status.code().unwrap(), text(out.stdout), text(out.stderr))
}

#[test]
fn a_day_is_planned_as_by_the_library() {
    let text = example().to_string();
    let (code, out, complaint) = planned(text.as_bytes());
    assert_eq!((code, complaint.as_str()), (0, ""));
    let own = plan(&Day::from_json(&text).unwrap(), &Budget::default(), &mut |_| {});
    let read: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(read, serde_json::to_value(&own).unwrap());
}

#[test]
fn a_faulty_day_is_refused_with_every_fault_and_without_a_plan() {
    let mut day = example();
    day["rolls"][0]["due"] = "25:00".into();
    day["rules"]["grid_s"] = "often".into();
    let (code, out, complaint) = planned(day.to_string().as_bytes());
    assert_eq!((code, out.as_str()), (2, ""));
    let lines: Vec<&str> = complaint.lines().collect();
    assert_eq!(lines.len(), 2, "{complaint}");
    assert!(lines[0].starts_with("$.rules.grid_s: "), "{complaint}");
    assert_eq!(lines[1], r#"$.rolls[0].due: "25:00" is not a time of day; write HH:MM"#);
}

#[test]
fn what_is_no_day_at_all_is_refused_as_well() {
    let broken: [(&[u8], &str); 4] = [
        (b"", "line 1"),
        (b"{\n \"format\": 1,,\n}", "line 2"),
        (b"{\"format\": \xff}", "UTF-8"),
        (b"[]", "$"),
    ];
    for (bytes, word) in broken {
        let (code, out, complaint) = planned(bytes);
        assert_eq!((code, out.as_str()), (2, ""), "{complaint}");
        assert!(complaint.contains(word), "{complaint} should name {word}");
        assert_eq!(complaint.lines().count(), 1, "{complaint}");
    }
    let program = env!("CARGO_BIN_EXE_wetside");
    let out = Command::new(program).args(["plan", "/nowhere/day.json"]).output().unwrap();
    assert_eq!(out.status.code(), Some(2));
    assert!(out.stdout.is_empty() && !out.stderr.is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_change_of_a_day_is_planned_or_refused_never_both(
        day in any_day(),
        changes in proptest::collection::vec((any::<usize>(), proptest::option::of(any_value())), 0..3),
    ) {
        let mut day = day;
        changes.iter().for_each(|(place, value)| mutate(&mut day, *place, value.as_ref()));
        let (code, out, complaint) = planned(day.to_string().as_bytes());
        if code == 0 {
            prop_assert!(complaint.is_empty(), "{complaint}");
            prop_assert!(serde_json::from_str::<Value>(&out).is_ok());
        } else {
            prop_assert_eq!((code, out.as_str()), (2, ""));
            prop_assert!(complaint.lines().count() > 0);
            prop_assert!(complaint.lines().all(|line| line.starts_with('$')), "{}", complaint);
        }
    }
}
