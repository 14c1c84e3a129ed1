//! Reads developers, fixer and rolls out of a day's file.

use std::collections::BTreeMap;

use super::{
    clock::LocalDay,
    day::{Bath, Developer, Fixer, Roll, Tolerance},
    decimal::Decimal,
    read_day::{LONGEST_S, named, time, tolerance},
    read_room::{Format, Names, find},
    reading::{Object, Value},
};

const LITRES: i64 = 1_000_000;

pub(super) fn read_developers(values: &[Value<'_>]) -> (Vec<Developer>, Names) {
    let mut names = Names::new();
    let read = |value: &Value<'_>| {
        let mut object = value.object("a developer");
        let developer = Developer {
            id: named(&mut object, "id", &mut names),
            water_parts: object.decimal("water_parts", Decimal::whole(0)..=Decimal::whole(1000)),
            min_per_roll_ml: object
                .decimal("min_per_roll_ml", Decimal::whole(0)..=Decimal::whole(10_000)),
            cost_per_ml: object.optional("cost_per_ml").and_then(|value| read_price(&value)),
            bath: object.optional("bath").map(|value| {
                let (volume_ml, remaining) = read_liquid(&value, "a bath");
                Bath { volume_ml, remaining }
            }),
        };
        object.finish();
        developer
    };
    let developers = values.iter().map(read).collect();
    (developers, names)
}

/// Prices are often divided out of a bottle's, so they may carry eighteen decimals.
fn read_price(value: &Value<'_>) -> Option<i128> {
    let price = value.scaled(18)?;
    if !(0..=10_i128.pow(22)).contains(&price) {
        value.fault(format!("{} is not between 0 and 10000", value.shown()));
        return None;
    }
    Some(price)
}

fn read_liquid(value: &Value<'_>, what: &'static str) -> (Decimal, Decimal) {
    let mut object = value.object(what);
    let volume = object.decimal("volume_ml", Decimal::whole(0)..=Decimal::whole(LITRES));
    let remaining = object.decimal("remaining", Decimal::whole(0)..=Decimal::whole(LITRES));
    object.finish();
    (volume, remaining)
}

pub(super) fn read_fixer(value: &Value<'_>) -> Fixer {
    let (volume_ml, remaining) = read_liquid(value, "the fixer");
    Fixer { volume_ml, remaining }
}

/// What a roll may refer to.
pub(super) struct Known<'k> {
    pub(super) formats: &'k BTreeMap<String, Format>,
    pub(super) developers: &'k Names,
    pub(super) clock: Option<&'k LocalDay>,
}

pub(super) fn read_rolls(
    values: &[Value<'_>],
    known: &Known<'_>,
    usual: Option<Tolerance>,
) -> (Vec<Roll>, Names) {
    let mut names = Names::new();
    let exact = Tolerance { under: Decimal::default(), over: Decimal::default() };
    let usual = usual.unwrap_or(exact);
    let rolls = values
        .iter()
        .map(|value| {
            let mut object = value.object("a roll");
            let id = named(&mut object, "id", &mut names);
            let roll = read_roll(id, &mut object, known, usual);
            object.finish();
            roll
        })
        .collect();
    (rolls, names)
}

fn read_roll(id: String, object: &mut Object<'_>, known: &Known<'_>, usual: Tolerance) -> Roll {
    let owner = object.text("owner");
    let (format, reel, of_format) = read_format(object, known);
    let worth = Decimal::whole(0)..=Decimal::whole(100);
    let whole = |object: &mut Object<'_>, key, most, absent| {
        object.optional(key).and_then(|value| value.whole(1..=most)).unwrap_or(absent)
    };
    Roll {
        id,
        owner,
        format,
        reel,
        reels: whole(object, "reels", 1000, 1),
        roll_equivalents: object
            .optional("roll_equivalents")
            .and_then(|value| value.decimal(worth.clone()))
            .unwrap_or(of_format),
        developer: object
            .required("developer")
            .and_then(|value| find(&value, known.developers, "developer", "developers"))
            .unwrap_or_default(),
        temperature_c: object.decimal("temperature_c", Decimal::whole(-50)..=Decimal::whole(150)),
        agitation: object.text("agitation"),
        pre_soak_s: object.whole("pre_soak_s", 0..=LONGEST_S),
        time_s: object.whole("time_s", 1..=LONGEST_S),
        tolerance: object.optional("tolerance_percent").map_or(usual, |value| tolerance(&value)),
        alone: object.optional("alone").is_some_and(|value| value.flag()),
        fixer_factor: object
            .optional("fixer_factor")
            .and_then(|value| value.decimal(worth))
            .unwrap_or(Decimal::whole(1)),
        weight: whole(object, "weight", 1_000_000, 1),
        ready: object.optional("ready").and_then(|value| time(&value, known.clock, false)),
        due: object.optional("due").and_then(|value| time(&value, known.clock, true)),
    }
}

fn read_format(object: &mut Object<'_>, known: &Known<'_>) -> (String, usize, Decimal) {
    let Some(value) = object.required("format") else { return <_>::default() };
    let Some(name) = value.text() else { return <_>::default() };
    match known.formats.get(&name) {
        Some(format) => (name, format.reel, format.roll_equivalents),
        None => {
            value.fault(format!("{name:?} is no format; name one of $.formats"));
            (name, 0, Decimal::default())
        }
    }
}
