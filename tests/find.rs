//! Looking for anything: what everybody finds, and what they do not.

use wetside::demo;
use wetside::sessions::Role;

use crate::house::{Browser, House};

const THURSDAY: &str = "/find?words=thursday";

fn signed_in(house: &House, who: &str) -> Browser {
    let browser = house.browser();
    let email = format!("{who}@quillhaven.example");
    browser.post("/sign-in", &[("email", &email), ("password", demo::PASSWORD)]).is(303);
    browser
}

/// What stands on the page between the field and the end of what was found.
fn found(browser: &Browser, words: &str) -> String {
    let query = serde_urlencoded::to_string([("words", words)]).unwrap();
    let body = browser.get(&format!("/find?{query}")).is(200).body;
    let main = body.split("</form>").find(|part| part.contains("</main>")).unwrap();
    main.split("</main>").next().unwrap().to_owned()
}

fn heads(page: &str) -> Vec<&str> {
    page.split("<h2>").skip(1).map(|part| part.split("</h2>").next().unwrap()).collect()
}

/// The addresses of all that was found.
fn places(page: &str) -> Vec<&str> {
    page.split("<li><a href=\"").skip(1).map(|p| p.split('"').next().unwrap()).collect()
}

on_both!(a_lead_finds_things_of_every_room, |house| {
    demo::fill(&house.app).unwrap();
    let lead = signed_in(house, "maren");
    let gannet = found(&lead, "gannet");
    lead.get("/find?words=gannet").says("<title>Found for “gannet”, Quillhaven");
    assert_eq!(heads(&gannet), ["Rolls", "Films and developers", "Developing times"]);
    assert!(gannet.contains("Ilse Brackwater") && gannet.contains("There are more"), "{gannet}");
    assert!(gannet.contains("/rolls?search=gannet"), "{gannet}");
    // Two words must both fit, whatever the order and the letters.
    let narrow = found(&lead, "GANNET brackwater");
    assert_eq!(heads(&narrow), ["Rolls"]);
    assert!(narrow.contains("Ilse Brackwater") && !narrow.contains("Corin"), "{narrow}");
    let dagny = found(&lead, "dagny");
    assert_eq!(heads(&dagny), ["Rolls", "People"]);
    assert!(dagny.contains("dagny@quillhaven.example"));
    let fixer = found(&lead, "fixer 12");
    assert_eq!((heads(&fixer)[0], places(&fixer)[0]), ("Baths", "/baths/12"));
    assert!(heads(&found(&lead, "saltmarsh")).contains(&"On the shelf"));
    assert!(heads(&found(&lead, "H314")).contains(&"Data sheets"));
    assert!(heads(&found(&lead, "eyewash")).contains(&"Safety notes"));
    assert!(found(&lead, "first roll together").contains("First roll together"));
    // In a long text a word is found by its beginning, not in the middle of another.
    assert!(!heads(&found(&lead, "ashing")).contains(&"Safety notes"));
    let day = found(&lead, "18 March 2027");
    assert_eq!(places(&day), ["/board?date=2027-03-18", "/days/2027-03-18"]);
    lead.get(THURSDAY).is(200).says("Thursday 18 March 2027");
    // Everything found opens.
    for place in ["gannet", "fixer", "saltmarsh", "H314", "together", "monday", "hand"] {
        for place in places(&found(&lead, place)) {
            lead.get(place).is(200);
        }
    }
});

on_both!(everybody_finds_what_they_may_open_and_nothing_else, |house| {
    demo::fill(&house.app).unwrap();
    let nobody = house.browser().get("/find?words=fixer").is(303);
    assert!(nobody.location.unwrap().starts_with("/sign-in"));
    let (newcomer, member) = (signed_in(house, "odo"), signed_in(house, "dagny"));
    // Of the rolls their own only; of people none, not even themselves.
    let rolls = found(&member, "gannet");
    assert!(heads(&rolls).contains(&"Rolls") && !rolls.contains("Brackwater"), "{rolls}");
    assert_eq!(heads(&found(&member, "brackwater")), Vec::<&str>::new());
    assert_eq!(heads(&found(&member, "dagny")), Vec::<&str>::new());
    assert_eq!(heads(&found(&member, "fixer 12"))[0], "Baths");
    // Somebody who is not inducted yet: no rolls, no chart, no shelf, no baths.
    for words in ["gannet", "saltmarsh", "dagny"] {
        assert_eq!(heads(&found(&newcomer, words)), Vec::<&str>::new(), "{words}");
    }
    assert_eq!(heads(&found(&newcomer, "eyewash")), ["Safety notes"]);
    assert_eq!(heads(&found(&newcomer, "tomorrow")), ["Days"]);
    for person in [&newcomer, &member] {
        for words in ["gannet", "fixer", "saltmarsh", "H314", "together", "monday", "eyewash"] {
            for place in places(&found(person, words)) {
                person.get(place).is(200);
            }
        }
    }
});

