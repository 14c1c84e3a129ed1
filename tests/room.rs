//! Stories of setting the room up: things, limits, closures, and whom they hit.

use wetside::sessions::Role;

use crate::bookings::sink;

/// The number in the first address of the page that begins like this.
fn number(page: &str, before: &str) -> String {
    let after = page.split(before).nth(1).unwrap_or_else(|| panic!("{before} in {page}"));
    after.chars().take_while(char::is_ascii_digit).collect()
}

const TANK: [(&str, &str); 9] = [
    ("name", "Tank A"),
    ("position", "1"),
    ("holds", "5 of 135 or 3 of 120"),
    ("stack_mm", "250"),
    ("max_reels", "5"),
    ("base_ml", "10"),
    ("min_ml", "300"),
    ("max_ml", "1500"),
    ("note", ""),
];

on_both!(a_tank_is_described_as_a_lead_says_it, |house| {
    let lead = house.person("Maren", Role::Lead);
    let with = |rotary| [&TANK[..], &[("rotary_ml", rotary)]].concat();
    lead.get("/room/tanks/new").is(200).says("As you would say it");
    lead.post("/room/tanks", &with("160")).is(303);
    lead.get("/room").is(200).says("5 of 135 or 3 of 120").says("160 ml");
    let tanks = house.api(&lead).get("/api/v1/tanks").is(200).json();
    assert_eq!(tanks["items"][0]["holds"][1]["format"], "120");
    assert_eq!(tanks["items"][0]["rotary_ml"], 160);
    lead.get("/room/tanks/1").is(200).says("5 of 135 or 3 of 120");
    let wrong: Vec<_> = with("2000").into_iter().filter(|(n, _)| *n != "holds").collect();
    let wrong = [&wrong[..], &[("holds", "five of 135")]].concat();
    lead.post("/room/tanks", &wrong).is(422).says("five of 135").says("larger than the most");
});

on_both!(one_pool_of_reels_serves_several_formats, |house| {
    let lead = house.person("Maren", Role::Lead);
    let fields = [
        ("kind", "Adjustable"),
        ("owned", "4"),
        ("drying_min", "120"),
        ("formats", "135: 50 mm, 290 ml\n120: 70 mm, 480 ml"),
        ("position", "1"),
        ("note", ""),
    ];
    lead.post("/room/reels", &fields).is(303);
    lead.get("/room").is(200).says("135, 120");
    lead.get("/room/reels/1").is(200).says("120: 70 mm, 480 ml");
    let reels = house.app.db.read_now(wetside::sinks::reel_kinds).unwrap();
    assert_eq!(reels[0].set_to("120").map(|f| f.height_mm), Some(70));
    assert_eq!(reels[0].set_to("4x5"), None);
});

on_both!(a_sink_that_is_booked_does_not_retire, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    let wish = [("sink", id.as_str()), ("date", "2027-03-16"), ("from", "18:00"), ("to", "20:00")];
    member.post("/bookings", &wish).is(303);
    let edit = |version| {
        [
            ("name", "Long sink"),
            ("places", "1"),
            ("tanks_at_once", "2"),
            ("position", "1"),
            ("note", ""),
            ("retired", "yes"),
            ("version", version),
        ]
    };
    lead.post("/room/sinks/1", &edit("1")).is(422).says("still booked");
    lead.post("/bookings/1/cancel", &[]).is(303);
    lead.post("/room/sinks/1", &edit("1")).is(303);
    lead.get("/board?date=2027-03-16").is(200).says("no sink");
    member.post("/bookings", &wish).is(422).says("no such sink");
});

