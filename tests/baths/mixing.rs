//! Mixing: from the shelf in one act, stock ahead, two baths in turn, replenishing.

use serde_json::json;
use wetside::sessions::Role;

use super::{container, films, letters, mixing, product, stocked};

on_both!(a_bath_is_mixed_from_the_shelf_in_one_act_and_labelled, |house| {
    let lead = stocked(house);
    lead.get("/baths/new").is(200).says("Slack Tide fixer");
    lead.get("/baths/new?product=1")
        .is(200)
        .says("On the shelf: 2000\u{202f}ml")
        .says("Anchell 2008");
    let label = lead.post("/baths", &mixing(&[]));
    let label = lead.follow(label).is(200);
    let label = label.says("Fixer 1, working bottle").says("Slack Tide fixer, 1+4");
    let label = label.says("Sets free irritating gas").says("Good until").says("/baths/1/use");
    label.says("class=\"qr-ink\"");
    // A litre at 1+4 is five parts: 200 ml came off the shelf.
    lead.get("/shelf/products/1").is(200).says("1800\u{202f}ml").says("Fixer 1, working bottle");
    lead.get("/baths/1").is(200).says("number 1 of lot L-7").says("15 rolls");
    // More than the shelf holds: neither a bath nor a draw.
    lead.post("/baths", &mixing(&[("volume_ml", "10000")])).is(422).says("Take in a delivery");
    lead.get("/shelf/products/1").is(200).says("1800\u{202f}ml");
    assert_eq!(house.api(&lead).get("/api/v1/baths").json()["items"].as_array().unwrap().len(), 1);
    house.person("Ilse", Role::Member).post("/baths", &mixing(&[])).is(403);
});

on_both!(stock_mixed_ahead_is_a_bath_of_its_own, |house| {
    let lead = house.person("Maren", Role::Lead);
    let powder = [
        ("name", "Fathom powder"),
        ("purpose", "developer"),
        ("form", "powder"),
        ("developer", ""),
        ("water_parts", ""),
        ("g_per_litre", "100"),
        ("size", "500"),
    ];
    lead.post("/shelf/products/new", &product(&powder)).is(303);
    let packets =
        [("lot", "P-1"), ("expires", ""), ("count", "1"), ("size", "500"), ("price", "8")];
    lead.post("/shelf/products/1/bottles", &packets).is(303);
    let stock = [
        ("way", "stock"),
        ("volume_ml", "2000"),
        ("keeps_days", "180"),
        ("half_keeps_days", "60"),
        ("least_ml", "0"),
        ("margin", "100"),
    ];
    lead.post("/baths", &mixing(&stock)).is(303);
    lead.get("/shelf/products/1").is(200).says("300\u{202f}g");
    lead.get("/baths").is(200).says("2000 of 2000 ml left");
    lead.get("/baths/1/use").is(404);
    house.clock.advance(61 * 86_400);
    let lead = house.person("Tobin", Role::Lead);
    lead.get("/baths/1").is(200).says("Test it before the first run");
});

on_both!(two_baths_are_rotated_in_one_act_and_not_for_ever, |house| {
    let lead = stocked(house);
    container(&lead, "Fixer drum", "fixer");
    lead.post("/baths", &mixing(&[("place", "bath_1")])).is(303);
    lead.post("/baths", &mixing(&[("place", "bath_1")])).is(422).says("stands as bath 1 already");
    lead.post("/baths", &mixing(&[("place", "bath_2")])).is(303);
    // Ten rolls through the first are a tenth of that through the second.
    lead.post("/baths/1/uses", &films("120", "10")).is(303);
    let api = house.api(&lead);
    let left = |n: usize| api.get("/api/v1/baths").json()["items"][n]["remaining"].clone();
    assert_eq!((left(0), left(1)), (json!(5.0), json!(14.0)));
    lead.get("/baths").is(200).says("Fix 2:30 min in each of the two");
    let figures = [
        ("margin", "75"),
        ("tabular", "150"),
        ("carry_over", "15"),
        ("second_bath", "10"),
        ("promotions", "1"),
        ("opened_long", "60"),
        ("currency", "EUR"),
        ("version", "1"),
    ];
    lead.post("/shelf/figures", &figures).is(303);
    let rotation = [
        ("container", "1"),
        ("volume_ml", "850"),
        ("fresh_ml", "1000"),
        ("label", ""),
        ("note", ""),
    ];
    lead.get("/baths/1/rotate").is(200).says("Fixer drum").says("of silver");
    let fresh = lead.post("/baths/1/rotate", &rotation);
    lead.follow(fresh).is(200).says("Fixer 3, bath 2");
    lead.get("/baths/2").is(200).says("bath 1").says("promotion 1").says("14</strong> of 15");
    lead.get("/waste/containers/1").is(200).says("Fixer 1, bath 1").says("850");
    lead.post("/baths/2/rotate", &rotation).is(422).says("mix both fresh");
    assert_eq!(api.get("/api/v1/baths").json()["items"].as_array().unwrap().len(), 2);
});

