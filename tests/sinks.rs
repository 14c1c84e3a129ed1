//! Stories of the room: its things, and who may change them.

use wetside::sessions::Role;

on_both!(a_lead_furnishes_the_room, |house| {
    let lead = house.person("Maren", Role::Lead);
    lead.get("/room").is(200).says("No sink yet");
    let fields = [
        ("name", "Long sink"),
        ("places", "2"),
        ("tanks_at_once", "3"),
        ("position", "1"),
        ("note", ""),
    ];
    lead.post("/room/sinks", &fields).is(303);
    lead.get("/room").is(200).says("Long sink");
    lead.post("/room/sinks", &fields).is(422).says("of that name already");
    lead.get("/room/sinks/1").is(200).says("Long sink");
    let edit = |name, version| {
        [
            ("name", name),
            ("places", "3"),
            ("tanks_at_once", "2"),
            ("position", "1"),
            ("note", ""),
            ("version", version),
        ]
    };
    lead.post("/room/sinks/1", &edit("Deep sink", "1")).is(303);
    lead.post("/room/sinks/1", &edit("Other sink", "1")).is(409).says("changed while");
    lead.post("/room/hours", &[("monday", "10:00-21:30")]).is(303);
    lead.get("/room").is(200).says("10:00 to 21:30");
    lead.post("/room/hours", &[("monday", "late")]).is(422).says("late");
    let member = house.person("Ilse", Role::Member);
    member.get("/room").is(403);
    member.post("/room/sinks", &fields).is(403);
    let sinks = house.api(&member).get("/api/v1/sinks").is(200).json();
    assert_eq!(sinks["items"][0]["name"], "Deep sink");
    assert_eq!(sinks["items"][0]["places"], 3);
});