on_both!(an_incident_is_found_by_its_reporter_and_the_safety_lead, |house| {
    let maren = house.person("Maren", Role::Lead);
    let odo = house.person("Odo", Role::Newcomer);
    let ilse = house.person("Ilse", Role::Member);
    let told = [("what", "The jug slipped"), ("happened", "Monday"), ("place", "North sink")];
    odo.post("/incidents/new", &told).is(303);
    assert_eq!(places(&found(&odo, "jug")), ["/incidents/1"]);
    assert_eq!(places(&found(&maren, "JUG north")), ["/incidents/1"]);
    assert_eq!(heads(&found(&ilse, "jug")), Vec::<&str>::new());
});

on_both!(a_whole_ticket_leads_to_its_roll_and_a_label_to_its_page, |house| {
    demo::fill(&house.app).unwrap();
    let (lead, owner, other) =
        (signed_in(house, "maren"), signed_in(house, "dagny"), signed_in(house, "corin"));
    let roll = places(&found(&owner, "gannet"))[0].to_owned();
    let ticket = roll.trim_start_matches("/rolls/");
    let spoken = format!("{}-{}", &ticket[..3].to_lowercase(), &ticket[3..]);
    for person in [&lead, &owner] {
        for typed in [ticket, spoken.as_str()] {
            let sent = person.get(&format!("/find?words={typed}")).is(303);
            assert_eq!(sent.location.as_deref(), Some(roll.as_str()));
        }
    }
    // For somebody else there is no such roll, and the page does not say otherwise.
    assert_eq!(heads(&found(&other, ticket)), Vec::<&str>::new());
    assert_eq!(heads(&found(&signed_in(house, "odo"), ticket)), Vec::<&str>::new());
    // A reader of codes types the whole address of a label.
    let label = format!("{}/baths/12", house.app.config.base_url);
    let query = serde_urlencoded::to_string([("words", label.as_str())]).unwrap();
    let sent = lead.get(&format!("/find?{query}")).is(303);
    assert_eq!(sent.location.as_deref(), Some("/baths/12"));
    lead.get("/find?words=https%3A%2F%2Fevil.example%2Fbaths").is(200).says("Nothing fits");
});

on_both!(a_lead_without_the_second_factor_that_is_asked_finds_no_people, |house| {
    demo::fill(&house.app).unwrap();
    let lead = signed_in(house, "maren");
    assert!(heads(&found(&lead, "pell")).contains(&"People"));
    let mut keeping = house.app.keeping();
    keeping.leads_second_factor = true;
    house.app.db.write_now(|tx| wetside::keeping::change(tx, &keeping)).unwrap();
    house.app.refresh_studio().unwrap();
    lead.get("/members").is(403);
    let page = found(&lead, "pell");
    assert!(!heads(&page).contains(&"People") && !page.contains("/members/"), "{page}");
});

on_both!(the_field_stands_on_every_page_of_who_is_signed_in, |house| {
    let member = house.person("Ilse", Role::Member);
    member.get("/board").is(200).says("action=\"/find\"").says("for=\"find-words\"");
    let own = member.get("/find").is(200).says("Write above what you look for");
    assert_eq!(own.body.matches("action=\"/find\"").count(), 1);
    assert!(!house.browser().get("/").is(200).body.contains("/find"));
});

on_both!(what_cannot_be_found_is_said_kindly, |house| {
    let member = house.person("Ilse", Role::Member);
    member.get("/find?words=%20%20").is(200).says("Write above what you look for");
    member.get("/find?words=f").is(200).says("One letter fits nearly everything");
    member.get("/find?words=%25%25").is(200).says("One letter");
    member.get("/find?words=zzyzx").is(200).says("Nothing fits").says("href=\"/chart\"");
    member.get("/find?words=%3Cb%3Eaa%27%22--").is(200).says("&lt;b&gt;aa");
    let long = "pan ".repeat(400);
    let query = serde_urlencoded::to_string([("words", long.as_str())]).unwrap();
    member.get(&format!("/find?{query}")).is(200);
    // Signs that databases read as any letter stand for themselves; here there is nothing to find.
    for words in ["a_a", "5%5", "\\\\aa"] {
        assert_eq!(heads(&found(&member, words)), Vec::<&str>::new(), "{words}");
    }
});
