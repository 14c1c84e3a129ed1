//! Who changed what: one line a change, written with it, never altered.

use diesel::prelude::*;
use wetside::db::Conn;
use wetside::db::schema::{keeping, trail};
use wetside::sessions::Role;

use crate::house::House;
use crate::sign_in::{PASSWORD, put, sign_in, signed_in};

/// Who, by what, through which door, which thing, whose, and whether it was only tried.
pub type Row = (Option<i64>, String, String, String, Option<i64>, bool);

/// All lines, the oldest first.
pub fn lines(house: &House) -> Vec<Row> {
    house
        .app
        .db
        .read_now(|c| {
            Ok(trail::table
                .order(trail::id)
                .select((
                    trail::actor_id,
                    trail::via,
                    trail::door,
                    trail::thing,
                    trail::owner_id,
                    trail::only_tried,
                ))
                .load::<Row>(c)?)
        })
        .unwrap()
}

fn last(house: &House) -> Row {
    lines(house).pop().expect("a line")
}

on_both!(every_change_has_a_line_with_who_what_and_whose, |house| {
    let lead = house.person("Maren", Role::Lead);
    let tove = house.person("Tove", Role::Member);
    assert!(lines(house).is_empty(), "what stories put there has no door");
    lead.get("/me").is(200);
    assert!(lines(house).is_empty(), "looking changes nothing");
    let page = lead.get(&format!("/members/{}", tove.id)).is(200).body;
    let version =
        page.split("name=\"version\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    let key = [("version", version), ("once_key", "the same")];
    let path = format!("/members/{}/pause", tove.id);
    lead.post(&path, &key).is(303);
    let wanted = (
        Some(lead.id),
        "page".to_owned(),
        "POST /members/{id}/{act}".to_owned(),
        format!("{}/pause", tove.id),
        Some(tove.id),
        false,
    );
    assert_eq!(lines(house), std::slice::from_ref(&wanted));
    // The same form again has one effect and one line; a refused one has none.
    lead.post(&path, &key);
    lead.post(&path, &[("version", version)]);
    tove.post("/members", &[("name", "x")]);
    assert_eq!(lines(house), [wanted]);
    let api = house.api(&lead);
    api.post("/api/v1/sessions", &serde_json::json!({}));
    assert_eq!(lines(house).len(), 1);
    lead.post("/calendar/own", &[]).is(303);
    assert_eq!(last(house).0, Some(lead.id));
});

on_both!(tries_to_sign_in_are_seen_with_the_account_they_were_at, |house| {
    let maren = put(house, "Maren", Role::Lead);
    let b = house.browser();
    sign_in(&b, "maren@quillhaven.example", "wrong and long").is(422);
    let door = "POST /sign-in".to_owned();
    let nobody = "nobody".to_owned();
    let tried = (None, nobody.clone(), door.clone(), String::new(), Some(maren), true);
    assert_eq!(lines(house), std::slice::from_ref(&tried));
    sign_in(&b, "stranger@quillhaven.example", "wrong and long").is(422);
    assert_eq!(last(house).4, None);
    sign_in(&b, "maren@quillhaven.example", PASSWORD).is(303);
    let entered = (Some(maren), nobody, door, String::new(), Some(maren), false);
    assert_eq!(lines(house)[2..], [tried, entered]);
});

on_both!(no_secret_comes_into_the_trail, |house| {
    let b = signed_in(house, "Maren", Role::Lead);
    b.post("/reset", &[("email", "maren@quillhaven.example")]).is(200);
    let link = house.link_to("maren@quillhaven.example");
    let new = "herring barrels on the north quay";
    b.post(&link, &[("password", new)]).is(303);
    let row = last(house);
    assert_eq!((row.2.as_str(), row.3.as_str()), ("POST /new-password/{secret}", ""));
});

on_both!(the_database_refuses_to_change_or_shorten_the_trail, |house| {
    let lead = house.person("Maren", Role::Lead);
    let day = 86_400;
    lead.post("/calendar/own", &[]).is(303);
    for name in ["Ana", "Tove"] {
        house.clock.advance(100 * day);
        house.person(name, Role::Lead).post("/calendar/own", &[]).is(303);
    }
    house.clock.advance(100 * day);
    assert_eq!(lines(house).len(), 3);
    let write = |sql: &'static str| {
        house.app.db.write_now(|tx| Ok(diesel::sql_query(sql).execute(tx.conn())?))
    };
    assert!(write("UPDATE trail SET actor_id = 1").is_err());
    assert!(write("DELETE FROM trail").is_err());
    let is_postgres = house.app.db.read_now(|c| Ok(matches!(c, Conn::Postgres(_)))).unwrap();
    assert!(!is_postgres || write("TRUNCATE trail").is_err());
    wetside::jobs::tidy(&house.app, house.clock.now()).unwrap();
    assert_eq!(lines(house).len(), 3);
    house
        .app
        .db
        .write_now(|tx| {
            Ok(diesel::update(keeping::table)
                .set(keeping::trail_days.eq(150))
                .execute(tx.conn())?)
        })
        .unwrap();
    assert!(write("DELETE FROM trail").is_err());
    wetside::jobs::tidy(&house.app, house.clock.now()).unwrap();
    assert_eq!(lines(house).len(), 2, "one is 150 days older than the newest");
});

