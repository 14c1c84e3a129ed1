//! What went through a door, in words.

/// What somebody did who came through these doors; `API` doors share the words of their pages.
const WORDS: &[(&str, &str)] = &[
    ("POST /tokens", "had an API token issued for address and password"),
    ("POST /apply", "applied to join"),
    ("POST /letters/unwanted/{member}/{kind}/{seal}", "turned a kind of letters off"),
    ("POST /new-address/{secret}", "agreed to a change of address"),
    ("POST /new-password/{secret}", "set a new password by a link"),
    ("POST /prove/{secret}", "proved an address"),
    ("POST /reset", "asked for a link to a new password"),
    ("POST /set-up/{secret}", "set the studio up"),
    ("POST /sign-in", "signed in"),
    ("POST /sign-in/code", "signed in with a second factor"),
    ("POST /sign-out", "signed out"),
    ("POST /sign-out-everywhere", "signed out everywhere"),
    ("POST /welcome/{secret}", "came in by an invitation"),
    ("POST /me", "changed their own entry"),
    ("POST /me/address", "asked for a change of address"),
    ("POST /me/leave", "left the studio"),
    ("POST /me/letters", "chose their letters"),
    ("POST /me/password", "changed their password"),
    ("POST /me/sessions/{id}/end", "ended a session"),
    ("POST /me/tokens", "issued an API token"),
    ("POST /me/tokens/{id}/revoke", "revoked an API token"),
    ("POST /me/second-factor/begin", "began to set up a second factor"),
    ("POST /me/second-factor/confirm", "turned their second factor on"),
    ("POST /me/second-factor/codes", "made new recovery codes"),
    ("POST /me/second-factor/off", "turned their second factor off"),
    ("POST /members", "invited somebody"),
    ("POST /members/{id}/{act}", "changed a member's entry"),
    ("POST /studio", "changed the studio's settings"),
    ("POST /studio/keeping", "changed how long things are kept"),
    ("POST /bookings", "booked"),
    ("POST /bookings/{id}", "changed a booking"),
    ("POST /bookings/{id}/cancel", "cancelled a booking"),
    ("DELETE /bookings/{id}", "cancelled a booking"),
    ("POST /waiting", "went on the waiting list"),
    ("POST /waiting/offers/{id}/take", "took an offered time"),
    ("POST /waiting/{id}/withdraw", "left the waiting list"),
    ("POST /series", "made a recurring session"),
    ("POST /series/{id}/call-off", "called a recurring session off"),
    ("POST /series/{id}/shift", "shifted a recurring session"),
    ("POST /presence/in", "checked in"),
    ("POST /presence/out", "checked out"),
    ("POST /presence/{visit}/out", "checked somebody out"),
    ("POST /presence/arrivals/{booking}", "marked an arrival"),
    ("POST /duty", "put a lead on duty"),
    ("POST /duty/{id}/remove", "took a duty away"),
    ("POST /rolls/new", "handed in a roll"),
    ("POST /rolls", "handed in a roll"),
    ("POST /rolls/{ticket}/state", "moved a roll on"),
    ("POST /rolls/{ticket}/withdraw", "took a roll back"),
    ("POST /rolls/{ticket}/result", "noted a result"),
    ("POST /rolls/{ticket}/results", "noted a result"),
    ("POST /rolls/terms", "changed the drop-off terms"),
    ("POST /chart/new", "entered a recipe"),
    ("POST /chart/{id}/decide", "decided on a recipe"),
    ("POST /chart/{id}/withdraw", "withdrew a recipe"),
    ("POST /chart/films", "entered a film"),
    ("POST /chart/developers", "entered a developer"),
    ("POST /chart/developers/{id}", "changed a developer"),
    ("POST /chart/bring-in", "brought a chart in"),
    ("POST /chart/bring-in/{id}", "brought a chart in"),
    ("POST /baths", "mixed a bath"),
    ("POST /baths/{id}/uses", "booked a use of a bath"),
    ("POST /baths/{id}/clip-tests", "noted a clip test"),
    ("POST /baths/{id}/scrap-tests", "noted a scrap test"),
    ("POST /baths/{id}/retire", "retired a bath"),
    ("POST /baths/{id}/rotate", "rotated a bath"),
    ("POST /baths/{id}/recall", "called rolls of a bath back"),
    ("POST /baths/{id}/replenishments", "replenished a bath"),
    ("POST /baths/{id}/top-ups", "topped a bath up"),
    ("POST /baths/{id}/corrections/{entry}", "corrected a line of a bath"),
    ("POST /days", "asked for a day's plan"),
    ("POST /plans", "asked for a day's plan"),
    ("POST /days/{date}/again", "planned a day again"),
    ("POST /days/{date}/publish", "published a day"),
    ("POST /plans/{date}/publish", "published a day"),
    ("POST /days/{date}/slide", "slid a day"),
    ("POST /days/{date}/undo", "undid a change of a draft"),
    ("POST /own-runs", "planned a session of their own"),
    ("POST /sessions", "planned a session of their own"),
    ("POST /runs/{id}/end", "ended a run"),
    ("POST /runs/{id}/abort", "gave a run up"),
    ("POST /runs/{id}/tell", "told how a run went"),
    ("POST /runs/{id}/fix-again", "asked for fixing again"),
    ("POST /runs/{id}/bottle", "checked a bottle"),
    ("POST /notes/new", "posted a safety note"),
    ("POST /notes/{slug}/edit", "posted a new version of a safety note"),
    ("POST /notes/{slug}/take-down", "took a safety note down"),
    ("POST /notes/{slug}/acknowledge", "acknowledged a safety note"),
    ("POST /notes/{slug}/acknowledgements", "acknowledged a safety note"),
    ("POST /safety/induction/{member}", "signed an induction"),
    ("POST /incidents/new", "filed an incident"),
    ("POST /incidents/{id}/follow-up", "followed an incident up"),
    ("POST /incidents/{id}/close", "closed an incident"),
    ("POST /shelf/products/new", "entered a product"),
    ("POST /shelf/products/{id}/change", "changed a product"),
    ("POST /shelf/products/{id}/bottles", "put bottles on the shelf"),
    ("POST /shelf/bottles/{id}/count", "counted a bottle"),
    ("POST /shelf/bottles/{id}/open", "opened a bottle"),
    ("POST /waste/containers", "set a waste container up"),
    ("POST /waste/containers/{id}/pours", "poured into a waste container"),
    ("POST /waste/containers/{id}/pick-ups", "had a waste container picked up"),
    ("POST /waste/rules", "changed what may be poured away"),
    ("POST /letters/{id}/retry", "sent a parked letter again"),
    ("member add", "invited somebody from the machine"),
    ("member reset", "made a link to a new password from the machine"),
    ("member address", "began a change of address from the machine"),
    ("member sign-out", "signed somebody out from the machine"),
    ("member forget-second-factor", "took a second factor away from the machine"),
    ("token", "issued an API token from the machine"),
];

