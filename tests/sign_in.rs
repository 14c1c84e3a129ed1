//! Signing in and out, guessing, resets, tokens, and what a thief of the database holds.

use diesel::prelude::*;
use serde_json::json;
use wetside::db::schema::{api_tokens, members, outbox, secret_links, sessions};
use wetside::members::{NewMember, passwords};
use wetside::sessions::Role;

use crate::house::{Answer, Api, Browser, House};

pub const PASSWORD: &str = "seven gannets over a tin roof";

/// A member who knows their password.
pub fn put(house: &House, name: &str, role: Role) -> i64 {
    let new = NewMember {
        name: name.to_owned(),
        email: format!("{}@quillhaven.example", name.to_lowercase()),
        role,
        password_hash: Some(passwords::hash(true, PASSWORD).unwrap()),
        verified: true,
    };
    let now = house.clock.now();
    house.app.db.write_now(|tx| wetside::members::put(tx, now, &new)).unwrap()
}

/// Signs in with an address and a password.
pub fn sign_in(b: &Browser, email: &str, password: &str) -> Answer {
    b.post("/sign-in", &[("email", email), ("password", password), ("next", "/me")])
}

/// A browser in which somebody has signed in.
pub fn signed_in(house: &House, name: &str, role: Role) -> Browser {
    put(house, name, role);
    let b = house.browser();
    sign_in(&b, &format!("{}@quillhaven.example", name.to_lowercase()), PASSWORD).is(303);
    b
}

on_both!(signing_in_leads_where_one_was_going_and_out_again, |house| {
    put(house, "Maren", Role::Lead);
    let b = house.browser();
    let sent = b.get("/me").is(303);
    assert_eq!(sent.location.as_deref(), Some("/sign-in?next=%2Fme"));
    b.follow(sent).is(200).says("value=\"/me\"");
    let entered = sign_in(&b, " MAREN@quillhaven.example", PASSWORD);
    assert_eq!(entered.location.as_deref(), Some("/me"));
    b.get("/me").is(200).says("Maren");
    let before = b.cookies();
    let again = b.post(
        "/sign-in",
        &[
            ("email", "maren@quillhaven.example"),
            ("password", PASSWORD),
            ("next", "//evil.example"),
        ],
    );
    assert_eq!(again.location.as_deref(), Some("/"));
    assert_ne!(before, b.cookies(), "the session is a new one");
    assert_eq!(
        Browser::new(&house.url, Some(before)).get("/me").status,
        303,
        "the old one is over"
    );
    b.post("/sign-out", &[]).is(303);
    assert_eq!(b.get("/me").status, 303);
});

on_both!(known_and_unknown_addresses_get_the_same_answer, |house| {
    put(house, "Maren", Role::Lead);
    let strip = |a: Answer, email: &str| {
        let body = a.body.replace(email, "ADDRESS");
        let lines: Vec<String> =
            body.lines().filter(|l| !l.contains("once_key")).map(ToOwned::to_owned).collect();
        (a.status, lines)
    };
    for path in ["/sign-in", "/reset", "/apply"] {
        let asked = |email: &str| {
            let form =
                [("email", email), ("password", "wrong and long"), ("name", "Ana"), ("note", "")];
            strip(house.browser().post(path, &form), email)
        };
        assert_eq!(asked("maren@quillhaven.example"), asked("nobody@quillhaven.example"), "{path}");
    }
});

on_both!(the_eleventh_wrong_try_in_a_minute_must_wait, |house| {
    put(house, "Maren", Role::Lead);
    put(house, "Tove", Role::Member);
    let b = house.browser();
    for email in ["maren@quillhaven.example", "nobody@quillhaven.example"] {
        for _ in 0..10 {
            sign_in(&b, email, "wrong").is(422).says("do not go together");
        }
        let slow = sign_in(&b, email, PASSWORD).is(429);
        assert_eq!(slow.headers["retry-after"], "60");
    }
    // Somebody else is not held up; what succeeds is not counted.
    for _ in 0..15 {
        sign_in(&house.browser(), "tove@quillhaven.example", PASSWORD).is(303);
    }
    // Thirty wrong ones from one network are enough for everybody there.
    for n in 0..10 {
        sign_in(&b, &format!("guess{n}@quillhaven.example"), "wrong").is(422);
    }
    sign_in(&b, "tove@quillhaven.example", PASSWORD).is(429);
    house.clock.advance(61);
    sign_in(&b, "maren@quillhaven.example", PASSWORD).is(303);
});

