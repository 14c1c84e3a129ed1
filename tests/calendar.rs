//! Stories of the calendar feeds. Their text is read by an independent parser in ops/check.

use wetside::sessions::Role;

use crate::bookings::sink;
use crate::house::{Browser, House};

/// The path of the feed after this heading.
fn path(house: &House, browser: &Browser, heading: &str) -> String {
    let page = browser.get("/calendar").is(200).body;
    let after = page.split_once(heading).unwrap().1;
    let address = after.split_once("<code>").unwrap().1.split_once("</code>").unwrap().0;
    address.strip_prefix(&house.url).unwrap().to_owned()
}

on_both!(a_feed_shows_ones_own_bookings_to_whoever_has_its_address, |house| {
    let id = sink(house).to_string();
    let (ilse, corin) = (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let wish = |from, to| {
        [
            ("sink", id.as_str()),
            ("date", "2027-03-16"),
            ("from", from),
            ("to", to),
            ("note", "Two rolls"),
        ]
    };
    ilse.post("/bookings", &wish("18:00", "20:00")).is(303);
    corin.post("/bookings", &wish("20:00", "21:00")).is(303);
    assert!(!ilse.get("/calendar").is(200).body.contains(".ics"), "looking makes no address");
    ilse.post("/calendar/own", &[]).is(303);
    let feed = path(house, &ilse, "My bookings");
    let nobody = house.browser();
    let text = nobody.get(&feed).is(200).says("DTSTART:20270316T180000Z").says("SEQUENCE:0");
    assert!(
        !text.body.contains("T200000Z\r\nDTSTART")
            && text.body.matches("BEGIN:VEVENT").count() == 1
    );
    assert_eq!(text.headers["content-type"], "text/calendar; charset=utf-8");
    let uid = |body: &str| body.split("UID:").nth(1).unwrap().lines().next().unwrap().to_owned();
    let before = uid(&text.body);

    ilse.post("/bookings/1/cancel", &[]).is(303);
    let gone = nobody.get(&feed).is(200).says("STATUS:CANCELLED").says("SEQUENCE:1");
    assert_eq!(uid(&gone.body), before);

    // A renewal ends the old address; a leaf of it or another's id opens nothing.
    ilse.post("/calendar/own", &[]).is(303);
    nobody.get(&feed).is(404);
    let renewed = path(house, &ilse, "My bookings");
    nobody.get(&renewed).is(200);
    nobody.get(&renewed.replace("/calendar/1-", "/calendar/2-")).is(404);
    nobody.get("/calendar/1-.ics").is(404);
    nobody.get("/calendar/x.ics").is(404);
});

on_both!(the_studios_feed_is_the_leads, |house| {
    let id = sink(house).to_string();
    let (ilse, lead) = (house.person("Ilse", Role::Member), house.person("Maren", Role::Lead));
    let wish = [
        ("sink", id.as_str()),
        ("date", "2027-03-16"),
        ("from", "18:00"),
        ("to", "20:00"),
        ("note", "My own affair"),
    ];
    ilse.post("/bookings", &wish).is(303);
    ilse.post("/calendar/studio", &[]).is(403);
    lead.post("/calendar/studio", &[]).is(303);
    let feed = path(house, &lead, "The whole studio");
    assert!(!ilse.get("/calendar").is(200).body.contains("whole studio"));
    let text = house.browser().get(&feed).is(200).says("SUMMARY:Long sink: Ilse").body;
    assert!(!text.contains("own affair"), "notes stay with their owner");
});
