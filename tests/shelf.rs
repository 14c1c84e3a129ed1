//! Stories of the shelf: deliveries, draws, stock-taking, and what must be bought.

use wetside::sessions::Role;
use wetside::shelf::{self, Wanted};

use crate::house::{Browser, House};

/// A product as its form sends it; later pairs win over earlier ones.
fn product<'a>(with: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let mut fields = vec![
        ("name", "Slack Tide fixer, 1+4"),
        ("purpose", "fixer"),
        ("form", "concentrate"),
        ("developer", ""),
        ("water_parts", "4"),
        ("g_per_litre", ""),
        ("rolls_per_litre", "20"),
        ("working_keeps_days", "60"),
        ("opened_keeps_days", "180"),
        ("size", "1000"),
        ("reorder_at", "500"),
        ("price", "14.50"),
        ("note", ""),
    ];
    for (name, value) in with {
        match fields.iter_mut().find(|f| f.0 == *name) {
            Some(field) => field.1 = value,
            None => fields.push((name, value)),
        }
    }
    fields
}

fn delivery<'a>(lot: &'a str, expires: &'a str, count: &'a str) -> [(&'a str, &'a str); 5] {
    [("lot", lot), ("expires", expires), ("count", count), ("size", "1000"), ("price", "14.50")]
}

fn stocked(house: &House) -> Browser {
    let lead = house.person("Maren", Role::Lead);
    lead.post("/shelf/products/new", &product(&[])).is(303);
    lead.post("/shelf/products/1/bottles", &delivery("L-204", "2027-12-31", "1")).is(303);
    lead.post("/shelf/products/1/bottles", &delivery("L-198", "2027-04-02", "1")).is(303);
    lead
}

on_both!(a_delivery_is_used_first_to_expire_first, |house| {
    let lead = stocked(house);
    let (now, by) = (house.clock.now(), lead.id);
    let wanted = Wanted { amount: 1_200_000, why: "Fixer 1".to_owned(), ..Wanted::default() };
    house.app.db.write_now(|tx| shelf::draw(tx, now, Some(by), 1, &wanted)).unwrap();
    let member = house.person("Ilse", Role::Member);
    member.get("/shelf/products/1").is(200).says("800\u{202f}ml").says("Fixer 1");
    member.get("/shelf/bottles/2").is(200).says("Empty");
    member.get("/shelf/bottles/1").is(200).says("800\u{202f}ml").says("Opened");
});

on_both!(nothing_is_drawn_that_is_not_there, |house| {
    let lead = stocked(house);
    let (now, by) = (house.clock.now(), lead.id);
    let wanted = Wanted { amount: 2_000_001, ..Wanted::default() };
    let refused = house.app.db.write_now(|tx| shelf::draw(tx, now, Some(by), 1, &wanted));
    let sentence = refused.unwrap_err().to_string();
    assert!(sentence.contains("the shelf holds 2000\u{202f}ml"), "{sentence}");
    lead.get("/shelf/bottles/1").is(200).says("1000\u{202f}ml").says("Sealed");
    // What has happened is recorded as far as the book goes.
    let lacking =
        house.app.db.write_now(|tx| shelf::draw_what_there_is(tx, now, Some(by), 1, &wanted));
    assert_eq!(lacking.unwrap(), 1);
    lead.get("/shelf").is(200).says("None left");
});

on_both!(stock_taking_corrects_the_book_and_says_why, |house| {
    let lead = stocked(house);
    let count = |actual, why| [("actual", actual), ("why", why)];
    lead.post("/shelf/bottles/1/count", &count("640.5", "A splash went down the side.")).is(303);
    lead.get("/shelf/bottles/1").is(200).says("640.5\u{202f}ml").says("A splash went down");
    lead.post("/shelf/bottles/1/count", &count("1200", "Found more")).is(422).says("cannot hold");
    lead.post("/shelf/bottles/1/count", &count("12", "")).is(422).says("Please give why");
    let member = house.person("Ilse", Role::Member);
    member.post("/shelf/bottles/1/count", &count("0", "mine now")).is(403);
});

on_both!(a_bottle_past_its_date_or_set_aside_is_named_and_not_used, |house| {
    let lead = stocked(house);
    lead.get("/shelf").is(200).says("Expires soon").says("Friday 2 April 2027");
    house.clock.advance(20 * 86_400);
    let lead = house.person("Tobin", Role::Lead);
    lead.get("/shelf").is(200).says("Past its date").says("1000\u{202f}ml");
    lead.post("/shelf/bottles/1/set-aside", &[("reason", "It smells of eggs.")]).is(303);
    lead.get("/shelf").is(200).says("It smells of eggs.").says("None left");
    let wanted = Wanted { amount: 1, ..Wanted::default() };
    let now = house.clock.now();
    assert!(house.app.db.write_now(|tx| shelf::draw(tx, now, None, 1, &wanted)).is_err());
});

on_both!(the_shopping_list_names_what_runs_low, |house| {
    let lead = stocked(house);
    lead.get("/shelf").is(200).says("Nothing has to be bought now.");
    let wanted = Wanted { amount: 1_500_000, ..Wanted::default() };
    let now = house.clock.now();
    house.app.db.write_now(|tx| shelf::draw(tx, now, None, 1, &wanted)).unwrap();
    lead.get("/shelf").is(200).says("Time to buy").says("1 bottle of 1000\u{202f}ml");
    let list = lead.get("/shelf/shopping.csv").is(200);
    assert_eq!(list.headers["content-type"], "text/csv; charset=utf-8");
    assert!(list.body.ends_with("\"Slack Tide fixer, 1+4\",Fixer,1,1000,ml,500,0,14.50,14.50\r\n"));
});