on_both!(tries_at_two_servers_are_counted_together, |house| {
    put(house, "Maren", Role::Lead);
    let second = house.second();
    let (here, there) = (house.browser(), Browser::new(&second.url, None));
    for n in 0..10 {
        let b = if n % 2 == 0 { &here } else { &there };
        sign_in(b, "maren@quillhaven.example", "wrong").is(422);
    }
    for b in [&here, &there] {
        sign_in(b, "maren@quillhaven.example", PASSWORD).is(429);
    }
    std::mem::drop(second.server.stop(true));
});

on_both!(a_reset_link_works_once_within_the_hour, |house| {
    let elsewhere = signed_in(house, "Maren", Role::Lead);
    let token = house.app.db.write_now(|tx| {
        let id = members::table.select(members::id).first(tx.conn())?;
        wetside::sessions::issue_token(tx, house.clock.now(), id, "wall")
    });
    let api = Api::new(&house.url, Some(token.unwrap()));
    api.get("/api/v1/me").is(200);
    let b = house.browser();
    let ask = || b.post("/reset", &[("email", "maren@quillhaven.example")]).is(200);
    ask();
    let earlier = house.link_to("maren@quillhaven.example");
    ask();
    let link = house.link_to("maren@quillhaven.example");
    b.get(&earlier).is(409).says("no longer good");
    b.get(&link).is(200);
    b.post(&link, &[("password", "short")]).is(422).says("at least 12");
    b.post(&link, &[("password", "maren-quillhaven")]).is(422).says("own name");
    let new = "herring barrels on the north quay";
    b.post(&link, &[("password", new)]).is(303);
    b.post(&link, &[("password", new)]).is(409);
    assert_eq!(elsewhere.get("/me").status, 303, "other sessions have ended");
    api.get("/api/v1/me").is(401);
    sign_in(&b, "maren@quillhaven.example", PASSWORD).is(422);
    sign_in(&b, "maren@quillhaven.example", new).is(303);
    assert!(house.letters().last().unwrap().text.contains("was changed just now"));
    ask();
    house.clock.advance(3601);
    b.get(&house.link_to("maren@quillhaven.example")).is(409);
});

on_both!(asking_for_letters_is_limited, |house| {
    put(house, "Maren", Role::Lead);
    for _ in 0..5 {
        house.browser().post("/reset", &[("email", "maren@quillhaven.example")]).is(200);
    }
    house.browser().post("/reset", &[("email", "maren@quillhaven.example")]).is(429);
    assert_eq!(house.letters().len(), 5);
});

on_both!(a_token_is_issued_for_a_password, |house| {
    let id = put(house, "Tove", Role::Newcomer);
    let nobody = Api::new(&house.url, None);
    let wish = |password: &str| json!({"email": "tove@quillhaven.example", "password": password, "label": "wall"});
    nobody.post("/api/v1/tokens", &wish("wrong")).is(422);
    nobody.post("/api/v1/tokens", &json!({"email": 3, "extra": true})).is(422);
    let issued = nobody.post("/api/v1/tokens", &wish(PASSWORD)).is(201).json();
    let api = Api::new(&house.url, Some(issued["token"].as_str().unwrap().to_owned()));
    let me = api.get("/api/v1/me").is(200).json();
    assert_eq!(
        me,
        json!({"id": id, "name": "Tove", "email": "tove@quillhaven.example", "role": "newcomer",
            "missing_before_first_booking": ["induction"]})
    );
    nobody.get("/api/v1/me").is(401);
    for _ in 0..9 {
        nobody.post("/api/v1/tokens", &wish("wrong")).is(422);
    }
    nobody.post("/api/v1/tokens", &wish(PASSWORD)).is(429);
    let described = nobody.get("/api/v1/openapi.json").is(200).json();
    assert!(described["paths"]["/api/v1/tokens"]["post"].is_object());
});

