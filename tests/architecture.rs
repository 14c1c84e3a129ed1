//! The rules of the house, read from its own text. Each message says what to do instead.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Rooms from the ground up: each may use those before it, none may use those after it.
const ORDER: &[&str] = &[
    "units",
    "chemistry",
    "hazards",
    "planner",
    "clock",
    "error",
    "secrets",
    "db",
    "sessions",
    "studio",
    "links",
    "throttle",
    "pulse",
    "config",
    "outbox",
    "web",
    "data_sheets",
    "members",
    "keeping",
    "safety",
    "incidents",
    "sinks",
    "customs",
    "duty",
    "bookings",
    "series",
    "presence",
    "calendar",
    "wall",
    "recipes",
    "rolls",
    "shelf",
    "waste",
    "baths",
    "costs",
    "day",
    "month",
    "belongings",
    "front",
    "find",
    "api",
    "jobs",
    "app",
    "demo",
    "cli",
];

/// What begins the program and what links it.
const NO_ROOM: [&str; 3] = ["main", "lib", "build"];

/// The hall and the frame know each other: a page needs the app, the app holds the pages.
const FRAME: [&str; 6] = ["app", "config", "outbox", "web", "error", "jobs"];

fn files(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, out);
        } else if path.extension().is_some_and(|x| x == "rs") {
            out.push(path);
        }
    }
}

fn sources() -> Vec<(PathBuf, String)> {
    let mut all = Vec::new();
    files(Path::new("src"), &mut all);
    all.sort();
    all.into_iter().map(|p| (p.clone(), fs::read_to_string(p).unwrap())).collect()
}

fn room(path: &Path) -> String {
    let inner = path.strip_prefix("src/computing").or_else(|_| path.strip_prefix("src")).unwrap();
    let part = inner.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
    part.trim_end_matches(".rs").to_owned()
}

/// The rooms a text names after `crate::`, in groups or alone.
fn used(text: &str) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for part in text.split("crate::").skip(1) {
        if let Some(group) = part.strip_prefix('{') {
            let mut depth = 0;
            let mut name = String::new();
            for c in group.chars() {
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => {
                        out.insert(name.split("::").next().unwrap().trim().to_owned());
                        name.clear();
                    }
                    c if depth == 0 => name.push(c),
                    _ => {}
                }
            }
            out.insert(name.split("::").next().unwrap().trim().to_owned());
        } else {
            out.insert(part.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
        }
    }
    out
}

#[test]
fn rooms_look_downwards_only() {
    let rank = |r: &str| ORDER.iter().position(|o| *o == r);
    for (path, text) in sources() {
        let own = room(&path);
        let Some(own_rank) = rank(&own) else { continue };
        for other in used(&text) {
            let Some(other_rank) = rank(&other) else { continue };
            let frame = FRAME.contains(&other.as_str());
            assert!(
                other_rank <= own_rank || frame,
                "{} uses crate::{other}, which stands above {own}. Move what both need into the \
                 lower room, or hand it in as a value.",
                path.display()
            );
        }
    }
}

#[test]
fn every_room_has_its_place_in_the_order() {
    let known: BTreeSet<String> = ORDER.iter().map(ToString::to_string).collect();
    for (path, _) in sources() {
        let own = room(&path);
        assert!(
            known.contains(&own) || NO_ROOM.contains(&own.as_str()),
            "{own} has no place in ORDER of this test; say above which rooms it stands."
        );
    }
}

#[test]
fn rules_are_pure() {
    const IMPURE: [&str; 10] = [
        "diesel",
        "actix",
        "tera::",
        "lettre",
        "std::fs",
        "std::net::Tcp",
        "std::env",
        "Utc::now",
        "rand::",
        "SystemTime",
    ];
    for (path, text) in sources() {
        let shown = path.display().to_string();
        let pure = path.ends_with("rules.rs")
            || path.ends_with("calendar/ics.rs")
            || shown.starts_with("src/computing");
        if !pure {
            continue;
        }
        for word in IMPURE {
            assert!(
                !text.contains(word),
                "{shown} names {word}. Rules get facts and the time handed in, and return values."
            );
        }
    }
}

