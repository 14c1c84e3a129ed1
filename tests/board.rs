//! Stories of the board and of the form: choosing, moving, finding, and why not.

use wetside::sessions::Role;
use wetside::sinks::{self, Light, ReelKind, Sink, Station, StationKind, Tank};

use crate::bookings::sink;
use crate::house::House;

/// A second sink, two tanks, four reels, a loading place and hanging places.
fn furnish(house: &House) {
    sink(house);
    let named = |name: &str| name.to_owned();
    let station = |kind, name: &str, places, drying_s| Station {
        id: 0,
        kind,
        name: named(name),
        position: 1,
        places,
        room_id: 0,
        drying_s,
        note: String::new(),
        retired: false,
        version: 0,
    };
    house
        .app
        .db
        .write_now(|tx| {
            sinks::add_sink(tx, &Sink { name: named("Short sink"), ..Sink::default() })?;
            for name in ["Tank A", "Tank B"] {
                sinks::add_tank(tx, &Tank { name: named(name), ..Tank::default() })?;
            }
            let reels = ReelKind {
                kind: named("135"),
                height_mm: 50,
                cover_ml: 290,
                owned: 4,
                drying_s: 3600,
                ..ReelKind::default()
            };
            sinks::add_reels(tx, &reels)?;
            sinks::add_station(tx, &station(StationKind::Loading, "Booth", 1, 0))?;
            sinks::add_station(tx, &station(StationKind::Hanging, "Cabinet", 6, 3600))?;
            Ok(())
        })
        .unwrap();
}

fn wish<'a>(sink: &'a str, from: &'a str, to: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![("sink", sink), ("date", "2027-03-16"), ("from", from), ("to", to)]
}

fn with<'a>(
    mut wish: Vec<(&'a str, &'a str)>,
    more: &[(&'a str, &'a str)],
) -> Vec<(&'a str, &'a str)> {
    wish.extend(more);
    wish
}

on_both!(tanks_reels_and_places_are_had_with_a_sink, |house| {
    furnish(house);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    let much = [("tanks", "1"), ("reel-1", "3"), ("hanging", "4"), ("note", "Two rolls")];
    ana.post("/bookings", &with(wish("1", "18:00", "20:00"), &much)).is(303);
    ana.get("/bookings/new?sink=2&date=2027-03-16&from=19:00&to=20:00")
        .is(200)
        .says("taken then")
        .says("1 of 4 are dry and free then")
        .says("2 of 6 are free then");
    ben.post("/bookings", &with(wish("2", "19:00", "21:00"), &[("tanks", "1")]))
        .is(409)
        .says("Tank A");
    // Reels dry for an hour after the booking; hanging places are full as long.
    ben.post("/bookings", &with(wish("2", "20:30", "21:00"), &[("reel-1", "2")]))
        .is(409)
        .says("only 1 free");
    ben.post("/bookings", &with(wish("2", "20:30", "21:00"), &[("hanging", "3")])).is(409);
    ben.post("/bookings", &with(wish("2", "21:00", "22:00"), &[("reel-1", "4"), ("hanging", "6")]))
        .is(303);
    ben.post("/bookings", &with(wish("2", "10:00", "11:00"), &[("reel-1", "5")]))
        .is(422)
        .says("has 4 reels");
    let three = [("tanks", "1"), ("tanks", "2"), ("tanks", "424242")];
    ben.post("/bookings", &with(wish("2", "10:00", "11:00"), &three)).is(422).says("no such tank");
    let letter = house.letters().into_iter().find(|l| l.to == "ana@quillhaven.example").unwrap();
    assert!(letter.text.contains("Tank A") && letter.text.contains("Dry reels 135: 3"));
    ana.get("/bookings").is(200).says("Two rolls");
});

on_both!(a_refusal_names_the_nearest_time_that_would_do, |house| {
    furnish(house);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    ana.post("/bookings", &wish("1", "18:00", "20:00")).is(303);
    ben.post("/bookings", &wish("1", "19:00", "20:00"))
        .is(409)
        .says("Long sink: taken")
        .says("Short sink, Tuesday 16 March 2027, 19:00 to 20:00")
        .says("Long sink, Tuesday 16 March 2027, 20:00 to 21:00");
    ben.post("/bookings", &wish("1", "21:30", "22:30"))
        .is(422)
        .says("not open")
        .says("Long sink, Tuesday 16 March 2027, 21:00 to 22:00");
});

