//! Today: what a studio still needs, and what waits for whom.

use wetside::sessions::Role;

on_both!(a_new_studio_says_what_is_to_be_done_until_it_is, |house| {
    let (lead, member) = (house.person("Maren", Role::Lead), house.person("Ilse", Role::Member));
    let head = "To get the studio going";
    let page = lead.get("/").is(200).says(head).says("Say when the door is open").body;
    let steps = page.matches("class=\"sentence\"").count();
    assert!(!member.get("/").is(200).body.contains(head), "it is for leads");
    lead.post("/room/hours", &[("monday", "10:00-18:00")]).is(303);
    let page = lead.get("/").is(200).says(head).body;
    assert_eq!(page.matches("class=\"sentence\"").count(), steps - 1, "one step is done");
});

on_both!(today_says_what_waits_for_whom, |house| {
    wetside::demo::fill(&house.app).unwrap();
    let (lead, member) = (house.person("Runa", Role::Lead), house.person("Ana", Role::Member));
    let day = "2027-03-15";
    assert!(!member.get("/").is(200).body.contains("ready to pick up"));
    lead.post("/days", &[("date", day)]).is(303);
    let api = house.api(&lead);
    api.post(&format!("/api/v1/plans/{day}/publish"), &serde_json::json!({})).is(200);
    let page = lead.get("/").is(200);
    page.says("What waits for you").says(&format!("/days/{day}")).says("The mix sheet of today");
    let form = [("name", "Dara"), ("email", "dara@quillhaven.example"), ("note", "")];
    house.browser().post("/apply", &form);
    assert!(!lead.get("/").body.contains("like to join"), "the address is not confirmed yet");
    house.browser().post(&house.link_to("dara@quillhaven.example"), &[]).is(303);
    lead.get("/").is(200).says("1 person would like to join");
    assert!(!member.get("/").is(200).body.contains("like to join"), "that is for leads");
    // A booking of another day stands there as well, and leads to itself.
    let wish = [("sink", "1"), ("date", "2027-03-17"), ("from", "15:00"), ("to", "16:00")];
    member.post("/bookings", &wish).is(303);
    member.get("/").is(200).says("17 March 2027").says("href=\"/bookings/");
});

on_both!(a_studio_at_work_has_no_such_list, |house| {
    wetside::demo::fill(&house.app).unwrap();
    let page = house.person("Bo", Role::Lead).get("/").is(200).body;
    assert!(!page.contains("To get the studio going"));
});
