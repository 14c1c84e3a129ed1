//! The notes of the invented studio: some blanks filled in, members who have read everything, one
//! newcomer half way in and one who has only just come.

use std::collections::BTreeMap;

use super::people::Ids;
use crate::bookings::Place;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
use crate::incidents::{self, Here, NewIncident};
use crate::safety::{self, Filling};
use crate::sessions::{Person, Role, Taste, Via};

/// What of the blanks is filled in; the poison centre and most local rules are still empty.
const FILLED: [(&str, &str); 8] = [
    ("emergency-number", "112"),
    ("street-address", "The old net loft, Harbour Row, Quillhaven"),
    ("eyewash-place", "left of the North sink"),
    ("first-aid-place", "beside the door"),
    ("spill-kit-place", "under the Harbour sink, yellow lid"),
    ("data-sheets-place", "the red folder by the door"),
    ("fixer-container", "the grey drum marked FIXER"),
    ("developer-container", "the white canister marked DEVELOPER"),
];

pub(super) fn post(tx: &mut Tx<'_>, now: Moment, ids: &Ids) -> Result<(), Error> {
    safety::post_starting_set(tx, now.plus(-120 * 86_400))?;
    let mut wished: BTreeMap<&str, Filling> = FILLED
        .iter()
        .map(|(key, value)| (*key, Filling { value: (*value).to_owned(), ..Filling::default() }))
        .collect();
    wished.insert(
        "rule-empty-bottles",
        Filling {
            value: "Rinsed three times, the rinse into the drum, then with the plastics."
                .to_owned(),
            authority: "Quillhaven Harbour Board".to_owned(),
            ruled_on: "2026-03-02".parse().ok(),
        },
    );
    safety::fill_blanks(tx, now.plus(-100 * 86_400), ids.lead, &wished)?;
    // Tobin has read the notes as they were at first, and not what changed since.
    safety::take_as_read(tx, now.plus(-95 * 86_400), ids.second_lead)?;
    let line = "- Write with a pen that water does not wash off. (practice)";
    let changed = "Waterproof pens only, after a label had run";
    safety::add_line(tx, now.plus(-92 * 86_400), ids.lead, ("labels", line, changed))?;
    let half_way = ids.newcomers.get(1).copied();
    for member in ids.members.iter().copied().chain([ids.lead]).chain(half_way) {
        safety::take_as_read(tx, now.plus(-90 * 86_400), member)?;
    }
    if let Some(newcomer) = half_way {
        let lead = Person {
            id: ids.lead,
            name: String::new(),
            role: Role::Lead,
            paused: false,
            taste: Taste::default(),
            via: Via::Session(0),
        };
        safety::sign_first_points(tx, now.plus(-3 * 86_400), &lead, (newcomer, 5))?;
    }
    Ok(())
}

/// An incident with what was done about it, and runs of the eyewash, the last a week ago.
pub(super) fn report(tx: &mut Tx<'_>, place: &Place, ids: &Ids) -> Result<(), Error> {
    let somebody = |id: i64, role: Role| Person {
        id,
        name: String::new(),
        role,
        paused: false,
        taste: Taste::default(),
        via: Via::Session(0),
    };
    let at =
        |days: i64| Here { now: place.now.plus(-days * 86_400), address: place.address.clone() };
    for days in [29, 22, 15, 8] {
        incidents::record_eyewash(tx, &at(days), ids.lead, (true, "Clear, tepid"))?;
    }
    incidents::name_safety_lead(tx, ids.lead)?;
    let Some(reporter) = ids.newcomers.get(1).copied() else { return Ok(()) };
    let told = NewIncident {
        happened: "Thursday, about half past seven".to_owned(),
        place: "at the Harbour sink".to_owned(),
        what: "The stop bath bottle slipped while it was filled and splashed the bench. The label \
               had run, so nobody was sure what it was."
            .to_owned(),
        chemical: "Stop bath, working strength".to_owned(),
        injury: "Nobody. A few drops on a glove.".to_owned(),
        first_aid: "Rinsed the glove, wiped the bench twice, fan on.".to_owned(),
    };
    let id = incidents::file(tx, &at(6), &somebody(reporter, Role::Newcomer), &told)?;
    let lead = somebody(ids.lead, Role::Lead);
    let text = "Labels are written with waterproof pens from now on; the note says so.";
    incidents::follow_up(tx, place.now.plus(-5 * 86_400), &lead, (id, text))
}
