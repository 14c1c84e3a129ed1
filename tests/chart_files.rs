//! Recipes in and out as a table.

use wetside::demo;
use wetside::sessions::Role;

use crate::house::{Answer, Browser};
use crate::recipes::{RECIPE, put_chart};

/// Sends a file as the page's form does.
fn send(lead: &Browser, file: &[u8]) -> Answer {
    send_with(lead, file, "")
}

/// The same by another button, whose field stands before the file.
fn send_with(lead: &Browser, file: &[u8], field: &str) -> Answer {
    let mut body = field.as_bytes().to_vec();
    body.extend_from_slice(b"--edge\r\nContent-Disposition: form-data; name=\"once_key\"\r\n\r\n");
    body.extend_from_slice(wetside::secrets::token().as_bytes());
    body.extend_from_slice(
        b"\r\n--edge\r\nContent-Disposition: form-data; name=\"file\"; filename=\"chart.csv\"\r\n\
          Content-Type: text/csv\r\n\r\n",
    );
    body.extend_from_slice(file);
    body.extend_from_slice(b"\r\n--edge--\r\n");
    lead.post_raw("/chart/bring-in", "multipart/form-data; boundary=edge", "same-origin", &body)
}

/// Takes the file in that was read through.
fn take(lead: &Browser, looked: &Answer) -> Answer {
    let at = looked.body.find("/chart/bring-in/").expect("a button to take it in");
    let door: String = looked.body[at..].chars().take_while(|c| *c != '"').collect();
    lead.post(&door, &[])
}

const HEAD: &str =
    "film,speed,ei,developer,temperature_c,time,pre_soak,agitation,table,contrast,source\r\n";

on_both!(the_chart_goes_out_and_comes_back_byte_for_byte, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Runa", Role::Lead);
    let out = lead.get("/chart/recipes.csv").is(200);
    assert!(out.body.starts_with(HEAD), "{}", &out.body[..100]);
    assert!(out.body.matches("\r\n").count() > 60);
    // The same again changes nothing.
    let looked = send(&lead, out.body.as_bytes()).is(200).says("0 new, 0 with another version");
    take(&lead, &looked).is(303);
    assert_eq!(lead.get("/chart/recipes.csv").body, out.body);
    // Into a chart that lost them all, with a mark, semicolons and decimal commas.
    for id in 1..200 {
        lead.post(&format!("/chart/{id}/withdraw"), &[]);
    }
    assert_eq!(lead.get("/chart/recipes.csv").body, HEAD);
    let mut table = csv::Reader::from_reader(out.body.as_bytes());
    let mut european = csv::WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
    european.write_record(table.headers().unwrap()).unwrap();
    for row in table.records() {
        let row = row.unwrap();
        european.write_record(row.iter().map(|c| c.replace("20.0", "20,0"))).unwrap();
    }
    let european = [b"\xef\xbb\xbf".to_vec(), european.into_inner().unwrap()].concat();
    let looked = send(&lead, &european).is(200);
    assert_eq!(lead.get("/chart/recipes.csv").body, HEAD, "looking changes nothing");
    take(&lead, &looked).is(303);
    assert_eq!(lead.get("/chart/recipes.csv").body, out.body);
});

on_both!(a_faulty_file_is_refused_whole_with_every_fault_named, |house| {
    let lead = put_chart(house);
    lead.post("/chart/new", &RECIPE).is(303);
    let before = lead.get("/chart/recipes.csv").body;
    let rows = [
        "Harbour Pan 100,100,200,\"Saltmarsh concentrate, 1+31\",20.0,9:00,1:00,continuous,,,A test",
        "Harbour Pan 100,125,200,\"Saltmarsh concentrate, 1+31\",20.0,9:00,1:00,stand,,,A test",
        "Unknown,,100,Nobody's,warm,soon,1:00,continuous,18=x,,",
        "Harbour Pan 100,100,200,\"Saltmarsh concentrate, 1+31\",20.0,8:00,1:00,continuous,,,Again",
    ];
    let file = format!("{HEAD}{}\r\n", rows.join("\r\n"));
    let page = send(&lead, file.as_bytes()).is(422).says("7 faults");
    for (row, column) in [
        (3, "speed"),
        (4, "film"),
        (4, "developer"),
        (4, "temperature_c"),
        (4, "time"),
        (4, "source"),
    ] {
        let cell =
            format!("data-label=\"Row\">{row}</th><td data-label=\"Column\"><bdi>{column}</bdi>");
        assert!(page.body.contains(&cell), "{row} {column}\n{}", page.body);
    }
    page.says("Row 2 is for just the same");
    assert_eq!(lead.get("/chart/recipes.csv").body, before);
    send(&lead, b"film,film,colour\r\n")
        .is(422)
        .says("stands there twice")
        .says("not known")
        .says("This column is missing");
    send(&lead, b"").is(422).says("The file is empty");
    send(&lead, b"film\r\n\xff\xfe").is(422).says("Row 2 is not readable text");
    let member = house.person("Ana", Role::Member);
    send(&member, file.as_bytes()).is(403);
    lead.post_raw("/chart/bring-in", "multipart/form-data", "same-origin", b"x").is(400);
});