on_both!(darkness_and_white_light_are_never_in_one_room_at_once, |house| {
    furnish(house);
    let (ana, ben) = (house.person("Ana", Role::Member), house.person("Ben", Role::Member));
    ana.post("/bookings", &with(wish("1", "18:00", "20:00"), &[("light", "dark")])).is(303);
    ben.post("/bookings", &wish("2", "19:00", "21:00")).is(409).says("total darkness");
    let dark = [("light", "dark")];
    ben.post("/bookings", &with(wish("2", "19:00", "21:00"), &dark)).is(303);
    // A loading place needs darkness in its own room.
    ben.post("/bookings", &with(wish("2", "10:00", "11:00"), &[("stations", "1")]))
        .is(422)
        .says("total darkness");
    // In another room every light is free.
    let booked = house.app.db.write_now(|tx| {
        let room = sinks::Room { name: "Print room".to_owned(), ..sinks::Room::default() };
        let room_id = sinks::add_room(tx, &room)?;
        let name = "Enlarger".to_owned();
        sinks::add_sink(tx, &Sink { name, room_id, is_sink: false, ..Sink::default() })
    });
    let id = booked.unwrap().to_string();
    let red = [("light", Light::Safelight.word())];
    ben.post("/bookings", &with(wish(&id, "18:00", "19:00"), &red)).is(303);
    let sinks = house.api(&ana).get("/api/v1/sinks").json();
    assert_eq!(sinks["items"].as_array().unwrap().len(), 2, "an enlarger is no sink");
});

on_both!(a_booking_moves_shortens_and_keeps_what_it_has, |house| {
    furnish(house);
    let ana = house.person("Ana", Role::Member);
    let lead = house.person("Maren", Role::Lead);
    let stranger = house.person("Ben", Role::Member);
    ana.post("/bookings", &with(wish("1", "18:00", "20:00"), &[("tanks", "1")])).is(303);
    stranger.post("/bookings", &wish("2", "18:00", "19:00")).is(303);
    ana.get("/bookings/1").is(200).says("Tank A").says("checked");
    stranger.get("/bookings/1").is(404);
    stranger.post("/bookings/1", &with(wish("1", "18:00", "19:00"), &[("version", "1")])).is(404);
    let change = |from, to, version: &'static str| {
        with(wish("1", from, to), &[("tanks", "1"), ("version", version)])
    };
    ana.post("/bookings/1", &change("18:30", "19:30", "1")).is(303);
    ana.get("/board?date=2027-03-16").says("18:30 to 19:30");
    ana.post("/bookings/1", &change("10:00", "11:00", "1")).is(409).says("changed while");
    let taken = with(wish("2", "18:30", "19:30"), &[("version", "2")]);
    ana.post("/bookings/1", &taken).is(409).says("Short sink");
    ana.get("/board?date=2027-03-16").says("18:30 to 19:30");
    let before = house.letters().len();
    lead.post("/bookings/1", &change("20:00", "21:00", "2")).is(303);
    let letters = house.letters();
    let moved = &letters[before];
    assert_eq!(moved.to, "ana@quillhaven.example");
    assert!(moved.subject.contains("has moved") && moved.text.contains("18:30 to 19:30"));
    // Once it has begun, its end can change and nothing else.
    house.clock.advance(34 * 3600 + 900);
    ana.post("/bookings/1", &change("20:30", "21:30", "3")).is(422).says("has begun");
    ana.post("/bookings/1", &change("20:00", "20:30", "3")).is(303);
    ana.post("/bookings/1", &change("20:00", "20:00", "4")).is(422);
    house.clock.advance(3600);
    ana.post("/bookings/1", &change("20:00", "21:30", "4")).is(422).says("is over");
});

on_both!(a_lead_books_for_anyone, |house| {
    furnish(house);
    let lead = house.person("Maren", Role::Lead);
    let newcomer = house.person("Odo", Role::Newcomer);
    let id = newcomer.id.to_string();
    let ana = house.person("Ana", Role::Member);
    let for_odo = |from, to| with(wish("1", from, to), &[("member", id.as_str())]);
    ana.post("/bookings", &for_odo("18:00", "19:00")).is(403);
    newcomer.post("/bookings", &wish("1", "18:00", "19:00")).is(422).says("lead is on duty");
    lead.post("/bookings", &for_odo("18:00", "19:00")).is(303);
    newcomer.get("/board?date=2027-03-16").says("Yours");
    newcomer.post("/bookings/1/cancel", &[]).is(303);
    let letter = house.letters().into_iter().find(|l| l.to == "odo@quillhaven.example").unwrap();
    assert!(letter.text.contains("Maren has booked"), "{}", letter.text);
    lead.post("/bookings", &with(wish("1", "18:00", "19:00"), &[("member", "424242")]))
        .is(422)
        .says("no such member");
    // With a lead on duty they book themselves, as many at once as the limit says.
    let on = [("lead", lead.id.to_string())];
    let duty = [("date", "2027-03-16"), ("from", "17:00"), ("to", "21:00"), ("weeks", "1")];
    let lead_id = on[0].1.clone();
    lead.post("/duty", &[&[("lead", lead_id.as_str())][..], &duty].concat()).is(303);
    newcomer.post("/bookings", &wish("1", "18:00", "19:00")).is(303);
    newcomer.post("/bookings", &wish("1", "20:30", "21:30")).is(422).says("on duty");
});