on_both!(leads_read_filter_and_take_it_along, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let tove = signed_in(house, "Tove", Role::Member);
    tove.get("/trail").is(403);
    tove.get("/trail.csv").is(403);
    lead.get("/trail").is(200).says("signed in").says("Tove").says("Maren");
    let hers = lead.get("/trail?who=tov").is(200);
    assert!(hers.body.contains("Tove") && !hers.body.contains("Maren ("));
    lead.get("/trail?who=tov&from=2027-03-16").is(200).says("No line fits");
    lead.get("/trail?from=2027-03-15&to=2027-03-15&door=sign-in").is(200).says("Tove");
    lead.get("/trail?from=yesterday").is(422).says("yesterday");
    lead.get("/trail?door=100%25").is(200).says("No line fits");
    let file = lead.get("/trail.csv?who=tove@quillhaven.example").is(200);
    assert!(file.headers["content-type"].starts_with("text/csv"));
    assert!(file.body.starts_with("number,when,who,who_number,what,thing,whose"));
    assert_eq!(file.body.lines().count(), 3, "{}", file.body);
    // Somebody who left is a number; the line stays.
    tove.post("/me/leave", &[("old_password", PASSWORD)]).is(303);
    lead.get("/trail").is(200).says("left the studio").says("A former member");
    assert!(!lead.get("/trail.csv").body.contains("Tove"));
});

on_both!(many_lines_are_read_page_by_page, |house| {
    let lead = house.person("Maren", Role::Lead);
    for _ in 0..120 {
        lead.post("/calendar/own", &[]).is(303);
    }
    let count = |page: &str| page.matches("data-label=\"When\"").count();
    let (mut path, mut seen) = ("/trail".to_owned(), Vec::new());
    for _ in 0..3 {
        let page = lead.get(&path).is(200).body;
        seen.push(count(&page));
        let Some(next) = page.split("rel=\"prev\" href=\"").nth(1) else { break };
        path = next.split('"').next().unwrap().replace("&amp;", "&");
    }
    assert_eq!(seen, [50, 50, 20]);
});

on_both!(the_leads_doors_can_ask_for_a_second_factor, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let page = lead.get("/studio/keeping").is(200).body;
    let version =
        page.split("name=\"version\" value=\"").nth(1).unwrap().split('"').next().unwrap();
    let wish = [
        ("trail_days", "730"),
        ("letters_days", "90"),
        ("holds_days", "400"),
        ("leads_second_factor", "yes"),
        ("version", version),
    ];
    lead.post("/studio/keeping", &wish).is(422).says("of your own first");
    crate::second_factor::turned_on(house, &lead);
    lead.post("/studio/keeping", &wish).is(303);
    lead.get("/members").is(200);
    // Another lead without one is shut out of the leads' doors, not of their own pages.
    let other = signed_in(house, "Ana", Role::Lead);
    other.get("/members").is(403).says("second factor");
    other.get("/me/second-factor").is(200);
    crate::second_factor::turned_on(house, &other);
    other.get("/members").is(200);
});