#[test]
fn the_database_is_spoken_to_in_stores_only() {
    for (path, text) in sources() {
        let shown = path.display().to_string();
        let may = path.file_name().is_some_and(|f| f.to_string_lossy().ends_with("store.rs"))
            || shown.contains("/store/")
            || shown.starts_with("src/db/")
            || shown == "src/error.rs";
        assert!(
            may || !text.contains("use diesel"),
            "{shown} uses diesel. Ask the question in the room's store.rs."
        );
    }
}

#[test]
fn the_web_stays_at_the_door() {
    for (path, text) in sources() {
        let shown = path.display().to_string();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let may = name.ends_with("pages.rs")
            || name.ends_with("api.rs")
            || shown.contains("/pages/")
            || shown.contains("/api/")
            || [
                "src/web/",
                "src/cli/",
                "src/db/",
                "src/app.rs",
                "src/error.rs",
                "src/outbox/mailer.rs",
            ]
            .iter()
            .any(|p| shown.starts_with(p));
        assert!(
            may || !text.contains("actix_web"),
            "{shown} uses actix. A room meets the web in pages.rs and api.rs."
        );
    }
}

#[test]
fn each_table_is_written_by_one_room() {
    let mut writers: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for (path, text) in sources() {
        for verb in ["insert_into(", "diesel::delete(", "diesel::update("] {
            for after in text.split(verb).skip(1) {
                let table: String = after
                    .trim_start()
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                if after.trim_start().starts_with(&format!("{table}::table")) {
                    writers.entry(table).or_default().insert(room(&path));
                }
            }
        }
    }
    assert!(writers.len() > 5);
    for (table, rooms) in writers {
        assert!(
            rooms.len() == 1,
            "{table} is written by {rooms:?}. Read across, write at home: call the owner's verb."
        );
    }
}

#[test]
fn files_and_functions_stay_small() {
    for (path, text) in sources() {
        let lines = text.lines().count();
        assert!(
            lines <= 400,
            "{} has {lines} lines. Move one verb or noun to a file of its own.",
            path.display()
        );
    }
}

#[test]
fn no_room_is_a_drawer_for_odds_and_ends() {
    for (path, _) in sources() {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        assert!(
            !["util", "utils", "helper", "helpers", "common", "misc", "shared"]
                .contains(&name.as_str()),
            "{} says nothing of what is inside. Name it for what it is about.",
            path.display()
        );
    }
}

#[test]
fn every_template_is_used() {
    let code: String = sources().into_iter().map(|(_, t)| t).collect();
    let mut stack = vec![PathBuf::from("templates")];
    let mut seen = 0;
    while let Some(dir) = stack.pop() {
        for entry in fs::read_dir(dir).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                stack.push(path);
                continue;
            }
            let name = path.strip_prefix("templates").unwrap().display().to_string();
            if name.starts_with("parts/") || !name.contains('.') {
                continue;
            }
            let (is_letter, is_page) = (name.ends_with(".txt"), name.ends_with(".html"));
            let wanted = if is_letter {
                format!("\"{}\"", name.trim_start_matches("mail/").trim_end_matches(".txt"))
            } else {
                format!("\"{name}\"")
            };
            if is_letter || is_page {
                seen += 1;
                assert!(code.contains(&wanted), "templates/{name} is used by nothing: delete it.");
            }
        }
    }
    assert!(seen > 3);
}

#[test]
fn the_map_for_developers_names_every_room() {
    let guide = fs::read_to_string("DEVELOPERS.md").unwrap();
    let map: String = guide.lines().filter(|l| l.starts_with("| `")).collect();
    for (path, _) in sources() {
        let own = room(&path);
        assert!(
            NO_ROOM.contains(&own.as_str()) || map.contains(&format!("`{own}`")),
            "{own} is missing in the map of DEVELOPERS.md; say in a few words what it holds."
        );
    }
}