on_both!(a_time_is_found_for_a_sink_and_two_tanks, |house| {
    furnish(house);
    let ana = house.person("Ana", Role::Member);
    let ben = house.person("Ben", Role::Member);
    // Monday 10:00: both tanks are taken until the evening of Tuesday.
    let all = [("tanks", "1"), ("tanks", "2")];
    for (date, from, to) in [
        ("2027-03-15", "10:00", "16:00"),
        ("2027-03-15", "16:00", "22:00"),
        ("2027-03-16", "09:00", "15:00"),
        ("2027-03-16", "15:00", "18:15"),
    ] {
        let fields =
            [&[("sink", "1"), ("date", date), ("from", from), ("to", to)][..], &all].concat();
        ben.post("/bookings", &fields).is(303);
    }
    ana.get("/bookings/find").is(200).says("Find a time");
    let ask = "/bookings/find?minutes=90&tanks=2&date=2027-03-15&days=7&sink=";
    ana.get(ask)
        .is(200)
        .says("Long sink</bdi>, Tuesday 16 March 2027, 18:15 to 19:45")
        .says("with <bdi>Tank A, Tank B");
    ana.get("/bookings/find?minutes=90&tanks=0&date=2027-03-15&days=1&sink=2")
        .is(200)
        .says("Short sink</bdi>, Monday 15 March 2027, 10:00 to 11:30");
    ana.get("/bookings/find?minutes=90&tanks=3&date=2027-03-15&days=1")
        .is(200)
        .says("Nothing of that length");
    ana.get("/bookings/find?minutes=soon&tanks=1&date=2027-03-15&days=1").is(422).says("soon");
});

on_both!(the_board_tells_every_kind_of_time_apart, |house| {
    furnish(house);
    let lead = house.person("Maren", Role::Lead);
    let ana = house.person("Ana", Role::Member);
    let week: Vec<(&str, &str)> = ["monday", "tuesday", "wednesday", "thursday", "friday"]
        .iter()
        .map(|d| (*d, "10:00-13:00, 15:00-21:30"))
        .collect();
    lead.post("/room/hours", &week).is(303);
    ana.post("/bookings", &wish("1", "10:00", "11:00")).is(303);
    lead.post("/bookings", &wish("2", "16:00", "17:00")).is(303);
    let page = ana.get("/board?date=2027-03-16").is(200);
    let page = page.says("class=\"mine\"").says("class=\"taken\"").says("class=\"closed\"");
    let page = page.says("Maren").says("Yours").says("13:00").says("Free from 15:00");
    assert!(page.body.matches("<th scope=\"row\"").count() < 40);
    ana.get("/board?date=2027-03-20").is(200).says("closed on this day");
    ana.get("/board?view=week&date=2027-03-16")
        .is(200)
        .says("Monday 15 March 2027 to Sunday 21 March 2027")
        .says("Yours, 10:00 to 11:00")
        .says("Free 11:00 to 13:00");
    // On today's board what has gone by is folded away.
    house.clock.advance(6 * 3600);
    let today = ana.get("/board").is(200).says("Show the hours gone by");
    assert!(!today.body.contains("Gone by"), "{}", today.body);
    ana.get("/board?date=2027-03-15&whole=yes").is(200).says("Gone by");
});

