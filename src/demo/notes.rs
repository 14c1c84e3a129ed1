//! The notes of the invented studio: some blanks filled in, members who have read everything, one
//! newcomer half way in and one who has only just come.

use std::collections::BTreeMap;

use super::people::Ids;
use crate::clock::Moment;
use crate::db::Tx;
use crate::error::Error;
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
