//! The second factor: set up, asked for, lost, taken away.

use serde_json::json;
use totp_rs::{Algorithm, Builder, Totp};
use wetside::sessions::Role;

use crate::house::{Answer, Api, Browser, House};
use crate::sign_in::{PASSWORD, put, sign_in, signed_in};

const MAREN: &str = "maren@quillhaven.example";

/// A device that makes codes from the letters on the page.
pub struct Device(Totp);

impl Device {
    fn reading(page: &str) -> Device {
        let letters = page.split("<dt>Letters</dt><dd><code>").nth(1).unwrap();
        let letters = letters.split('<').next().unwrap();
        let (mut bits, mut held, mut secret) = (0, 0_u32, Vec::new());
        for c in letters.chars().filter(|c| *c != ' ') {
            let five = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567".find(c).unwrap();
            held = (held << 5) | u32::try_from(five).unwrap();
            bits += 5;
            if bits >= 8 {
                bits -= 8;
                secret.push(u8::try_from((held >> bits) & 255).unwrap());
            }
        }
        assert_eq!(secret.len(), 20);
        let totp = Builder::new().with_algorithm(Algorithm::SHA1).with_digits(6);
        Device(totp.with_secret(secret).with_step_duration(30).build_noncompliant())
    }

    /// The code it shows now.
    fn code(&self, house: &House) -> String {
        self.0.generate(u64::try_from(house.clock.now().0).unwrap()).to_string()
    }
}

fn codes_in(page: &str) -> Vec<String> {
    let list = page.split("recovery-codes").nth(1).unwrap().split("</ol>").next().unwrap();
    list.split("<code>").skip(1).map(|c| c.split('<').next().unwrap().to_owned()).collect()
}

/// Turns it on for somebody who is signed in.
pub fn turned_on(house: &House, b: &Browser) -> (Device, Vec<String>) {
    b.post("/me/second-factor/begin", &[]).is(303);
    let device = Device::reading(&b.get("/me/second-factor").is(200).body);
    let wish = [("old_password", PASSWORD), ("code", &device.code(house))];
    let done = b.post("/me/second-factor/confirm", &wish).is(200);
    let codes = codes_in(&done.body);
    assert_eq!(codes.len(), 10);
    (device, codes)
}

/// The proof that stands in the page between password and session.
fn proof(page: &Answer) -> String {
    let at = page.body.split("name=\"proof\" value=\"").nth(1).expect("the page for the code");
    at.split('"').next().unwrap().to_owned()
}

fn half_way(b: &Browser) -> String {
    proof(&sign_in(b, MAREN, PASSWORD).is(200).says("Your code"))
}

fn with_code(b: &Browser, proof: &str, code: &str) -> Answer {
    b.post("/sign-in/code", &[("proof", proof), ("code", code), ("next", "/me")])
}

on_both!(after_the_password_a_code_is_asked_for_and_taken_once, |house| {
    let first = signed_in(house, "Maren", Role::Lead);
    let elsewhere = house.browser();
    sign_in(&elsewhere, MAREN, PASSWORD).is(303);
    let (device, _) = turned_on(house, &first);
    first.get("/me").is(200);
    assert_eq!(elsewhere.get("/me").status, 303, "other sessions have ended");
    assert!(house.letters().last().unwrap().subject.contains("second factor"));
    let b = house.browser();
    let proof = half_way(&b);
    assert_eq!(b.get("/me").status, 303, "the password alone opens nothing");
    with_code(&b, &proof, &device.code(house)).is(422).says("used already");
    house.clock.advance(30);
    with_code(&b, &proof, "000000").is(422).says("does not fit");
    let entered = with_code(&b, &proof, &device.code(house)).is(303);
    assert_eq!(entered.location.as_deref(), Some("/me"));
    b.get("/me").is(200).says("Maren");
    // The same code again, with a proof that still holds: refused.
    with_code(&house.browser(), &proof, &device.code(house)).is(422).says("used already");
    // An earlier half minute's code, though no one used it, comes too late as well.
    house.clock.advance(60);
    let late = device.code(house);
    house.clock.advance(30);
    with_code(&house.browser(), &half_way(&house.browser()), &device.code(house)).is(303);
    with_code(&house.browser(), &half_way(&house.browser()), &late).is(422).says("used already");
});

on_both!(a_recovery_code_lets_in_once, |house| {
    let first = signed_in(house, "Maren", Role::Lead);
    let (_, codes) = turned_on(house, &first);
    let b = house.browser();
    with_code(&b, &half_way(&b), &codes[3].to_lowercase()).is(303);
    b.get("/me/second-factor").is(200).says("9 of your recovery codes");
    with_code(&house.browser(), &half_way(&house.browser()), &codes[3]).is(422);
    // New ones make the earlier useless.
    let wish = [("old_password", PASSWORD), ("code", codes[4].as_str())];
    let fresh = codes_in(&b.post("/me/second-factor/codes", &wish).is(200).body);
    with_code(&house.browser(), &half_way(&house.browser()), &codes[5]).is(422);
    with_code(&house.browser(), &half_way(&house.browser()), &fresh[0]).is(303);
});

