//! Coming in, being there, leaving.

use std::sync::Barrier;

use diesel::prelude::*;
use wetside::db::schema::{members, outbox, secret_links};
use wetside::error::Error;
use wetside::sessions::Role;

use crate::house::Browser;
use crate::sign_in::{put, sign_in, signed_in};

const PASSWORD: &str = "seven gannets over a tin roof";
const NEW: &str = "herring barrels on the north quay";

pub fn version_in(page: &str) -> String {
    page.split("name=\"version\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned()
}

fn act(lead: &Browser, id: i64, act: &str, more: &[(&str, &str)]) -> crate::house::Answer {
    let page = lead.get(&format!("/members/{id}")).is(200).body;
    let version = version_in(&page);
    let mut fields = vec![("version", version.as_str())];
    fields.extend(more);
    lead.post(&format!("/members/{id}/{act}"), &fields)
}

on_both!(the_first_lead_sets_the_studio_up_once, |house| {
    let url = wetside::members::first_link(&house.app).unwrap().unwrap();
    let path = url.strip_prefix(&house.url).unwrap();
    let b = house.browser();
    b.get(path).is(200).says("first here");
    let with = |zone: &str, password: &str| {
        b.post(
            path,
            &[
                ("studio", "Quillhaven Commons"),
                ("zone", zone),
                ("name", "Maren"),
                ("email", "maren@quillhaven.example"),
                ("password", password),
            ],
        )
    };
    with("Atlantis", "quillhaven12").is(422).says("IANA name").says("own name");
    with("Europe/Dublin", PASSWORD).is(303);
    b.get("/me").is(200).says("Quillhaven Commons").says("lead");
    b.get(path).is(409);
    assert!(wetside::members::first_link(&house.app).unwrap().is_none());
});

on_both!(an_invitation_lets_one_person_in, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let wish = [("name", "Tove"), ("email", "tove@quillhaven.example"), ("role", "member")];
    lead.post("/members", &wish).is(303);
    lead.post("/members", &wish).is(422).says("has this address already");
    lead.get("/members?q=TOVE").is(200).says("Tove").says("invited");
    let link = house.link_to("tove@quillhaven.example");
    assert!(house.letters()[0].text.contains("Maren invites you"));
    let b = house.browser();
    b.get(&link).is(200).says("tove@quillhaven.example");
    b.post(&link, &[("name", "Tove"), ("password", "password1234")]).is(422).says("tried first");
    b.post(&link, &[("name", "Tove Ness"), ("password", NEW)]).is(303);
    b.get("/me").is(200).says("Tove Ness").says("member");
    b.get("/members").is(403);
    b.get(&link).is(409);
});

on_both!(a_new_invitation_makes_the_old_one_useless, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let wish = [("name", "Tove"), ("email", "tove@quillhaven.example"), ("role", "member")];
    lead.post("/members", &wish).is(303);
    let old = house.link_to("tove@quillhaven.example");
    let id: i64 = house
        .app
        .db
        .read_now(|c| Ok(members::table.select(members::id).order(members::id.desc()).first(c)?))
        .unwrap();
    act(&lead, id, "invite", &[]).is(303);
    let new = house.link_to("tove@quillhaven.example");
    house.browser().get(&old).is(409);
    house.browser().get(&new).is(200);
    act(&lead, id, "decline", &[]).is(303);
    house.browser().get(&new).is(409);
});