/// The doors at which tries are counted before they are made.
const TRIED: &[(&str, &str)] = &[
    ("POST /sign-in", "tried to sign in"),
    ("POST /sign-in/code", "tried a code of a second factor"),
    ("POST /tokens", "tried to have an API token issued"),
    ("POST /reset", "asked for a link to a new password"),
    ("POST /apply", "applied to join"),
    ("POST /me/password", "tried to change their password"),
    ("POST /me/address", "tried to change their address"),
    ("POST /me/leave", "tried to leave the studio"),
    ("POST /me/second-factor/confirm", "tried to turn their second factor on"),
    ("POST /me/second-factor/codes", "tried to make new recovery codes"),
    ("POST /me/second-factor/off", "tried to turn their second factor off"),
];

/// What was done, in words; for a door that has none, its address without the braces.
pub(super) fn what(door: &str, only_tried: bool) -> String {
    let plain = door.replacen(" /api/v1", " ", 1).replacen("  ", " ", 1);
    if only_tried && let Some((_, words)) = TRIED.iter().find(|(of, _)| *of == plain) {
        return (*words).to_owned();
    }
    let known = WORDS.iter().find(|(of, _)| *of == plain).map(|(_, words)| (*words).to_owned());
    let words = known.unwrap_or_else(|| {
        let path = plain.split_once(' ').map_or(plain.as_str(), |(_, path)| path);
        let told: Vec<&str> =
            path.split('/').filter(|p| !p.is_empty() && !p.starts_with('{')).collect();
        format!("changed: {}", told.join(", ").replace('-', " "))
    });
    if only_tried { format!("tried: {words}") } else { words }
}

#[cfg(test)]
mod tests {
    use super::what;

    #[test]
    fn doors_are_put_in_words() {
        assert_eq!(what("POST /bookings/{id}/cancel", false), "cancelled a booking");
        assert_eq!(what("DELETE /api/v1/bookings/{id}", false), "cancelled a booking");
        assert_eq!(what("POST /sign-in", true), "tried to sign in");
        assert_eq!(what("POST /room/sinks/{id}", false), "changed: room, sinks");
        assert_eq!(
            what("POST /notes/{slug}/questions/{id}/retire", false),
            "changed: notes, questions, retire"
        );
    }
}