on_both!(a_closure_shows_whom_it_hits_and_tells_them, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    for date in ["2027-03-16", "2027-03-18"] {
        let wish = [("sink", id.as_str()), ("date", date), ("from", "18:00"), ("to", "20:00")];
        member.post("/bookings", &wish).is(303);
    }
    let told = house.letters().len();
    let close = |seen| {
        [
            ("from_date", "2027-03-15"),
            ("to_date", "2027-03-17"),
            ("hours", ""),
            ("reason", "The boiler is mended"),
            ("seen", seen),
        ]
    };
    lead.post("/room/days", &close("")).is(409).says("Ilse: Long sink, Tuesday 16 March");
    assert_eq!(house.letters().len(), told, "nothing is done before it is confirmed");
    member.get("/board?date=2027-03-16").says("Yours");
    // Meanwhile another books: they were not shown, so nothing is cancelled.
    let other = house.person("Corin", Role::Member);
    let wish = [("sink", id.as_str()), ("date", "2027-03-17"), ("from", "18:00"), ("to", "20:00")];
    other.post("/bookings", &wish).is(303);
    lead.post("/room/days", &close("1")).is(409).says("Corin: Long sink");
    lead.post("/room/days", &close("1 3")).is(303);
    let letters = house.letters();
    let gone: Vec<_> = letters.iter().filter(|l| l.subject.starts_with("Cancelled")).collect();
    assert_eq!(gone.len(), 2);
    assert!(gone.iter().all(|l| l.text.contains("The boiler is mended")));
    member.get("/board?date=2027-03-16").says("closed on this day").says("The boiler is mended");
    member.get("/board?date=2027-03-18").says("Yours");
    member.get("/").is(200).says("The boiler is mended");
    lead.post("/room/days", &close("")).is(422).says("special already");
    let id = number(&lead.get("/room/hours").body, "/room/days/");
    lead.post(&format!("/room/days/{id}/end"), &[]).is(303);
    member.get("/board?date=2027-03-16").says("open 09:00 to 22:00");
});

on_both!(shorter_hours_show_whom_they_hit, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    let wish = [("sink", id.as_str()), ("date", "2027-03-16"), ("from", "18:00"), ("to", "20:00")];
    member.post("/bookings", &wish).is(303);
    let days = ["monday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let week = |tuesday, seen| {
        let mut fields: Vec<_> = days.iter().map(|d| (*d, "09:00-22:00")).collect();
        fields.extend([("tuesday", tuesday), ("seen", seen)]);
        fields
    };
    lead.post("/room/hours", &week("09:00-20:00", "")).is(303);
    lead.post("/room/hours", &week("09:00-19:00", "")).is(409).says("Ilse: Long sink");
    lead.get("/room/hours").is(200).says("09:00-20:00");
    lead.post("/room/hours", &week("09:00-19:00", "1")).is(303);
    assert!(house.letters().iter().any(|l| l.subject.starts_with("Cancelled")));
});

on_both!(what_is_out_of_service_cannot_be_had, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    let wish =
        |from, to| [("sink", id.as_str()), ("date", "2027-03-16"), ("from", from), ("to", to)];
    member.post("/bookings", &wish("18:00", "20:00")).is(303);
    let thing = format!("sink_place {id}");
    let out = |to: &str, seen: &str| {
        let fields = [
            ("thing", thing.as_str()),
            ("from_date", "2027-03-16"),
            ("to_date", to),
            ("reason", "The drain is blocked"),
            ("seen", seen),
        ];
        lead.post("/room/outages", &fields)
    };
    out("2027-03-17", "").is(409).says("Ilse: Long sink");
    out("2027-03-17", "1").is(303);
    member.get("/board?date=2027-03-16").says("Out of service: The drain is blocked");
    member.post("/bookings", &wish("10:00", "11:00")).is(409).says("Long sink");
    lead.get("/room/outages").is(200).says("The drain is blocked");
    let end = |lead: &crate::house::Browser| {
        let id = number(&lead.get("/room/outages").body, "/room/outages/");
        lead.post(&format!("/room/outages/{id}/end"), &[]).is(303);
    };
    end(&lead);
    member.post("/bookings", &wish("10:00", "11:00")).is(303);
    let second = number(&member.get("/bookings").body, "href=\"/bookings/");
    // Until further notice: also in a year.
    out("", &second).is(303);
    lead.get("/board?date=2028-03-14").says("Out of service");
    house.clock.advance(5 * 86_400);
    lead.get("/room/outages").says("until further notice");
    end(&lead);
    lead.get("/board?date=2027-05-14").says("Free");
    lead.get("/board?date=2027-03-18").says("Out of service");
});