on_both!(hazard_lines_are_looked_up_in_one_place, |house| {
    let lead = house.person("Maren", Role::Lead);
    let acid = [
        ("working_words", ""),
        ("concentrate_signal", "Danger"),
        ("concentrate_codes", "h314, P280"),
        ("working_signal", "Warning"),
        ("working_codes", "H319 EUH031"),
    ];
    let with = |over: &[(&'static str, &'static str)]| {
        let mut all = product(&acid);
        for (name, value) in over {
            all.iter_mut().filter(|f| f.0 == *name).for_each(|f| f.1 = value);
        }
        all
    };
    lead.post("/shelf/products/new", &with(&[("concentrate_signal", "Warning")]))
        .is(422)
        .says("H314 goes with the signal word “Danger”");
    lead.post("/shelf/products/new", &with(&[("working_codes", "H319 H999")]))
        .is(422)
        .says("“H999” is no hazard");
    lead.post("/shelf/products/new", &with(&[])).is(303);
    let bottles =
        [("lot", "L-7"), ("expires", ""), ("count", "1"), ("size", "1000"), ("price", "20")];
    lead.post("/shelf/products/1/bottles", &bottles).is(303);
    let page = lead.get("/shelf/products/1").is(200);
    page.says("As bought: Danger").says("Symbols: corrosive").says("At working strength: Warning");
    lead.get("/baths/new?product=1").says("Causes severe skin burns");
    lead.post("/baths", &mixing(&[])).is(303);
    let label = lead.get("/baths/1/label").is(200);
    assert!(!label.body.contains("skin burns"), "that is the concentrate");
    label
        .says("Warning. Causes serious eye irritation. (H319)")
        .says("liberates toxic gas. (EUH031)");
    // The sheet was wrong: corrected in its one place, every label and page follows.
    let mut changed = with(&[("working_codes", "H315")]);
    changed.push(("version", "1"));
    lead.post("/shelf/products/1/change", &changed).is(303);
    lead.get("/baths/1/label").is(200).says("Warning. Causes skin irritation. (H315)");
    lead.get("/baths/1").is(200).says("Causes skin irritation. (H315)");
});

on_both!(a_developer_is_replenished_by_the_film_it_took, |house| {
    let lead = house.person("Maren", Role::Lead);
    let over =
        [("name", "Saltmarsh"), ("purpose", "developer"), ("form", "ready"), ("water_parts", "")];
    lead.post("/shelf/products/new", &product(&over)).is(303);
    let bottles =
        [("lot", "D-1"), ("expires", ""), ("count", "2"), ("size", "1000"), ("price", "9")];
    lead.post("/shelf/products/1/bottles", &bottles).is(303);
    let kept = [
        ("way", "replenished"),
        ("water_parts", "0"),
        ("rolls_per_litre", "10"),
        ("margin", "100"),
        ("replenish_ml", "23.7"),
        ("replenisher", "1"),
        ("replenisher_water", ""),
        ("least_ml", "0"),
    ];
    lead.post("/baths", &mixing(&kept)).is(303);
    lead.post("/baths/1/uses", &films("120", "9")).is(303);
    // 0.8 fl oz = 23.7 ml for 80 in2 (Army SS0513, web p. SS05130025).
    lead.get("/baths/1").is(200).says("Near its limit").says("213.3");
    lead.post("/baths/1/replenishments", &[]).is(303);
    lead.get("/baths/1").is(200).says("Good").says("10</strong> of 10 rolls");
    // The bath took a litre of the two; 213.3 ml of replenisher came off the shelf as well.
    lead.get("/shelf/products/1").is(200).says("786.7\u{202f}ml").says("replenished");
    let again = lead.post("/baths/1/replenishments", &[]);
    lead.follow(again).is(200).says("No film went through");
    lead.post("/baths/1/scrap-tests", &[("result", "pale")]).is(303);
    lead.get("/baths/1").is(200).says("Failed its test");
    assert_eq!(letters(house, "failed its test"), 1);
});

on_both!(the_form_says_how_much_of_each_before_anything_is_mixed, |house| {
    let lead = stocked(house);
    let asked = lead.get("/baths/new?product=1&volume_ml=1000&water_parts=4&label=Ours").is(200);
    asked.says("200\u{202f}ml of Slack Tide fixer and 800\u{202f}ml of water").says("Ours");
    let much = lead.get("/baths/new?product=1&volume_ml=90000&water_parts=4").is(200);
    much.says("stand on the shelf");
    assert!(!lead.get("/baths/new?product=1").is(200).body.contains("of water make"));
    for nonsense in ["volume_ml=x", "volume_ml=1000&water_parts=-3", "volume_ml=1e99"] {
        lead.get(&format!("/baths/new?product=1&{nonsense}")).is(200);
    }
    lead.get("/baths").is(200).says("No bath is mixed");
});