on_both!(who_applies_proves_their_address_and_a_lead_decides, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let apply = |name: &str, email: &str| {
        let form = [("name", name), ("email", email), ("note", "Contact sheets <b>mostly</b>")];
        house.browser().post("/apply", &form).is(200)
    };
    let count =
        || house.app.db.read_now(|c| Ok(members::table.count().get_result::<i64>(c)?)).unwrap();
    apply("Ana", "ana@quillhaven.example");
    assert_eq!(count(), 1, "nobody is known by an address they have not proven");
    let link = house.link_to("ana@quillhaven.example");
    house.browser().get(&link).is(200).says("ana@quillhaven.example");
    assert_eq!(count(), 1, "looking is not agreeing: mail programs look by themselves");
    house.browser().post(&link, &[]).is(303);
    let subjects: Vec<String> = house.letters().into_iter().map(|l| l.subject).collect();
    assert!(subjects.iter().any(|s| s.contains("Ana would like to join")), "{subjects:?}");
    let page = lead.get("/members").is(200).says("Contact sheets &lt;b&gt;mostly").body;
    let id: i64 =
        page.split("/members/").nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
    act(&lead, id, "approve", &[]).is(303);
    let b = house.browser();
    b.post(&house.link_to("ana@quillhaven.example"), &[("name", "Ana"), ("password", NEW)]).is(303);
    b.get("/me").is(200).says("newcomer").says("induction is still open");
    // A member's address is answered by letter, not on the page.
    apply("Ana", "ana@quillhaven.example");
    assert!(house.letters().last().unwrap().text.contains("belongs to a member already"));
});

on_both!(a_declined_application_is_erased, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let form = [("name", "Ana"), ("email", "ana@quillhaven.example"), ("note", "please")];
    house.browser().post("/apply", &form).is(200);
    house.browser().post(&house.link_to("ana@quillhaven.example"), &[]).is(303);
    let page = lead.get("/members").body;
    let id: i64 =
        page.split("/members/").nth(1).unwrap().split('"').next().unwrap().parse().unwrap();
    act(&lead, id, "decline", &[]).is(303);
    assert!(house.letters().last().unwrap().text.contains("cannot take you now"));
    house.app.db.write_now(|tx| wetside::links::sweep(tx, house.clock.now())).unwrap();
    let traces = house.app.db.read_now(|c| {
        let rows = members::table.filter(members::name.eq("Ana")).count().get_result::<i64>(c)?;
        let links = secret_links::table.filter(secret_links::payload.is_not_null());
        Ok(rows + links.count().get_result::<i64>(c)?)
    });
    assert_eq!(traces.unwrap(), 0);
    // And may apply again.
    house.browser().post("/apply", &form).is(200);
    house.browser().post(&house.link_to("ana@quillhaven.example"), &[]).is(303);
});

on_both!(an_address_changes_when_both_have_agreed, |house| {
    let b = signed_in(house, "Maren", Role::Lead);
    let ask = |password: &str| {
        b.post("/me/address", &[("email", "m@quillhaven.example"), ("old_password", password)])
    };
    ask("wrong").is(422).says("not your present password");
    ask(PASSWORD).is(303);
    let old = house.link_to("maren@quillhaven.example");
    assert!(house.letters().iter().all(|l| l.to != "m@quillhaven.example"));
    house.browser().post(&old, &[]).is(303);
    sign_in(&house.browser(), "m@quillhaven.example", PASSWORD).is(422);
    let new = house.link_to("m@quillhaven.example");
    house.browser().get(&new).is(200).says("m@quillhaven.example");
    house.browser().post(&new, &[]).is(303);
    house.browser().post(&new, &[]).is(409);
    sign_in(&house.browser(), "m@quillhaven.example", PASSWORD).is(303);
    sign_in(&house.browser(), "maren@quillhaven.example", PASSWORD).is(422);
    let told: Vec<String> = house
        .letters()
        .into_iter()
        .filter(|l| l.text.contains("from now on you sign in"))
        .map(|l| l.to)
        .collect();
    assert_eq!(told, ["maren@quillhaven.example", "m@quillhaven.example"]);
});

on_both!(a_new_password_ends_every_other_session_and_token, |house| {
    let here = signed_in(house, "Maren", Role::Lead);
    let there = house.browser();
    sign_in(&there, "maren@quillhaven.example", PASSWORD).is(303);
    let change = |old: &str, new: &str| {
        here.post("/me/password", &[("old_password", old), ("password", new)])
    };
    change("wrong", NEW).is(422).says("not your present password");
    change(PASSWORD, "qwertyuiop123").is(422).says("tried first");
    change(PASSWORD, NEW).is(303);
    here.get("/me").is(200);
    assert_eq!(there.get("/me").status, 303);
    assert!(house.letters().last().unwrap().subject.contains("is changed"));
});

