//! Retiring: into a container of its own kind, poured nowhere until a rule stands.

use wetside::sessions::Role;

use super::{container, films, mixing, product, stocked};

on_both!(a_bath_is_retired_only_into_a_container_of_its_own_kind, |house| {
    let lead = stocked(house);
    let stop = [("name", "Stillwater stop"), ("purpose", "stop"), ("rolls_per_litre", "12")];
    lead.post("/shelf/products/new", &product(&stop)).is(303);
    let bottles =
        [("lot", "S-1"), ("expires", ""), ("count", "1"), ("size", "500"), ("price", "6")];
    lead.post("/shelf/products/2/bottles", &bottles).is(303);
    let stop = [("product", "2"), ("rolls_per_litre", "12"), ("margin", "100"), ("minutes", "1")];
    lead.post("/baths", &mixing(&stop)).is(303);
    lead.post("/baths", &mixing(&[])).is(303);
    lead.post("/baths/2/uses", &films("120", "10")).is(303);
    container(&lead, "Fixer drum", "fixer");
    container(&lead, "Stop can", "stop");
    let into = |container, volume| [("container", container), ("volume_ml", volume), ("note", "")];
    lead.get("/baths/1/retire").is(200).says("Collect, do not pour.");
    lead.post("/baths/1/retire", &into("1", "1000")).is(422).says("would release sulfur dioxide");
    lead.post("/baths/2/retire", &into("2", "850")).is(422).says("would release sulfur dioxide");
    lead.post("/baths/1/retire", &into("2", "1000")).is(303);
    lead.post("/baths/2/retire", &into("1", "850")).is(303);
    let again = lead.post("/baths/2/retire", &into("1", "850"));
    lead.follow(again).is(200).says("retired already");
    // Ten rolls' worth: 0.09 to 0.41 g each (3-10 g/m2, German radiographic handbook id 340;
    // 60-80 % of it from memory).
    let log = lead.get("/waste/log.csv").is(200).body;
    assert!(log.contains(",Used fixer,\"Fixer 2, working bottle\",2,850,0.929,4.129,"), "{log}");
    lead.get("/baths/retired").is(200).says("Fixer 2, working bottle");
    lead.get("/baths/2").is(200).says("Retired").says("850 ml collected");
    // Developer straight into the fixer drum is refused as well, from the container's own page.
    let pour = [("waste", "developer"), ("volume_ml", "500"), ("what", "Tank A")];
    lead.post("/waste/containers/1/pours", &pour).is(422).says("would release ammonia");
    let rinse = [("waste", "rinse"), ("volume_ml", "500"), ("what", "Tank A")];
    lead.post("/waste/containers/1/pours", &rinse).is(422).says("takes used fixer only");
});

on_both!(disposal_stays_closed_until_a_lead_types_the_rule, |house| {
    let lead = stocked(house);
    container(&lead, "Fixer drum", "fixer");
    let member = house.person("Ilse", Role::Member);
    member.get("/waste").is(200).says("Collect, do not pour.");
    let rule = |rule, authority, dated| {
        [("waste", "fixer"), ("rule", rule), ("authority", authority), ("dated", dated)]
    };
    lead.post("/waste/rules", &rule("Bring it to the depot.", "", "2027-01-12")).is(422);
    lead.post("/waste/rules", &rule("Bring it.", "Harbour board", "soon")).is(422).says("a date");
    lead.post("/waste/rules", &rule("Bring it to the depot.", "Harbour board", "2027-01-12"))
        .is(303);
    member
        .get("/waste/containers/1")
        .is(200)
        .says("Harbour board, 2027-01-12: Bring it to the depot.");
    member.get("/waste").is(200).says("Collect, do not pour.");
    // A container fills up to its head space, and a pick-up empties it.
    let pour = |volume| [("waste", "fixer"), ("volume_ml", volume), ("what", "=Old bottle")];
    member.post("/waste/containers/1/pours", &pour("20001")).is(422).says("room for 20000 ml");
    member.post("/waste/containers/1/pours", &pour("19000")).is(303);
    member.get("/waste").is(200).says("Nearly full");
    lead.post("/waste/containers/1/pick-ups", &[("who", "The depot"), ("note", "Slip 4")]).is(303);
    lead.post("/waste/containers/1/pick-ups", &[("who", "The depot"), ("note", "")]).is(422);
    let log = lead.get("/waste/log.csv").is(200).body;
    assert!(log.contains("Picked up by The depot,,-19000,"), "{log}");
    assert!(log.contains("'=Old bottle"), "a cell is never a formula: {log}");
});
