//! The notes: posted, changed, filled in, taken down, printed.

use wetside::safety;
use wetside::sessions::Role;

use crate::house::{Browser, House};

fn post_notes(house: &House) {
    let now = house.clock.now();
    house.app.db.write_now(|tx| safety::post_starting_set(tx, now)).unwrap();
}

/// The fields of a note as its form sends them.
fn note<'a>(
    title: &'a str,
    body: &'a str,
    change: &'a str,
    version: &'a str,
) -> Vec<(&'a str, &'a str)> {
    vec![
        ("title", title),
        ("summary", "How the drain is kept clear"),
        ("body", body),
        ("position", "500"),
        ("change_note", change),
        ("version", version),
        ("then", "post"),
    ]
}

fn post(lead: &Browser, title: &str, body: &str) -> String {
    let done = lead.post("/notes/new", &note(title, body, "", "")).is(303);
    done.location.unwrap()
}

on_both!(a_lead_posts_a_note_and_everybody_may_read_it, |house| {
    let lead = house.person("Maren", Role::Lead);
    let body = "- Never pour film into the drain.\n\n[[eyewash-place]]";
    let fields = note("The drain", body, "", "");
    let mut preview = fields.clone();
    preview.pop();
    preview.push(("then", "preview"));
    lead.post("/notes/new", &preview)
        .is(200)
        .says("Preview, not yet posted")
        .says("Not filled in yet: Where the eyewash is");
    house.browser().get("/notes/the-drain").is(404);
    let to = post(&lead, "The drain", body);
    assert_eq!(to, "/notes/the-drain");
    let seen = house.browser().get(&to).is(200);
    seen.clone().says("Version 1, posted Monday 15 March 2027").says("Never pour film");
    assert!(!seen.body.contains("Change this note"));
    lead.get(&to).says("Change this note");
    // A second note of that name gets an address of its own.
    assert_eq!(post(&lead, "The drain", body), "/notes/the-drain-2");
});

on_both!(what_is_wrong_with_a_note_is_said_and_nothing_typed_is_lost, |house| {
    let lead = house.person("Maren", Role::Lead);
    let deep = format!("{} deep", ">".repeat(40));
    lead.post("/notes/new", &note("", &deep, "", ""))
        .is(422)
        .says("Please give a title.")
        .says("deep in one another")
        .says("&gt;&gt;&gt;&gt;");
    lead.post("/notes/new", &note("A", "Look at [[the-moon]].", "", ""))
        .is(422)
        .says("There is no blank called [[the-moon]].");
});

on_both!(a_new_version_says_what_changed_and_the_old_one_stays, |house| {
    let lead = house.person("Maren", Role::Lead);
    let at = post(&lead, "Rinsing", "Rinse for 10 minutes.\n\nThen dry.");
    let edit = format!("{at}/edit");
    let new = "Rinse for 15 minutes.\n\nThen dry.";
    lead.post(&edit, &note("Rinsing", new, "", "1")).is(422).says("say in a sentence what changed");
    house.clock.advance(3600);
    lead.post(&edit, &note("Rinsing", new, "Longer, as the law has it", "1")).is(303);
    // A form that was opened before says so, and keeps what was typed.
    lead.post(&edit, &note("Rinsing", "Something else", "Other", "1"))
        .is(409)
        .says("changed while this form was open")
        .says("Something else");
    lead.post(&edit, &note("Rinsing", new, "Nothing", "2")).is(409).says("Nothing was changed");
    house.browser().get(&at).says("Rinse for 15 minutes").says("Longer, as the law has it");
    let versions = lead.get(&format!("{at}/versions")).is(200);
    versions.clone().says("Version 2").says("Version 1").says("Maren").says("11:00");
    // Names of people are not for the street.
    assert!(!house.browser().get(&format!("{at}/versions")).body.contains("Maren"));
    house.browser().get(&format!("{at}/versions/1")).says("Rinse for 10 minutes");
    house
        .browser()
        .get(&format!("{at}/changes?from=1&to=2"))
        .says("<del><span class=\"unseen\">[taken out: </span>10")
        .says("<ins><span class=\"unseen\">[put in: </span>15");
    house.browser().get(&format!("{at}/changes?from=x&to=2")).is(422);
    house.browser().get(&format!("{at}/changes?from=7&to=2")).is(404);
});

on_both!(a_note_taken_down_is_gone_from_the_list_and_comes_back, |house| {
    let lead = house.person("Maren", Role::Lead);
    let at = post(&lead, "Old habits", "Do not.");
    lead.post(&format!("{at}/take-down"), &[("version", "1")]).is(303);
    house.browser().get(&at).is(404);
    assert!(!house.browser().get("/notes").body.contains("Old habits"));
    lead.get(&at).is(200).says("Taken down");
    lead.post(&format!("{at}/edit"), &note("Old habits", "Do not.", "Back again", "2")).is(303);
    house.browser().get(&at).is(200).says("Version 3");
});