on_both!(one_sees_and_ends_ones_own_sessions_only, |house| {
    let here = signed_in(house, "Maren", Role::Lead);
    let other = signed_in(house, "Tove", Role::Member);
    let ids = house.app.db.read_now(|c| {
        use wetside::db::schema::sessions as s;
        Ok(s::table.select(s::id).order(s::id).load::<i64>(c)?)
    });
    let ids = ids.unwrap();
    here.get("/me").is(200).says("this browser");
    here.post(&format!("/me/sessions/{}/end", ids[1]), &[]).is(404);
    other.get("/me").is(200);
    other.post(&format!("/me/sessions/{}/end", ids[1]), &[]).is(303);
    assert_eq!(other.get("/me").status, 303);
    here.post("/sign-out-everywhere", &[]).is(303);
    assert_eq!(here.get("/me").status, 303);
});

on_both!(roles_and_breaks_change_only_from_the_state_one_saw, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let id = put(house, "Tove", Role::Newcomer);
    let page = lead.get(&format!("/members/{id}")).body;
    let stale = version_in(&page);
    act(&lead, id, "role", &[("role", "member")]).is(303);
    lead.post(&format!("/members/{id}/role"), &[("role", "lead"), ("version", &stale)])
        .is(409)
        .says("changed while");
    lead.post(&format!("/members/{id}/role"), &[("role", "queen"), ("version", &stale)]).is(422);
    act(&lead, id, "pause", &[]).is(303);
    assert!(house.letters().last().unwrap().text.contains("on a break"));
    let b = house.browser();
    sign_in(&b, "tove@quillhaven.example", PASSWORD).is(303);
    b.get("/me").is(200).says("You are on a break");
    act(&lead, id, "unpause", &[]).is(303);
    act(&lead, id, "unpause", &[]).is(409);
    lead.get("/members/99999").is(404);
    lead.post(&format!("/members/{id}/dance"), &[]).is(404);
});

on_both!(the_last_lead_can_neither_step_down_nor_go, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let id: i64 =
        house.app.db.read_now(|c| Ok(members::table.select(members::id).first(c)?)).unwrap();
    act(&lead, id, "role", &[("role", "member")]).is(409).says("last active lead");
    act(&lead, id, "pause", &[]).is(409).says("last active lead");
    lead.post("/me/leave", &[("old_password", PASSWORD)]).is(409).says("last active lead");
    put(house, "Tove", Role::Lead);
    act(&lead, id, "role", &[("role", "member")]).is(303);
    lead.get("/members").is(403);
});

on_both!(eight_leads_leaving_at_once_leave_one_behind, |house| {
    let names = ["Ana", "Bo", "Cara", "Dag", "Edda", "Finn", "Gro", "Hal"];
    let browsers: Vec<Browser> = names.iter().map(|n| signed_in(house, n, Role::Lead)).collect();
    let start = Barrier::new(8);
    let mut seen: Vec<u16> = std::thread::scope(|scope| {
        let threads: Vec<_> = browsers
            .into_iter()
            .map(|b| {
                let start = &start;
                scope.spawn(move || {
                    start.wait();
                    b.post("/me/leave", &[("old_password", PASSWORD)]).status
                })
            })
            .collect();
        threads.into_iter().map(|t| t.join().unwrap()).collect()
    });
    seen.sort_unstable();
    assert_eq!(seen, [303, 303, 303, 303, 303, 303, 303, 409]);
    let left = house.app.db.read_now(wetside::members::leads).unwrap();
    assert_eq!(left.len(), 1);
});