on_both!(of_eight_reels_two_may_be_broken, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let reels = [
        ("kind", "135"),
        ("owned", "3"),
        ("drying_min", "60"),
        ("formats", "135: 50 mm, 290 ml"),
        ("position", "1"),
        ("note", ""),
    ];
    lead.post("/room/reels", &reels).is(303);
    let wish = |from, to, reels| {
        [
            ("sink", id.as_str()),
            ("date", "2027-03-16"),
            ("from", from),
            ("to", to),
            ("reel-1", reels),
        ]
    };
    let member = house.person("Ilse", Role::Member);
    member.post("/bookings", &wish("10:00", "11:00", "1")).is(303);
    let out = |count| {
        [
            ("thing", "reel 1"),
            ("count", count),
            ("from_date", "2027-03-16"),
            ("to_date", "2027-03-18"),
            ("reason", "Bent"),
            ("seen", ""),
        ]
    };
    lead.post("/room/outages", &out("4")).is(422).says("1 to 3");
    lead.post("/room/outages", &out("2")).is(303);
    member.post("/bookings", &wish("11:00", "12:00", "1")).is(409).says("Dry reels 135");
    member.post("/bookings", &wish("12:00", "13:00", "1")).is(303);
    member.post("/bookings", &wish("15:00", "16:00", "2")).is(409).says("Dry reels 135");
});

on_both!(limits_are_the_studios_own, |house| {
    let id = sink(house).to_string();
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    let limits = |grid, version| {
        [
            ("grid_min", grid),
            ("longest_min", "120"),
            ("per_week", "2"),
            ("minutes_per_week", ""),
            ("ahead_days", "10"),
            ("notice_min", "60"),
            ("gap_min", "10"),
            ("newcomers_per_lead", "1"),
            ("peak_minutes_per_week", "60"),
            ("peak_opens_min", "120"),
            ("tuesday", "19:00-21:00"),
            ("version", version),
        ]
    };
    lead.post("/room/limits", &limits("7", "1")).is(422);
    lead.post("/room/limits", &limits("30", "1")).is(303);
    lead.post("/room/limits", &limits("30", "1")).is(409).says("changed while");
    lead.get("/room/limits").is(200).says("19:00-21:00");
    let wish = |date, from, to| [("sink", id.as_str()), ("date", date), ("from", from), ("to", to)];
    let tuesday = "2027-03-16";
    member.post("/bookings", &wish(tuesday, "18:15", "19:00")).is(422).says("every 30 minutes");
    member.post("/bookings", &wish(tuesday, "10:00", "12:30")).is(422).says("2 hours");
    member.post("/bookings", &wish("2027-03-27", "10:00", "11:00")).is(422).says("10 days ahead");
    member.post("/bookings", &wish(tuesday, "19:00", "21:00")).is(422).says("busiest hours");
    member.post("/bookings", &wish(tuesday, "19:00", "20:00")).is(303);
    // Ten minutes after it the sink is being cleaned; the board says so, the next may not begin.
    member.get("/board?date=2027-03-16").says("cleaning up until 20:10");
    member.post("/bookings", &wish(tuesday, "20:00", "21:00")).is(422).says("busiest hours");
    let other = house.person("Corin", Role::Member);
    other.post("/bookings", &wish(tuesday, "20:00", "21:00")).is(409).says("taken");
    member.post("/bookings", &wish("2027-03-17", "10:00", "11:00")).is(303);
    member.post("/bookings", &wish("2027-03-18", "10:00", "11:00")).is(422).says("2 bookings");
    member.post("/bookings", &wish("2027-03-22", "10:00", "11:00")).is(303);
    lead.post("/bookings", &wish("2027-04-27", "09:00", "15:00")).is(303);
    // An hour before it begins it can no longer be given back, but by a lead.
    house.clock.advance(32 * 3600 + 1800);
    member.post("/bookings/1/cancel", &[]).is(422).says("1 hour");
    lead.post("/bookings/1/cancel", &[]).is(303);
});

on_both!(a_loading_place_in_the_room_of_a_sink_says_what_that_means, |house| {
    let lead = house.person("Runa", Role::Lead);
    lead.get("/room").is(200);
    let sink = [
        ("name", "North sink"),
        ("places", "1"),
        ("tanks_at_once", "1"),
        ("room", "1"),
        ("position", "1"),
    ];
    lead.post("/room/sinks", &sink).is(303);
    let place = |name: &'static str, room: &'static str| {
        [("kind", "loading"), ("name", name), ("places", "1"), ("room", room), ("position", "1")]
    };
    lead.post("/room/rooms", &[("name", "Closet"), ("position", "2")]).is(303);
    lead.post("/room/stations", &place("Far bench", "2")).is(303);
    assert!(!lead.get("/room").is(200).body.contains("stands in the dark"));
    lead.post("/room/stations", &place("Near bench", "1")).is(303);
    lead.get("/room").is(200).says("stands in the dark").says("Near bench");
});
