//! What holds in every room: doors, headers, errors, looks.

use wetside::sessions::Role;

on_both!(alive_and_ready, |house| {
    house.browser().get("/healthz").is(200).says("alive");
    house.browser().get("/readyz").is(200).says("ready");
});

on_both!(figures_need_their_token, |house| {
    house.browser().get("/metrics").is(403);
});

on_both!(unknown_addresses_and_wrong_methods_are_explained, |house| {
    let b = house.browser();
    b.get("/no-such-page").is(404).says("There is nothing here");
    let refused = b.post("/healthz", &[]).is(405);
    assert_eq!(refused.headers.get("allow").map(String::as_str), Some("GET"));
    let problem = house.api(&house.person("Maren", Role::Lead)).get("/api/v1/nothing").is(404);
    assert_eq!(problem.headers["content-type"], "application/problem+json");
    assert_eq!(problem.json()["type"], "/problems/not-found");
});

on_both!(every_answer_carries_the_guarding_headers, |house| {
    let answer = house.browser().get("/no-such-page");
    let policy = &answer.headers["content-security-policy"];
    assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe"));
    assert!(policy.contains("frame-ancestors 'none'"));
    assert_eq!(answer.headers["x-content-type-options"], "nosniff");
    assert_eq!(answer.headers["referrer-policy"], "same-origin");
});

on_both!(another_site_cannot_send_forms, |house| {
    let b = house.browser();
    let kind = "application/x-www-form-urlencoded";
    for site in ["cross-site", "same-site"] {
        b.post_raw("/look", kind, site, b"look=dark&back=/").is(403).says("another site");
    }
    b.post_raw("/look", kind, "same-origin", b"look=dark&back=/").is(303);
});

on_both!(a_look_is_kept_and_sends_nobody_elsewhere, |house| {
    let b = house.browser();
    for back in ["//evil.example", "https://evil.example", "/\\evil.example"] {
        let sent = b.post("/look", &[("look", "dark"), ("back", back)]).is(303);
        assert_eq!(sent.location.as_deref(), Some("/"));
    }
    b.get("/nothing").is(404).says("data-look=\"dark\"");
    b.post("/look", &[("look", "plaid")]).is(422);
});

on_both!(bad_bodies_get_clear_errors, |house| {
    let b = house.browser();
    let form = "application/x-www-form-urlencoded";
    b.post_raw("/look", form, "same-origin", &vec![b'a'; 10 << 20]).is(413);
    b.post_raw("/look", form, "same-origin", b"look=%FF").is(422).says("UTF-8");
    b.post_raw("/look", form, "same-origin", b"look=a%00b").is(422).says("control character");
    b.post_raw("/look", "text/plain", "same-origin", b"look=dark").is(415);
});

on_both!(static_files_may_be_kept_for_ever, |house| {
    let b = house.browser();
    let page = b.get("/nothing").body;
    let at = page.find("/static/").expect("a style sheet");
    let url: String = page[at..].chars().take_while(|c| *c != '"').collect();
    let file = b.get(&url).is(200);
    assert!(file.headers["cache-control"].contains("immutable"));
    assert!(file.headers.contains_key("etag"));
    b.get("/static/0000/../Cargo.toml").is(404);
});
