//! Every door tried by everybody.

use wetside::app;
use wetside::sessions::Role;
use wetside::web::{Routes, Who};

use crate::house::{Api, Browser};

/// A path that can be asked for: every part in braces is given a value that no row has.
fn path_of(pattern: &str) -> String {
    let mut path = String::new();
    let mut depth = 0;
    for c in pattern.chars() {
        match c {
            '{' => {
                if depth == 0 {
                    path.push_str("424242");
                }
                depth += 1;
            }
            '}' => depth -= 1,
            c if depth == 0 => path.push(c),
            _ => {}
        }
    }
    path
}

/// Whether the door let somebody of this standing through to the room behind it.
fn let_in(status: u16, location: Option<&str>) -> bool {
    !(status == 401 || status == 403 || location.is_some_and(|l| l.starts_with("/sign-in?next=")))
}

on_both!(no_door_opens_to_whom_it_is_not_for, |house| {
    let people: Vec<(Option<Role>, Browser, Api)> =
        [None, Some(Role::Newcomer), Some(Role::Member), Some(Role::Lead)]
            .into_iter()
            .map(|role| match role {
                None => (role, house.browser(), Api::new(&house.url, None)),
                Some(r) => {
                    let browser = house.person(r.word(), r);
                    let api = house.api(&browser);
                    (role, browser, api)
                }
            })
            .collect();
    let mut routes = Routes::default();
    app::routes(&mut routes);
    assert!(routes.table().len() > 10);
    for door in routes.table() {
        // Walking through these would end the walk, or needs a token of another kind.
        if ["/sign-out", "/sign-out-everywhere", "/metrics"].contains(&door.path.as_str()) {
            continue;
        }
        let path = path_of(&door.path);
        for (role, browser, api) in &people {
            let answer = match (door.method.as_str(), path.starts_with("/api/")) {
                ("GET", true) => api.get(&path),
                ("DELETE", true) => api.delete(&path),
                ("POST", true) => api.post(&path, &serde_json::json!({})),
                ("GET", false) => browser.get(&path),
                ("POST", false) => browser.post(&path, &[]),
                (method, _) => panic!("no story for {method}"),
            };
            let wanted = match door.who {
                Who::Anyone => true,
                Who::Newcomer => *role >= Some(Role::Newcomer),
                Who::Member => *role >= Some(Role::Member),
                Who::Lead => *role >= Some(Role::Lead),
            };
            let seen = let_in(answer.status, answer.location.as_deref());
            assert!(answer.status < 500, "{} {path} broke: {}", door.method, answer.body);
            // An open door may still answer 401 to a wrong password; that is the room's word.
            if door.who != Who::Anyone {
                assert_eq!(seen, wanted, "{} {path} for {role:?}: {}", door.method, answer.status);
            }
        }
    }
});

#[test]
fn the_table_of_doors_is_what_review_saw() {
    let mut routes = Routes::default();
    app::routes(&mut routes);
    let mut lines: Vec<String> =
        routes.table().iter().map(|d| format!("{:?} {} {}", d.who, d.method, d.path)).collect();
    lines.sort();
    let seen = format!("{}\n", lines.join("\n"));
    let path = "tests/doors.txt";
    if std::env::var_os("WETSIDE_WRITE_DOORS").is_some() {
        std::fs::write(path, &seen).unwrap();
    }
    let known = std::fs::read_to_string(path).unwrap_or_default();
    let mut known: Vec<&str> = known.lines().collect();
    known.sort_unstable();
    assert_eq!(
        lines, known,
        "doors changed: run once with WETSIDE_WRITE_DOORS=1 and review {path}"
    );
}