on_both!(the_api_takes_the_instant_whatever_the_wall_clock_shows, |house| {
    furnish(house);
    let lead = house.person("Maren", Role::Lead);
    let days = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let week: Vec<(&str, &str)> = days.iter().map(|d| (*d, "00:00-24:00")).collect();
    lead.post("/room/hours", &week).is(303);
    let api = house.api(&lead);
    // EU summer time 2027 ends on 31 October: 01:30 in Dublin happens twice.
    let book = |starts: &str, ends: &str| {
        let body = serde_json::json!({ "sink_id": 1, "starts": starts, "ends": ends });
        api.post("/api/v1/bookings", &body)
    };
    book("2027-10-31T01:30:00+01:00", "2027-10-31T01:30:00+00:00").is(201);
    book("2027-10-31T01:30:00+00:00", "2027-10-31T02:30:00+00:00").is(201);
    book("2027-10-31T01:30:00+01:00", "2027-10-31T01:45:00+01:00").is(409);
    let board = api.get("/api/v1/board?date=2027-10-31").is(200).json();
    let starts: Vec<&str> = board["sinks"][0]["bookings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|b| b["starts"].as_str().unwrap())
        .collect();
    assert_eq!(starts, ["2027-10-31T01:30:00+01:00", "2027-10-31T01:30:00+00:00"]);
    // The form asks which of the two is meant.
    let form = |pass| {
        let mut fields =
            vec![("sink", "2"), ("date", "2027-10-31"), ("from", "01:30"), ("to", "03:00")];
        fields.push(("from_pass", pass));
        fields
    };
    lead.get("/bookings/new?sink=2&date=2027-10-31&from=01:30").is(200).says("The second of two");
    lead.post("/bookings", &form("")).is(422).says("happens twice");
    lead.post("/bookings", &form("second")).is(303);
    let board = api.get("/api/v1/board?date=2027-10-31").json();
    assert_eq!(board["sinks"][1]["bookings"][0]["starts"], "2027-10-31T01:30:00+00:00");
    lead.post(
        "/bookings",
        &[("sink", "2"), ("date", "2027-03-28"), ("from", "01:30"), ("to", "03:00")],
    )
    .is(422)
    .says("skip 01:30");
});

on_both!(the_api_speaks_of_its_own_fields, |house| {
    furnish(house);
    let ana = house.person("Ana", Role::Member);
    let api = house.api(&ana);
    let post = |body: serde_json::Value| api.post("/api/v1/bookings", &body);
    let at = |more: serde_json::Value| {
        let mut body = serde_json::json!({
            "sink_id": 1,
            "starts": "2027-03-16T18:00:00Z",
            "ends": "2027-03-16T20:00:00Z",
        });
        for (key, value) in more.as_object().unwrap() {
            body[key] = value.clone();
        }
        body
    };
    let field = |body, name: &str| {
        let said = post(body).is(422).json();
        assert!(said["fields"][name].is_string(), "{name}: {said}");
    };
    field(at(serde_json::json!({ "sink_id": 424242 })), "sink_id");
    field(at(serde_json::json!({ "tank_ids": [424242] })), "tank_ids");
    field(at(serde_json::json!({ "ends": "2027-03-16T17:00:00Z" })), "ends");
    field(at(serde_json::json!({ "starts": "soon" })), "starts");
    field(at(serde_json::json!({ "starts": "9999-03-16T17:00:00Z" })), "starts");
    field(at(serde_json::json!({ "reels": { "8x10": 1 } })), "reels");
    field(at(serde_json::json!({ "hanging_places": -1 })), "hanging_places");
    let rule = post(at(serde_json::json!({ "ends": "2027-03-17T01:00:00Z" }))).is(422).json();
    assert_eq!(rule["type"], "/problems/rule");
    let all = serde_json::json!({
        "tank_ids": [1, 2], "reels": { "135": 4 }, "hanging_places": 2, "purpose": "Four rolls",
    });
    let id = post(at(all)).is(201).json()["id"].as_i64().unwrap();
    let lost = post(at(serde_json::json!({}))).is(409).json();
    assert_eq!(lost["type"], "/problems/slot-taken");
    assert!(lost["detail"].as_str().unwrap().contains("Long sink"));
    api.delete(&format!("/api/v1/bookings/{id}")).is(204);
    post(at(serde_json::json!({ "tank_ids": [1] }))).is(201);
});

on_both!(every_grid_has_its_times_found_and_its_links, |house| {
    furnish(house);
    let lead = house.person("Runa", Role::Lead);
    let ana = house.person("Ana", Role::Member);
    let limits = [
        ("grid_min", "20"),
        ("longest_min", "120"),
        ("per_week", ""),
        ("minutes_per_week", ""),
        ("ahead_days", "30"),
        ("notice_min", "0"),
        ("gap_min", "5"),
        ("newcomers_per_lead", "1"),
        ("peak_minutes_per_week", ""),
        ("peak_opens_min", "0"),
        ("version", "1"),
    ];
    lead.post("/room/limits", &limits).is(303);
    ana.post("/bookings", &wish("1", "09:00", "09:20")).is(303);
    // Cleaning lasts until 9:25, and the next time on the grid is 9:40.
    ana.get("/bookings/find?minutes=40&tanks=2&date=2027-03-16&days=1&sink=1")
        .is(200)
        .says("Tuesday 16 March 2027, 09:40 to 10:20");
    let board = ana.get("/board?date=2027-03-16").is(200).says("date=2027-03-16&amp;from=09:40");
    for link in board.body.split("date=2027-03-16&amp;from=").skip(1) {
        let minute: u32 = link[3..5].parse().unwrap();
        assert_eq!(minute % 20, 0, "{}", &link[..5]);
    }
    // What the nearest time is named as can be booked.
    ana.post("/bookings", &wish("1", "09:20", "10:00")).is(409).says("09:40 to 10:20");
});
