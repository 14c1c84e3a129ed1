//! A person takes along what the house keeps about them, and nothing of anybody else.

use std::collections::BTreeSet;

use diesel::prelude::*;
use diesel::sql_types::Text;
use wetside::demo;

use crate::databases::asked;

#[derive(QueryableByName)]
struct Named {
    #[diesel(sql_type = Text)]
    name: String,
}

const SQLITE: &str = "SELECT DISTINCT m.name AS name FROM sqlite_master m \
    JOIN pragma_foreign_key_list(m.name) f WHERE m.type = 'table' AND f.\"table\" = 'members'";
const POSTGRES: &str = "SELECT DISTINCT c.conrelid::regclass::text AS name FROM pg_constraint c \
    WHERE c.contype = 'f' AND c.confrelid = 'members'::regclass";

/// Tables whose rows about a person are in the file they take along.
const TOLD: &[&str] = &[
    "accepted_terms",
    "api_tokens",
    "arrivals",
    "bath_entries",
    "bookings",
    "closings",
    "duties",
    "feeds",
    "incidents",
    "induction_signatures",
    "no_shows",
    "note_acknowledgements",
    "own_runs",
    "recipes",
    "result_notes",
    "roll_events",
    "rolls",
    "series",
    "sessions",
    "unwanted_letters",
    "visits",
    "wall_names",
    "wishes",
];

/// Tables that name a person only as the one who did something for the studio, or that hold nothing
/// for longer than a task needs.
const OF_THE_STUDIO: &[&str] = &[
    "chart_files",         // a file being checked, gone when it is taken in
    "day_changes",         // the plan's own history
    "day_plans",           // the studio's plan
    "draws",               // the studio's stock
    "drop_off_terms",      // published for the studio
    "eyewash_checks",      // the studio's safety record
    "incident_follow_ups", // private to the case
    "note_fillings",       // the studio's notes
    "outages",             // the studio's room
    "outbox",              // letters they have already
    "planning_jobs",       // a plan being made, gone when it is taken
    "processing_records",  // the roll's record, told with the roll's way
    "run_events",          // the run's record
    "runs",                // the studio's plan
    "safety_notes",        // published for the studio
    "safety_settings",     // who the safety lead is
    "secret_links",        // secrets
    "second_factors",      // secrets
    "recovery_codes",      // secrets
    "taken_on",            // the studio's decision
    "waste_log",           // the studio's log
    "waste_rules",         // the studio's rules
    "baths",               // who mixed it, for the studio
];

on_both!(no_table_about_people_is_forgotten, |house| {
    let found: Vec<Named> = asked(house, (SQLITE, POSTGRES));
    let found: BTreeSet<&str> = found.iter().map(|n| n.name.as_str()).collect();
    let decided: BTreeSet<&str> = TOLD.iter().chain(OF_THE_STUDIO).copied().collect();
    assert_eq!(found, decided, "say in the file of one's own data, or here, what becomes of it");
});

/// How many of these the file holds.
fn count(all: &serde_json::Value, what: &str) -> usize {
    all[what].as_array().unwrap_or_else(|| panic!("no list of {what}: {all}")).len()
}

on_both!(ones_bookings_and_rolls_come_along_and_no_one_elses, |house| {
    let everybody = demo::fill(&house.app).unwrap();
    let files: Vec<serde_json::Value> = everybody
        .iter()
        .map(|somebody| {
            let browser = house.browser();
            let form = [("email", somebody.email), ("password", demo::PASSWORD)];
            browser.post("/sign-in", &form).is(303);
            browser.get("/me/export").is(200).json()
        })
        .collect();
    for what in ["bookings", "rolls", "visits", "baths_used", "waiting_for", "duties"] {
        assert!(files.iter().any(|all| count(all, what) > 0), "nobody has {what}");
    }
    let tickets: Vec<&str> = files
        .iter()
        .flat_map(|all| all["rolls"].as_array().unwrap())
        .map(|roll| roll["ticket"].as_str().unwrap())
        .collect();
    assert_eq!(tickets.len(), tickets.iter().collect::<BTreeSet<_>>().len());
    let mut rolls = files.iter().flat_map(|all| all["rolls"].as_array().unwrap());
    let developed = rolls.find_map(|roll| roll["developed"].get(0)).unwrap();
    assert_eq!(developed["baths"][0]["label"], "Fixer 12, working bottle", "{developed}");
    let roll = files.iter().find_map(|all| all["rolls"].get(0)).unwrap();
    assert!(roll["way"][0]["at"].as_str().unwrap().starts_with("20"), "{roll}");
    for (all, somebody) in files.iter().zip(&everybody) {
        let text = all.to_string();
        for other in everybody.iter().filter(|o| o.email != somebody.email) {
            assert!(!text.contains(other.email), "{} is told of {}", somebody.email, other.email);
        }
    }
});
