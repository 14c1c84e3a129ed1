//! Stories of the screen at the door.

use wetside::sessions::Role;

use crate::bookings::sink;
use crate::house::{Browser, House};
use crate::live::Stream;

fn address(house: &House, lead: &Browser) -> String {
    let page = lead.get("/wall").is(200).body;
    let after = page.split_once("<code>").unwrap().1;
    after.split_once("</code>").unwrap().0.strip_prefix(&house.url).unwrap().to_owned()
}

on_both!(the_wall_names_only_who_lets_it, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren Ostervald", Role::Lead);
    let (ilse, corin) =
        (house.person("Ilse Brackwater", Role::Member), house.person("Corin Fell", Role::Member));
    let wish =
        |from, to| [("sink", id.as_str()), ("date", "2027-03-15"), ("from", from), ("to", to)];
    ilse.post("/bookings", &wish("11:00", "12:00")).is(303);
    corin.post("/bookings", &wish("12:00", "13:00")).is(303);
    assert!(!ilse.get("/wall").is(200).body.contains("<code>"), "the address is the leads'");
    let wall = address(house, &lead);
    let screen = house.browser();
    let seen = screen.get(&wall).is(200).says("Free until 11:00").says("11:00 to 12:00: Taken");
    assert!(!seen.body.contains("Ilse") && !seen.body.contains("Corin"));

    ilse.post("/wall/name", &[("shown", "everything")]).is(422);
    ilse.post("/wall/name", &[("shown", "first")]).is(303);
    corin.post("/wall/name", &[("shown", "initials")]).is(303);
    screen.get(&wall).is(200).says("11:00 to 12:00: Ilse").says("12:00 to 13:00: C F");
    house.clock.advance(90 * 60);
    screen.get(&wall).is(200).says("Ilse, until 12:00");
    corin.post("/wall/name", &[("shown", "nothing")]).is(303);
    screen.get(&wall).is(200).says("12:00 to 13:00: Taken");

    // A new address ends the old one; a guess opens nothing.
    corin.post("/wall/renew", &[]).is(403);
    lead.post("/wall/renew", &[]).is(303);
    screen.get(&wall).is(404);
    screen.get(&format!("{wall}/live")).is(404);
    screen.get(&address(house, &lead)).is(200);
});

on_both!(the_wall_goes_dark_and_hears_of_it_at_once, |house| {
    sink(house);
    let lead = house.person("Maren", Role::Lead);
    let (ilse, odo) = (house.person("Ilse", Role::Member), house.person("Odo", Role::Newcomer));
    let wall = address(house, &lead);
    let screen = house.browser();
    let mut stream = Stream::open(&house.url, &format!("{wall}/live"), "");
    let first = stream.count().unwrap();
    odo.post("/wall/dark", &[("minutes", "20")]).is(403);
    ilse.post("/wall/dark", &[("minutes", "9000")]).is(422);
    ilse.post("/wall/dark", &[("minutes", "20")]).is(303);
    assert!(stream.count().unwrap() > first);
    let dark = screen.get(&wall).is(200).says("class=\"wall dark\"");
    assert!(!dark.body.contains("Long sink"), "nothing shines");
    house.clock.advance(20 * 60);
    screen.get(&wall).is(200).says("Long sink");
    ilse.post("/wall/dark", &[("minutes", "20")]).is(303);
    ilse.post("/wall/dark", &[("minutes", "0")]).is(303);
    screen.get(&wall).is(200).says("Long sink");
});

on_both!(the_wall_goes_dark_by_itself_while_a_room_is_booked_dark, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let ilse = house.person("Ilse", Role::Member);
    let wish = [
        ("sink", id.as_str()),
        ("date", "2027-03-15"),
        ("from", "11:00"),
        ("to", "12:00"),
        ("light", "dark"),
    ];
    ilse.post("/bookings", &wish).is(303);
    let wall = address(house, &lead);
    let screen = house.browser();
    screen.get(&wall).is(200).says("Long sink");
    house.clock.advance(3600);
    screen.get(&wall).is(200).says("class=\"wall dark\"");
    lead.post("/wall/follow", &[]).is(303);
    screen.get(&wall).is(200).says("Long sink");
    lead.post("/wall/follow", &[("with_room", "yes")]).is(303);
    screen.get(&wall).is(200).says("class=\"wall dark\"");
    house.clock.advance(3600);
    screen.get(&wall).is(200).says("Long sink");
});