on_both!(who_leaves_is_forgotten_and_their_records_stay, |house| {
    put(house, "Maren", Role::Lead);
    let b = signed_in(house, "Tove", Role::Member);
    let id: i64 = house
        .app
        .db
        .read_now(|c| Ok(members::table.select(members::id).order(members::id.desc()).first(c)?))
        .unwrap();
    b.post("/reset", &[("email", "tove@quillhaven.example")]).is(200);
    let link = house.link_to("tove@quillhaven.example");
    b.post("/me/address", &[("email", "t@quillhaven.example"), ("old_password", PASSWORD)]).is(303);
    b.get("/me/leave").is(200).says("cannot be undone");
    b.post("/me/leave", &[("old_password", "wrong")]).is(422);
    b.post("/me/leave", &[("old_password", PASSWORD)]).is(303);
    assert_eq!(b.get("/me").status, 303);
    house.browser().get(&link).is(409);
    sign_in(&house.browser(), "tove@quillhaven.example", PASSWORD).is(422);
    let (row, letters, links) = house
        .app
        .db
        .read_now(|c| {
            type Row = (String, String, Option<String>, Option<String>, String);
            let row: Row = members::table
                .find(id)
                .select((
                    members::name,
                    members::state,
                    members::email,
                    members::password_hash,
                    members::note,
                ))
                .first(c)?;
            let letters = outbox::table
                .filter(outbox::to_address.like("t%@quillhaven.example"))
                .count()
                .get_result::<i64>(c)?;
            let links = secret_links::table
                .filter(secret_links::member_id.eq(id))
                .filter(secret_links::payload.is_not_null())
                .count()
                .get_result::<i64>(c)?;
            Ok((row, letters, links))
        })
        .unwrap();
    assert_eq!(row, ("A former member".into(), "left".into(), None, None, String::new()));
    assert_eq!((letters, links), (0, 0));
    let missing = house.app.db.read_now(|c| wetside::members::recipient(c, id));
    assert!(matches!(missing, Err(Error::NotFound)));
});

on_both!(ones_own_data_come_as_json_and_ones_taste_is_kept, |house| {
    let b = signed_in(house, "Maren", Role::Lead);
    let page = b.get("/me").body;
    let wish = |zone: &'static str, version: &str| {
        let version = version.to_owned();
        let form = [
            ("name", "Maren Ø"),
            ("zone", zone),
            ("day_order", "year_month"),
            ("us_units", "yes"),
            ("version", version.as_str()),
        ];
        b.post("/me", &form)
    };
    let version = version_in(&page);
    wish("Nowhere", &version).is(422).says("IANA name").says("Maren Ø");
    wish("Europe/Oslo", &version).is(303);
    wish("Europe/Oslo", &version).is(409);
    b.post("/me/letters", &[]).is(303);
    let all = b.get("/me/export").is(200).json();
    assert_eq!(all["name"], "Maren Ø");
    assert_eq!(all["time_zone"], "Europe/Oslo");
    assert_eq!((&all["hours_24"], &all["us_units"]), (&false.into(), &true.into()));
    assert_eq!(all["letters_not_wanted"][0], "application_waiting");
    assert_eq!(all["sessions"].as_array().unwrap().len(), 1);
    assert!(!all.to_string().contains("argon2"));
});

on_both!(the_studios_settings_are_checked_and_versioned, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let version = version_in(&lead.get("/studio").is(200).body);
    let change = |name: &str, joining: &str, least: &str| {
        lead.post(
            "/studio",
            &[
                ("name", name),
                ("about", "Two sinks."),
                ("zone", "Europe/Dublin"),
                ("joining", joining),
                ("password_length", least),
                ("near_limit_percent", "75"),
                ("version", &version),
            ],
        )
    };
    change("", "maybe", "3").is(422).says("12 to 64");
    change("Quay Darkroom", "invitation", "15").is(303);
    change("Quay Darkroom", "invitation", "15").is(409);
    assert_eq!(house.app.studio().password_length, 15);
    let b = house.browser();
    b.get("/apply").is(200).says("invites its members");
    b.post("/apply", &[("name", "Ana"), ("email", "ana@quillhaven.example")]).is(409);
});

on_both!(many_people_are_shown_in_pages_and_found, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    for n in 0..104 {
        house.put_person(&format!("Person {n:03} & more"), Role::Member);
    }
    let first = lead.get("/members").is(200).says("Person 000").says("Page 1");
    assert!(!first.body.contains("Person 103"), "the first page shows everybody");
    lead.get("/members?page=2").is(200).says("Person 103").says("Page 2");
    lead.get("/members?page=99").is(200).says("Person 103");
    lead.get("/members?page=x&q=PERSON+103").is(200).says("Person 103");
    let found = lead.get("/members?q=%26").is(200).body;
    assert!(found.contains("q=%26&#x26;page=2") || found.contains("q=%26&amp;page=2"), "{found}");
});
