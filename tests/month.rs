//! The month in pictures: what it shows, to whom, and that pictures and tables agree.

use wetside::demo;
use wetside::sessions::Role;

use crate::house::Browser;

fn page(browser: &Browser, month: &str) -> String {
    browser.get(&format!("/month?month={month}")).is(200).body
}

/// The text of each cell of a table's rows, the head left out.
fn table(page: &str, id: &str) -> Vec<Vec<String>> {
    let Some(from) = page.find(&format!("<table id=\"{id}\"")) else { return Vec::new() };
    let table = page[from..].split("</table>").next().unwrap();
    let text = |cell: &str| {
        let inner = cell.split_once('>').unwrap().1.split("</t").next().unwrap();
        let mut out = String::new();
        let mut inside = false;
        for c in inner.chars() {
            match c {
                '<' => inside = true,
                '>' => inside = false,
                c if !inside => out.push(c),
                _ => {}
            }
        }
        out
    };
    let rows = table.split("<tr>").skip(2);
    rows.map(|row| row.split("<t").skip(1).filter(|c| c.starts_with('h') || c.starts_with('d')))
        .map(|cells| cells.map(text).collect())
        .collect()
}

fn minutes(text: &str) -> i64 {
    match text.split_once(':') {
        Some((h, m)) => h.parse::<i64>().unwrap() * 60 + m.parse::<i64>().unwrap(),
        None => 0,
    }
}

fn ml(text: &str) -> f64 {
    text.split('\u{202f}').next().unwrap().parse().unwrap()
}

on_both!(the_month_adds_up_and_its_pictures_say_what_its_tables_say, |house| {
    demo::fill(&house.app).unwrap();
    let member = house.person("Hedda", Role::Member);
    let booking = [("sink", "1"), ("date", "2027-03-16"), ("from", "13:00"), ("to", "15:00")];
    let before = page(&member, "2027-03");
    member.post("/bookings", &booking).is(303);
    let after = page(&member, "2027-03");
    let (was, is) = (table(&before, "room"), table(&after, "room"));
    assert_eq!(is.len(), 32, "31 days and their sum");
    // The booking shows on its day and in the sums, and nowhere else.
    assert_eq!(minutes(&is[15][1]), minutes(&was[15][1]) + 120, "{:?}", is[15]);
    assert_eq!(minutes(&is[31][1]), minutes(&was[31][1]) + 120);
    let same = |n: &usize| was[*n] == is[*n];
    assert_eq!((0..31).filter(same).count(), 30);
    // Every row and every column adds up, and no place is taken longer than the room is open.
    let columns = is[0].len();
    for row in &is {
        let places = &row[1..columns - 2];
        let (sum, open) = (minutes(&row[columns - 2]), minutes(&row[columns - 1]));
        assert_eq!(places.iter().map(|p| minutes(p)).sum::<i64>(), sum, "{row:?}");
        assert!(places.iter().all(|p| minutes(p) <= open), "{row:?}");
    }
    for column in 1..columns {
        let sum: i64 = is[..31].iter().map(|row| minutes(&row[column])).sum();
        assert_eq!(sum, minutes(&is[31][column]), "column {column}");
    }
    // What the picture says of a day is what the table says.
    assert!(after.contains("<title>Tuesday 16 March 2027: "), "a title for the day");
    let said = after.split("<title>Tuesday 16 March 2027: ").nth(1).unwrap();
    assert_eq!(said.split(' ').next().unwrap(), is[15][columns - 2]);
    // Rolls by week.
    let rolls = table(&after, "rolls");
    let (last, weeks) = rolls.split_last().unwrap();
    assert_eq!(weeks.len(), 5);
    for column in [1, 2] {
        let number = |row: &Vec<String>| row[column].parse::<i64>().unwrap();
        assert_eq!(weeks.iter().map(number).sum::<i64>(), number(last));
        assert!(number(last) > 0);
    }
    assert!(after.contains(&format!("{} in</text>", weeks[2][1])), "{weeks:?}");
    // Chemistry.
    for row in table(&after, "used") {
        assert!((ml(&row[2]) + ml(&row[3]) - ml(&row[4])).abs() < 1e-6, "{row:?}");
    }
    let took = table(&after, "took");
    assert!(took.iter().any(|row| row[0] == "Fixer" && ml(&row[1]) > 0.0), "{took:?}");
    // Nobody is named, whoever looks.
    for name in ["Ostervald", "Brackwater", "Fennimore", "Pell", "Lindqvist"] {
        assert!(!page(&member, "2027-03").contains(name), "{name}");
    }
});

on_both!(the_month_is_for_members_and_says_when_it_was_empty, |house| {
    house.browser().get("/month").is(303);
    house.person("Odo", Role::Newcomer).get("/month").is(403);
    let (member, lead) = (house.person("Ilse", Role::Member), house.person("Maren", Role::Lead));
    for person in [&member, &lead] {
        let now = person.get("/month").is(200);
        let now = now.says("The studio in March 2027").says("Nothing was booked in this month");
        now.says("No roll was handed in").says("Nothing was drawn from the shelf");
        // What is no month is the present one.
        for odd in ["2027-13", "x", "", "1815-06", "9999-99"] {
            assert!(page(person, odd).contains("The studio in March 2027"), "{odd}");
        }
        let then = page(person, "2027-01");
        assert!(then.contains("January 2027") && then.contains("/month?month=2026-12"));
        assert!(page(person, "2027-04").contains("/month?month=2027-03"));
        assert!(!page(person, "2027-04").contains("2027-05"));
    }
    member.get("/").says("href=\"/month\"");
    assert!(!house.person("Ana", Role::Newcomer).get("/").is(200).body.contains("href=\"/month\""));
});

on_both!(a_month_whose_clocks_change_has_its_own_hours, |house| {
    demo::fill(&house.app).unwrap();
    let lead = house.person("Hedda", Role::Lead);
    // EU summer time 2027 begins on 28 March (Directive 2000/84/EC); the room is open day and night.
    let day = [
        ("from_date", "2027-03-28"),
        ("to_date", "2027-03-28"),
        ("hours", "00:00-24:00"),
        ("reason", "A night in the dark"),
        ("seen", ""),
    ];
    lead.post("/room/days", &day).is(303);
    let rows = table(&page(&lead, "2027-03"), "room");
    let row = &rows[27];
    assert_eq!((row[0].as_str(), row.last().unwrap().as_str()), ("Sun 28", "23:00"), "{row:?}");
});
