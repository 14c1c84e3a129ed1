//! What a new studio still needs before anybody can work in it, in the order in which it is needed.

use serde::Serialize;

use super::store;
use crate::db::Conn;
use crate::error::Error;
use crate::safety;

/// One thing to do, or done.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub(super) struct Step {
    /// What to do.
    text: &'static str,
    /// What it is good for.
    why: &'static str,
    /// Where it is done.
    href: &'static str,
    /// Whether it stands.
    is_done: bool,
}

/// Where each is done, what to do, what it is good for.
const STEPS: [(&str, &str, &str); 13] = [
    (
        "/safety/blanks",
        "Fill in the blanks of the safety notes",
        "Whoever is hurt finds the number, the eyewash and the first-aid kit there.",
    ),
    (
        "/room/hours",
        "Say when the door is open",
        "Nothing can be booked while the studio is closed.",
    ),
    ("/room", "Add the sinks", "They are what is booked, and where tanks are run."),
    (
        "/room",
        "Add the tanks and their reels",
        "Rolls are planned into them, and volumes worked out from them.",
    ),
    (
        "/room",
        "Add where film is loaded, washed and hung",
        "The planner counts on them. A loading place wants a room of its own that can be dark.",
    ),
    ("/chart/films", "List the films that are handed in", "A roll is handed in as one of them."),
    (
        "/chart/developers",
        "List the developers with their dilutions",
        "A recipe names one, and its least concentrate for a roll.",
    ),
    ("/chart/new", "Enter the first recipe", "Or take in many from a file. Rolls run by them."),
    (
        "/shelf",
        "Take in what stands on the shelf",
        "Mix sheets are held against it, and labels and hazard lines come from it.",
    ),
    (
        "/baths/new",
        "Mix the shared fixer",
        "Its ledger counts every film, and writes to you before it is spent.",
    ),
    (
        "/waste",
        "Start a waste container for each kind",
        "Nothing can be retired or poured away without one.",
    ),
    (
        "/duty",
        "Say when a lead is in the room",
        "Newcomers book only at those hours, and those leads pour on planned days.",
    ),
    (
        "/members",
        "Invite the first members",
        "They read the safety notes, then book and hand in rolls.",
    ),
];

/// The steps of a studio that has some before it; none where all are done.
///
/// # Errors
/// As the database's.
pub(super) fn first_steps(conn: &mut Conn) -> Result<Vec<Step>, Error> {
    let ((hours, sinks, tanks, reels, stations), rest) = store::begun(conn)?;
    let (films, developers, recipes, products, baths, containers, rota, others) = rest;
    let blanks = safety::is_help_named(conn)?;
    let done = [
        blanks,
        hours,
        sinks,
        tanks && reels,
        stations,
        films,
        developers,
        recipes,
        products,
        baths,
        containers,
        rota,
        others,
    ];
    if done.iter().all(|d| *d) {
        return Ok(Vec::new());
    }
    let steps = STEPS.iter().zip(done);
    Ok(steps.map(|((href, text, why), is_done)| Step { text, why, href, is_done }).collect())
}
