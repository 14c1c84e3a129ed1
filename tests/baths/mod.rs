//! Stories of the shared baths: mixed from the shelf, used, tested, corrected, rotated, retired.

mod following;
mod forecast;
mod mixing;
mod recall;
mod retiring;
mod telling;
mod using;

use wetside::sessions::Role;

use crate::house::{Browser, House};

fn with<'a>(
    mut fields: Vec<(&'a str, &'a str)>,
    over: &[(&'a str, &'a str)],
) -> Vec<(&'a str, &'a str)> {
    for (name, value) in over {
        match fields.iter_mut().find(|f| f.0 == *name) {
            Some(field) => field.1 = value,
            None => fields.push((name, value)),
        }
    }
    fields
}

/// A product as the form of the shelf sends it.
fn product<'a>(over: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let usual = vec![
        ("name", "Slack Tide fixer"),
        ("purpose", "fixer"),
        ("form", "concentrate"),
        ("developer", ""),
        ("water_parts", "4"),
        ("g_per_litre", ""),
        ("rolls_per_litre", "20"),
        ("working_keeps_days", "60"),
        ("opened_keeps_days", ""),
        ("size", "1000"),
        ("reorder_at", "0"),
        ("price", "20"),
        ("working_words", "Sets free irritating gas with acids."),
        ("note", ""),
    ];
    with(usual, over)
}

/// A bath as the form for mixing sends it.
fn mixing<'a>(over: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let usual = vec![
        ("product", "1"),
        ("volume_ml", "1000"),
        ("water_parts", "4"),
        ("label", ""),
        ("place", "working"),
        ("material", "film"),
        ("way", "shared"),
        ("rolls_per_litre", "20"),
        ("margin", "75"),
        ("minutes", "5"),
        ("keeps_days", "60"),
        ("least_ml", "300"),
    ];
    with(usual, over)
}

/// A lead with two litres of fixer concentrate on the shelf.
fn stocked(house: &House) -> Browser {
    let lead = house.person("Maren", Role::Lead);
    lead.post("/shelf/products/new", &product(&[])).is(303);
    let bottles =
        [("lot", "L-7"), ("expires", ""), ("count", "2"), ("size", "1000"), ("price", "20")];
    lead.post("/shelf/products/1/bottles", &bottles).is(303);
    lead
}

fn container(lead: &Browser, name: &str, takes: &str) {
    let fields = [
        ("name", name),
        ("waste", takes),
        ("holds_ml", "20000"),
        ("contact", "Maren"),
        ("note", ""),
    ];
    lead.post("/waste/containers", &fields).is(303);
}

fn films(format: &'static str, count: &'static str) -> [(&'static str, &'static str); 2] {
    [("format", format), ("count", count)]
}

fn letters(house: &House, subject: &str) -> usize {
    house.letters().iter().filter(|l| l.subject.contains(subject)).count()
}