on_both!(wrong_codes_are_slowed_down, |house| {
    let first = signed_in(house, "Maren", Role::Lead);
    let (device, _) = turned_on(house, &first);
    house.clock.advance(30);
    let b = house.browser();
    let proof = half_way(&b);
    for _ in 0..5 {
        with_code(&b, &proof, "000000").is(422);
    }
    with_code(&b, &proof, &device.code(house)).is(429);
    house.clock.advance(301);
    with_code(&b, &proof, &device.code(house)).is(303);
});

on_both!(the_way_between_password_and_code_is_short_and_cannot_be_forged, |house| {
    let first = signed_in(house, "Maren", Role::Lead);
    let tove = put(house, "Tove", Role::Member);
    let (device, _) = turned_on(house, &first);
    house.clock.advance(30);
    let b = house.browser();
    let proof = half_way(&b);
    let to_sign_in = |answer: Answer| assert_eq!(answer.location.as_deref(), Some("/sign-in"));
    for forged in
        ["", "1.1.1", "x.y.z.w", &proof.replacen(&first_part(&proof), &tove.to_string(), 1)]
    {
        to_sign_in(with_code(&b, forged, &device.code(house)).is(303));
    }
    house.clock.advance(601);
    to_sign_in(with_code(&b, &proof, &device.code(house)).is(303));
    // A password that was changed meanwhile ends it too.
    let proof = half_way(&b);
    let new = "herring barrels on the north quay";
    first.post("/me/password", &[("old_password", PASSWORD), ("password", new)]).is(303);
    to_sign_in(with_code(&b, &proof, &device.code(house)).is(303));
});

fn first_part(proof: &str) -> String {
    proof.split('.').next().unwrap().to_owned()
}

on_both!(a_token_is_issued_for_password_and_code, |house| {
    let first = signed_in(house, "Maren", Role::Lead);
    let (device, _) = turned_on(house, &first);
    house.clock.advance(30);
    let nobody = Api::new(&house.url, None);
    let mut wish = json!({"email": MAREN, "password": PASSWORD, "label": "wall"});
    nobody.post("/api/v1/tokens", &wish).is(422).says("second factor");
    wish["code"] = json!("123456");
    nobody.post("/api/v1/tokens", &wish).is(422).says("does not fit");
    wish["code"] = json!(device.code(house));
    let issued = nobody.post("/api/v1/tokens", &wish).is(201).json();
    let api = Api::new(&house.url, Some(issued["token"].as_str().unwrap().to_owned()));
    api.get("/api/v1/me").is(200);
    nobody.post("/api/v1/tokens", &wish).is(422).says("used already");
});

on_both!(turning_it_off_takes_password_and_code, |house| {
    let first = signed_in(house, "Maren", Role::Lead);
    let (device, _) = turned_on(house, &first);
    house.clock.advance(30);
    let off = |password: &str, code: &str| {
        first.post("/me/second-factor/off", &[("old_password", password), ("code", code)])
    };
    off("wrong and long enough", &device.code(house)).is(422).says("not your present password");
    off(PASSWORD, "000000").is(422).says("does not fit");
    off(PASSWORD, &device.code(house)).is(303);
    sign_in(&house.browser(), MAREN, PASSWORD).is(303);
    assert!(house.letters().last().unwrap().subject.contains("is off"));
});

on_both!(it_is_not_on_before_a_code_has_fitted, |house| {
    let b = signed_in(house, "Maren", Role::Lead);
    b.post("/me/second-factor/begin", &[]).is(303);
    sign_in(&house.browser(), MAREN, PASSWORD).is(303);
    let before = Device::reading(&b.get("/me/second-factor").body);
    b.post("/me/second-factor/begin", &[]).is(303);
    let wish = [("old_password", PASSWORD), ("code", &before.code(house))];
    b.post("/me/second-factor/confirm", &wish).is(422).says("does not fit");
    b.post("/me/second-factor/codes", &wish).is(422);
});

on_both!(whoever_keeps_the_server_can_take_it_away, |house| {
    let first = signed_in(house, "Maren", Role::Lead);
    turned_on(house, &first);
    wetside::members::forget_second_factor_now(&house.app, MAREN).unwrap();
    assert_eq!(first.get("/me").status, 303, "signed out everywhere");
    sign_in(&house.browser(), MAREN, PASSWORD).is(303);
    assert!(house.letters().last().unwrap().subject.contains("is off"));
    assert!(wetside::members::forget_second_factor_now(&house.app, MAREN).is_err());
    let b = house.browser();
    sign_in(&b, MAREN, PASSWORD).is(303);
    wetside::members::sign_out_now(&house.app, MAREN).unwrap();
    assert_eq!(b.get("/me").status, 303);
});

on_both!(a_stolen_database_makes_no_code, |house| {
    use diesel::prelude::*;
    use wetside::db::schema::{recovery_codes, second_factors};
    let first = signed_in(house, "Maren", Role::Lead);
    let (_, codes) = turned_on(house, &first);
    let kept = house.app.db.read_now(|c| {
        let drawn: Vec<u8> = second_factors::table.select(second_factors::drawn).first(c)?;
        let hashes: Vec<Vec<u8>> =
            recovery_codes::table.select(recovery_codes::code_hash).load(c)?;
        Ok((drawn, hashes))
    });
    let (drawn, hashes) = kept.unwrap();
    assert_eq!((drawn.len(), hashes.len()), (16, 10));
    for hash in hashes {
        assert_eq!(hash.len(), 32);
        assert!(codes.iter().all(|c| c.as_bytes() != hash));
    }
});
