//! Whatever is typed into the people's forms meets a sentence or a page, never a fault of ours.

use crate::house::{Browser, House};
use crate::sign_in::{put, signed_in};
use wetside::sessions::Role;

/// Texts that have broken programs before.
fn bad_texts() -> Vec<String> {
    vec![
        String::new(),
        "<script>alert(1)</script>{{ page }}{% x %}".to_owned(),
        "x".repeat(1000),
        "a\0b".to_owned(),
        "\u{202e}gnirts".to_owned(),
        "שלום עולם".to_owned(),
        "Z\u{351}\u{36b}\u{343}a\u{300}\u{301}\u{302}l".to_owned(),
        "' OR 1=1; --".to_owned(),
        "-9223372036854775809".to_owned(),
        "🦀".repeat(80),
    ]
}

fn fields_of(path: &str) -> &'static [&'static str] {
    match path {
        "/me" => &["name", "zone", "day_order", "version"],
        "/members" => &["name", "email", "role"],
        "/studio" => &["name", "about", "zone", "joining", "password_length", "version"],
        "/me/password" | "/me/address" | "/me/leave" => &["old_password", "password", "email"],
        _ => &["name", "email", "password", "note", "label", "next", "studio", "zone", "wanted"],
    }
}

fn try_everything(house: &House, b: &Browser, path: &str) {
    for text in bad_texts() {
        for field in fields_of(path) {
            let sent = b.post(path, &[(field, &text)]);
            assert!(sent.status < 500, "{path} {field} {text:?}: {}", sent.body);
            assert!(!sent.body.contains("<script>alert"), "{path} {field}");
        }
        let all: Vec<(&str, &str)> = fields_of(path).iter().map(|f| (*f, text.as_str())).collect();
        let sent = b.post(path, &all);
        assert!(sent.status < 500, "{path} all {text:?}: {}", sent.body);
    }
    for body in [&b"\xff\xfe=%FF"[..], b"name", b"&&==&"] {
        let kind = "application/x-www-form-urlencoded";
        assert!(b.post_raw(path, kind, "same-origin", body).status < 500);
        b.post_raw(path, "text/plain", "same-origin", body).is(415);
    }
    house.clock.advance(120);
}

on_both!(bad_input_meets_a_sentence_or_a_page, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    let id = put(house, "Tove", Role::Member);
    for path in [
        "/me",
        "/me/password",
        "/me/address",
        "/me/letters",
        "/me/tokens",
        "/me/leave",
        "/members",
        "/studio",
        "/sign-in",
        "/reset",
        "/apply",
    ] {
        try_everything(house, &lead, path);
    }
    try_everything(house, &lead, &format!("/members/{id}/role"));
    let nobody = house.browser();
    for path in ["/set-up/x", "/welcome/1.x", "/prove/%00", "/new-password/%FF", "/new-address/9.9"]
    {
        assert!(nobody.get(path).status < 500, "{path}");
        try_everything(house, &nobody, path);
    }
    for page in
        ["/me", "/members?q=%3Cb%3E%00", "/members?q=%E2%80%AE", "/studio", "/sign-in?next=%00"]
    {
        assert!(lead.get(page).status < 500, "{page}");
    }
});

on_both!(a_name_in_any_writing_is_shown_as_it_was_given, |house| {
    let lead = signed_in(house, "Maren", Role::Lead);
    for (n, name) in ["שלום <b>", "O\u{308}rjan & Co", "महादेव"].iter().enumerate()
    {
        let email = format!("p{n}@quillhaven.example");
        lead.post("/members", &[("name", name), ("email", &email), ("role", "member")]).is(303);
    }
    lead.get("/members").is(200).says("<bdi>שלום &lt;b&gt;</bdi>").says("O\u{308}rjan &amp; Co");
    assert_eq!(house.letters().len(), 3);
});