on_both!(nothing_a_lead_writes_can_act_on_a_page, |house| {
    let lead = house.person("Maren", Role::Lead);
    let body = "<script>alert(1)</script>\n\n[x](javascript:alert(2)) <img src=x onerror=alert(3)>\n\n\
        [y](data:text/html;base64,PHNjcmlwdD4=)\n\n<svg onload=alert(4)>\n\n| a |\n|---|\n| <b onclick=x()> |";
    let at = post(&lead, "<b>Attack</b>", body);
    let page = house.browser().get(&at).is(200).body;
    for word in [
        "<script>alert",
        "href=\"javascript:",
        "<img src=x",
        "href=\"data:",
        "<svg onload",
        "<b onclick",
        "<b>Attack",
    ] {
        assert!(!page.contains(word), "{word} in\n{page}");
    }
    assert!(page.contains("&lt;script&gt;alert(1)"), "{page}");
    // Many cells, deep lists: refused at the door, with a sentence.
    let wide = format!("|{}\n|{}\n{}", "a|".repeat(1500), "-|".repeat(1500), "|\n".repeat(3000));
    lead.post("/notes/new", &note("Wide", &wide, "", "")).is(422).says("too many pieces");
});

on_both!(the_starting_set_is_whole_and_its_blanks_are_marked_until_filled_in, |house| {
    post_notes(house);
    let lead = house.person("Maren", Role::Lead);
    let anyone = house.browser();
    let list = anyone.get("/notes").is(200).body;
    for slug in [
        "before-you-begin",
        "eyes-and-hands",
        "mixing",
        "never-meet",
        "breathing",
        "skin",
        "your-own-body",
        "food-children-vessels",
        "spills",
        "splash-in-the-eye",
        "swallowed",
        "electricity",
        "phones-and-chargers",
        "total-darkness",
        "never-alone",
        "labels",
        "chemicals",
        "where-it-goes",
        "who-to-call",
    ] {
        assert!(list.contains(&format!("/notes/{slug}\"")), "{slug} is not listed");
        let page = anyone.get(&format!("/notes/{slug}")).is(200);
        page.says("<h2>Sources</h2>")
            .says("safety data sheet, your local codes and licensed practice");
    }
    anyone.get("/notes/splash-in-the-eye").says("Not filled in yet: Where the eyewash is");
    anyone
        .get("/notes/where-it-goes")
        .says("Collect, do not pour: no local rule is filled in yet.");
    lead.get("/safety/blanks").is(200).says("are still empty");
    // A rule without its authority and date is no rule.
    lead.post(
        "/safety/blanks",
        &[("eyewash-place", "left of the door"), ("rule-developer", "Down the drain")],
    )
    .is(422)
    .says("name the authority")
    .says("left of the door");
    anyone.get("/notes/splash-in-the-eye").says("Not filled in yet: Where the eyewash is");
    lead.post(
        "/safety/blanks",
        &[
            ("eyewash-place", "left of the <door>"),
            ("rule-developer", "Small amounts with plenty of water"),
            ("rule-developer-authority", "Quillhaven Harbour Board"),
            ("rule-developer-date", "2026-03-02"),
        ],
    )
    .is(303);
    anyone.get("/notes/splash-in-the-eye").says("left of the &lt;door&gt;");
    anyone
        .get("/notes/where-it-goes")
        .says("Small amounts with plenty of water")
        .says("rule of Quillhaven Harbour Board, 2026-03-02");
    // Emptied again, the note is careful again.
    lead.post("/safety/blanks", &[("eyewash-place", "left of the door")]).is(303);
    let page = anyone.get("/notes/where-it-goes").body;
    assert!(!page.contains("Small amounts"), "{page}");
});

on_both!(a_poster_leads_back_to_the_live_page, |house| {
    post_notes(house);
    let anyone = house.browser();
    let page = anyone.get("/notes/splash-in-the-eye/poster").is(200);
    let address = format!("{}/notes/splash-in-the-eye", house.url);
    page.clone().says(&address).says("<svg").says("Version 1, posted").says("A4");
    assert!(!page.body.contains("letter-paper"));
    anyone.get("/notes/splash-in-the-eye/poster?paper=letter").is(200).says("letter-paper");
    let set = anyone.get("/notes/poster?note=mixing&note=labels").is(200).body;
    assert_eq!(set.matches("<article class=\"poster\"").count(), 2);
    let essential = anyone.get("/notes/poster").is(200).body;
    assert_eq!(essential.matches("<article class=\"poster\"").count(), 6);
    anyone.get("/notes/nothing/poster").is(404);
});