on_both!(of_more_faults_than_a_page_holds_every_one_is_in_a_table, |house| {
    let lead = put_chart(house);
    let row = "Harbour Pan 100,100,200,\"Saltmarsh concentrate, 1+31\",warm,soon,1:00,continuous,,,A test\r\n";
    let file = format!("{HEAD}{}", row.repeat(400));
    send(&lead, file.as_bytes()).is(422).says("Every fault as a table");
    let button = "--edge\r\nContent-Disposition: form-data; name=\"faults\"\r\n\r\ntable\r\n";
    let table = send_with(&lead, file.as_bytes(), button).is(200);
    assert!(table.headers["content-type"].starts_with("text/csv"));
    for row in 2..402 {
        for column in ["temperature_c", "time"] {
            assert!(table.body.contains(&format!("\r\n{row},{column},")), "{row} {column}");
        }
    }
    assert_eq!(lead.get("/chart/recipes.csv").body, HEAD);
});

on_both!(a_file_gives_recipes_new_versions_and_enters_films, |house| {
    let lead = put_chart(house);
    lead.post("/chart/new", &RECIPE).is(303);
    let file = format!(
        "{HEAD}Harbour Pan 100,,100,\"Saltmarsh concentrate, 1+31\",20,8:45,1:00,30s+5s/60s,,,\
         '=Later test\r\nGannet 400,400,800,\"Saltmarsh concentrate, 1+31\",20,11:00,,continuous,\
         18=13:00 24=8:00,,Their sheet\r\n"
    );
    let looked = send(&lead, file.as_bytes())
        .is(200)
        .says("1 new, 1 with another version")
        .says("1 new film");
    let other = house.person("Vera", Role::Lead);
    assert_eq!(take(&other, &looked).status, 404, "what one lead read through is theirs");
    take(&lead, &looked).is(303);
    take(&lead, &looked).is(303);
    lead.get("/chart/2").is(200).says("8:45").says("=Later test");
    lead.get("/chart/1").is(200).says("Replaced");
    lead.get("/chart?search=gannet").is(200).says("11:00");
    assert!(lead.get("/chart/recipes.csv").body.contains("'=Later test"));
});

on_both!(two_thousand_rows_are_taken_in_at_once, |house| {
    let lead = put_chart(house);
    let mut file = HEAD.to_owned();
    for n in 0..2000 {
        file.push_str(&format!(
            "Film {},{},{},\"Saltmarsh concentrate, 1+31\",20.0,8:{:02},1:00,continuous,,,Row {n}\r\n",
            n / 20, 100, 25 * (1 + n % 20), n % 60,
        ));
    }
    let began = std::time::Instant::now();
    let looked = send(&lead, file.as_bytes()).is(200).says("2000 new");
    take(&lead, &looked).is(303);
    println!("2,000 rows read through and taken in: {:?}", began.elapsed());
    assert_eq!(lead.get("/chart/recipes.csv").body.matches("\r\n").count(), 2001);
});

on_both!(cells_of_any_kind_come_back_byte_for_byte, |house| {
    let lead = put_chart(house);
    // Three hundred sources and contrasts of odd signs, the same every time.
    let signs: Vec<char> = "=+-@'\"\",;|%  aZ0\u{e9}\u{1f39e}\u{2212}".chars().collect();
    let mut dice = 7_u64;
    let mut text = |most: usize| -> String {
        let mut next = || {
            dice = dice
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            usize::try_from(dice >> 33).unwrap()
        };
        (0..next() % most).map(|_| signs[next() % signs.len()]).collect()
    };
    let mut file = csv::WriterBuilder::new().delimiter(b';').from_writer(Vec::new());
    file.write_record(HEAD.trim_end().split(',')).unwrap();
    for ei in 1..=300 {
        let (ei, source, contrast) = (ei.to_string(), format!("{}.", text(40)), text(20));
        let row = [
            "Harbour Pan 100",
            "100",
            &ei,
            "Saltmarsh concentrate, 1+31",
            "20,5",
            "8:15",
            "1:00",
            "30s+5s/60s",
            "",
            &contrast,
            &source,
        ];
        file.write_record(row).unwrap();
    }
    let looked = send(&lead, &file.into_inner().unwrap()).is(200).says("300 new");
    take(&lead, &looked).is(303);
    let out = lead.get("/chart/recipes.csv").is(200).body;
    // Nothing a spreadsheet would take for a formula begins a cell.
    for row in csv::Reader::from_reader(out.as_bytes()).records() {
        let row = row.unwrap();
        assert!(row.iter().all(|c| !c.starts_with(['=', '+', '-', '@'])), "{row:?}");
    }
    send(&lead, out.as_bytes()).is(200).says("0 new, 0 with another version");
    for id in 1..=300 {
        lead.post(&format!("/chart/{id}/withdraw"), &[]).is(303);
    }
    let looked = send(&lead, out.as_bytes()).is(200).says("300 new");
    take(&lead, &looked).is(303);
    assert_eq!(lead.get("/chart/recipes.csv").body, out);
});