on_both!(a_developer_open_for_long_asks_for_a_scrap_test, |house| {
    let lead = house.person("Maren", Role::Lead);
    let with =
        [("name", "Saltmarsh concentrate"), ("purpose", "developer"), ("opened_keeps_days", "")];
    lead.post("/shelf/products/new", &product(&with)).is(303);
    lead.post("/shelf/products/1/bottles", &delivery("S-1", "", "2")).is(303);
    lead.post("/shelf/bottles/1/open", &[]).is(303);
    house.clock.advance(61 * 86_400);
    let lead = house.person("Tobin", Role::Lead);
    lead.get("/shelf").is(200).says("try a scrap of leader");
    lead.get("/shelf/bottles/1").is(200).says("Test it before the first run");
    lead.post("/shelf/bottles/1/scrap-tests", &[("result", "black")]).is(303);
    assert!(!lead.get("/shelf").body.contains("try a scrap"));
    lead.post("/shelf/bottles/1/scrap-tests", &[("result", "pale")]).is(303);
    lead.get("/shelf/bottles/1").is(200).says("did not blacken");
});

on_both!(faults_stand_beside_their_fields_and_nothing_typed_is_lost, |house| {
    let lead = stocked(house);
    lead.post("/shelf/products/new", &product(&[])).is(422).says("of that name already");
    let odd = [("name", "Odd"), ("size", "lots"), ("water_parts", "4.5")];
    lead.post("/shelf/products/new", &product(&odd))
        .is(422)
        .says("“lots” is not what one holds")
        .says("whole parts of water")
        .says("value=\"Odd\"");
    lead.post("/shelf/products/1/bottles", &delivery("L-204", "2028-01-01", "1"))
        .is(422)
        .says("A lot has one date.");
    let form = product(&[("name", "Slack Tide fixer"), ("version", "1")]);
    lead.post("/shelf/products/1/change", &form).is(303);
    lead.post("/shelf/products/1/change", &form).is(409).says("changed while");
    let powder = product(&[("form", "powder"), ("version", "2")]);
    lead.post("/shelf/products/1/change", &powder).is(422).says("counted in the other unit");
});

on_both!(the_figures_baths_are_counted_with_are_the_leads, |house| {
    let lead = house.person("Maren", Role::Lead);
    lead.get("/shelf/figures").is(200).says("value=\"75\"").says("NAVEDTRA 14209");
    let figures = |margin| {
        [
            ("margin", margin),
            ("tabular", "200"),
            ("carry_over", "12.5"),
            ("second_bath", "10"),
            ("promotions", "4"),
            ("opened_long", "90"),
            ("currency", "EUR"),
            ("version", "1"),
        ]
    };
    lead.post("/shelf/figures", &figures("5")).is(422).says("10 to 100");
    lead.post("/shelf/figures", &figures("60")).is(303);
    lead.get("/shelf/figures").is(200).says("value=\"60\"").says("value=\"12.5\"");
    lead.post("/shelf/figures", &figures("70")).is(409).says("changed while");
});

on_both!(the_database_itself_keeps_a_bottle_from_holding_less_than_nothing, |house| {
    use diesel::prelude::*;
    use wetside::db::schema::{bottles, draws};
    let lead = stocked(house);
    let (now, by) = (house.clock.now(), lead.id);
    let wanted = Wanted { amount: 10, ..Wanted::default() };
    house.app.db.write_now(|tx| shelf::draw(tx, now, Some(by), 1, &wanted)).unwrap();
    let below = house.app.db.write_now(|tx| {
        Ok(diesel::update(bottles::table).set(bottles::held.eq(-1)).execute(tx.conn())?)
    });
    assert!(below.is_err());
    let rewritten = house.app.db.write_now(|tx| {
        Ok(diesel::update(draws::table).set(draws::amount.eq(1)).execute(tx.conn())?)
    });
    assert!(rewritten.is_err());
});

on_both!(a_local_rule_is_typed_once_and_said_everywhere, |house| {
    let lead = stocked(house);
    let rule = [
        ("waste", "fixer"),
        ("rule", "To the harbour depot only"),
        ("authority", "Quillhaven harbour board"),
        ("dated", "2026-03-01"),
    ];
    lead.post("/waste/rules", &rule).is(303);
    lead.get("/waste").is(200).says("To the harbour depot only");
    lead.get("/safety/blanks").is(200).says("To the harbour depot only").says("2026-03-01");
    // Changed in the notes, it is changed for labels and sheets; emptied there, it is closed.
    let changed = [
        ("rule-fixer", "To the depot on the quay"),
        ("rule-fixer-authority", "Quillhaven harbour board"),
        ("rule-fixer-date", "2026-05-01"),
    ];
    lead.post("/safety/blanks", &changed).is(303);
    lead.get("/waste").is(200).says("To the depot on the quay");
    lead.post("/safety/blanks", &[("rule-fixer", "")]).is(303);
    let page = lead.get("/waste").is(200).body;
    assert!(!page.contains("To the depot"), "what the notes do not say is closed");
});