on_both!(a_password_kept_in_an_older_way_is_kept_afresh, |house| {
    let id = put(house, "Maren", Role::Lead);
    let full = passwords::hash(false, PASSWORD).unwrap();
    let kept = || {
        house.app.db.read_now(|c| {
            Ok(members::table.find(id).select(members::password_hash).first::<Option<String>>(c)?)
        })
    };
    house
        .app
        .db
        .write_now(|tx| {
            Ok(diesel::update(members::table.find(id))
                .set(members::password_hash.eq(&full))
                .execute(tx.conn())?)
        })
        .unwrap();
    sign_in(&house.browser(), "maren@quillhaven.example", PASSWORD).is(303);
    assert!(kept().unwrap().unwrap().contains("m=8,t=1,p=1"));
    sign_in(&house.browser(), "maren@quillhaven.example", PASSWORD).is(303);
});

on_both!(another_sites_form_signs_nobody_in_or_out, |house| {
    let b = signed_in(house, "Maren", Role::Lead);
    for path in ["/sign-in", "/sign-out", "/sign-out-everywhere", "/me/leave", "/me/password"] {
        b.post_raw(path, "application/x-www-form-urlencoded", "cross-site", b"x=1").is(403);
    }
    b.get("/me").is(200);
});

on_both!(a_stolen_database_opens_no_door, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let page = lead.post("/me/tokens", &[("label", "wall")]).is(200).body;
    let token = page.split("<code>").nth(1).unwrap().split('<').next().unwrap().to_owned();
    Api::new(&house.url, Some(token.clone())).get("/api/v1/me").is(200);
    lead.post("/reset", &[("email", "maren@quillhaven.example")]).is(200);
    let link = house.link_to("maren@quillhaven.example");
    let seal = link.split('.').next_back().unwrap().to_owned();
    let session = lead.cookies();
    let session = session.split("wetside=").nth(1).unwrap().split(';').next().unwrap().to_owned();
    let everything = house.app.db.read_now(|c| {
        let mut all: Vec<String> = Vec::new();
        for bytes in sessions::table.select(sessions::token_hash).load::<Vec<u8>>(c)? {
            all.push(String::from_utf8_lossy(&bytes).into_owned());
        }
        for bytes in api_tokens::table.select(api_tokens::token_hash).load::<Vec<u8>>(c)? {
            all.push(String::from_utf8_lossy(&bytes).into_owned());
        }
        all.extend(outbox::table.select(outbox::body).load::<String>(c)?);
        let payloads = secret_links::table.select(secret_links::payload);
        all.extend(payloads.load::<Option<String>>(c)?.into_iter().flatten());
        let once = wetside::db::schema::once_keys::table;
        all.extend(once.select(wetside::db::schema::once_keys::answer).load::<String>(c)?);
        let hashes = members::table.select(members::password_hash);
        all.extend(hashes.load::<Option<String>>(c)?.into_iter().flatten());
        Ok(all)
    });
    let everything = everything.unwrap();
    assert!(everything.len() > 4);
    for secret in [&token, &seal, &session, PASSWORD] {
        assert!(secret.len() > 20 && !everything.iter().any(|t| t.contains(secret)), "{secret}");
    }
    // A row's id and hash are no address either.
    let b = house.browser();
    for forged in ["/new-password/1", "/new-password/1.", "/new-password/1.AAAA", "/welcome/x.y"] {
        b.get(forged).is(409);
    }
    let wrong_purpose = link.replace("/new-password/", "/welcome/");
    b.get(&wrong_purpose).is(409);
});
