//! Reads the room out of a day's file: loading, people, sinks, hanging, reels, formats, tanks.

use std::collections::BTreeMap;

use super::{
    clock::{LocalDay, Seconds},
    day::{Hanging, Person, Reel, Sink, Taken, Tank},
    decimal::Decimal,
    read_day::{LONGEST_S, busy, hours, named, taken},
    reading::Value,
};

/// A name, its place in its list, and its path.
pub(super) type Names = BTreeMap<String, (usize, String)>;

const MOST: i64 = 1_000_000;

/// Loading as it stands in the file, before reel kinds have taken their times from it.
pub(super) struct Loading<'a> {
    pub(super) places: i64,
    pub(super) per_tank_s: Seconds,
    times: Option<Value<'a>>,
    per_roll_s: BTreeMap<String, Seconds>,
    pub(super) busy: Vec<Taken>,
}

pub(super) fn read_loading<'a>(value: &Value<'a>, clock: Option<&LocalDay>) -> Loading<'a> {
    let mut object = value.object("loading");
    let places = object.whole("places", 0..=1000);
    let per_tank_s = object.whole("per_tank_s", 0..=LONGEST_S);
    let times = object.required("per_roll_s");
    let entries = times.iter().flat_map(|value| value.object("per_roll_s").all());
    let per_roll_s = entries
        .map(|(kind, value)| (kind, value.whole(0..=LONGEST_S).unwrap_or_default()))
        .collect();
    let busy = object.optional("busy").map(|value| taken(&value.list(), clock)).unwrap_or_default();
    object.finish();
    Loading { places, per_tank_s, times, per_roll_s, busy }
}

pub(super) fn read_people(values: &[Value<'_>], clock: Option<&LocalDay>) -> Vec<Person> {
    let mut names = Names::new();
    let read = |value: &Value<'_>| {
        let mut object = value.object("a person");
        let person = Person {
            id: named(&mut object, "id", &mut names),
            hours: hours(&object.list("hours"), clock),
            tanks_at_once: object.whole("tanks_at_once", 1..=1000),
        };
        object.finish();
        person
    };
    values.iter().map(read).collect()
}

pub(super) fn read_sinks(values: &[Value<'_>], clock: Option<&LocalDay>) -> Vec<Sink> {
    let mut names = Names::new();
    let read = |value: &Value<'_>| {
        let mut object = value.object("a sink");
        let sink = Sink {
            id: named(&mut object, "id", &mut names),
            places: object.whole("places", 1..=1000),
            busy: object
                .optional("busy")
                .map(|value| busy(&value.list(), clock))
                .unwrap_or_default(),
        };
        object.finish();
        sink
    };
    values.iter().map(read).collect()
}

pub(super) fn read_hanging(value: &Value<'_>, clock: Option<&LocalDay>) -> Hanging {
    let mut object = value.object("hanging");
    let hanging = Hanging {
        places: object.whole("places", 0..=MOST),
        drying_s: object.whole("drying_s", 0..=LONGEST_S),
        busy: object.optional("busy").map(|value| taken(&value.list(), clock)).unwrap_or_default(),
    };
    object.finish();
    hanging
}

pub(super) fn read_reels(
    values: &[Value<'_>],
    clock: Option<&LocalDay>,
    mut loading: Option<&mut Loading<'_>>,
) -> (Vec<Reel>, Names) {
    let mut names = Names::new();
    let mut reels = Vec::new();
    for value in values {
        let mut object = value.object("a reel kind");
        let kind = named(&mut object, "kind", &mut names);
        reels.push(Reel {
            height_mm: object
                .decimal("height_mm", Decimal::from_millionths(1)..=Decimal::whole(10_000)),
            cover_ml: object.decimal("cover_ml", Decimal::whole(0)..=Decimal::whole(MOST)),
            owned: object.whole("owned", 0..=MOST),
            drying_s: object.whole("drying_s", 0..=LONGEST_S),
            busy: object
                .optional("busy")
                .map(|value| taken(&value.list(), clock))
                .unwrap_or_default(),
            loading_s: loading.as_mut().map(|times| times.take(&kind)).unwrap_or_default(),
            kind,
        });
        object.finish();
    }
    // A time for a kind of reel that is not owned today does no harm.
    (reels, names)
}

impl Loading<'_> {
    fn take(&mut self, kind: &str) -> Seconds {
        if let Some(seconds) = self.per_roll_s.remove(kind) {
            return seconds;
        }
        if let (Some(times), false) = (&self.times, kind.is_empty()) {
            times.fault(format!("has no time for reel kind {kind:?}; write its seconds"));
        }
        0
    }
}

/// A format with the place of its reel kind.
pub(super) struct Format {
    pub(super) reel: usize,
    pub(super) roll_equivalents: Decimal,
}

pub(super) fn read_formats(values: &[Value<'_>], kinds: &Names) -> BTreeMap<String, Format> {
    let mut names = Names::new();
    let mut formats = BTreeMap::new();
    for value in values {
        let mut object = value.object("a format");
        let id = named(&mut object, "id", &mut names);
        let reel =
            object.required("reel").and_then(|value| find(&value, kinds, "reel kind", "reels"));
        let worth = object.decimal("roll_equivalents", Decimal::whole(0)..=Decimal::whole(100));
        object.finish();
        formats.insert(id, Format { reel: reel.unwrap_or_default(), roll_equivalents: worth });
    }
    formats
}

/// The place of a thing that a value names.
pub(super) fn find(value: &Value<'_>, names: &Names, what: &str, list: &str) -> Option<usize> {
    let name = value.text()?;
    let found = names.get(&name).map(|(place, _)| *place);
    if found.is_none() {
        value.fault(format!("{name:?} is no {what}; name one of $.{list}"));
    }
    found
}

/// The rolls that a tank names, to be resolved once the rolls are read.
pub(super) type Preloads<'a> = Vec<(usize, Vec<Value<'a>>)>;

pub(super) fn read_tanks<'a>(
    values: &[Value<'a>],
    clock: Option<&LocalDay>,
) -> (Vec<Tank>, Preloads<'a>) {
    let (mut names, mut tanks, mut preloads) = (Names::new(), Vec::new(), Preloads::new());
    let ml = || Decimal::whole(0)..=Decimal::whole(MOST);
    for (place, value) in values.iter().enumerate() {
        let mut object = value.object("a tank");
        tanks.push(Tank {
            id: named(&mut object, "id", &mut names),
            stack_mm: object.decimal("stack_mm", Decimal::whole(0)..=Decimal::whole(100_000)),
            max_reels: object.whole("max_reels", 1..=1000),
            base_ml: object.decimal("base_ml", ml()),
            min_ml: object.decimal("min_ml", ml()),
            max_ml: object.decimal("max_ml", ml()),
            busy: object
                .optional("busy")
                .map(|value| busy(&value.list(), clock))
                .unwrap_or_default(),
            preloaded: Vec::new(),
        });
        if let Some(value) = object.optional("preloaded") {
            let rolls = value.list();
            if rolls.is_empty() {
                value.fault("names no roll; name those in the tank, or write null");
            }
            preloads.push((place, rolls));
        }
        object.finish();
    }
    (tanks, preloads)
}

/// Puts the places of rolls where tanks name them; a roll is in one tank at most.
pub(super) fn resolve_preloads(tanks: &mut [Tank], preloads: Preloads<'_>, rolls: &Names) {
    let mut seen: BTreeMap<usize, String> = BTreeMap::new();
    for (tank, values) in preloads {
        for value in values {
            let Some(roll) = find(&value, rolls, "roll", "rolls") else { continue };
            if let Some(first) = seen.get(&roll) {
                value.fault(format!("this roll is already loaded at {first}; name it once"));
                continue;
            }
            seen.insert(roll, value.path().to_owned());
            if let Some(tank) = tanks.get_mut(tank) {
                tank.preloaded.push(roll);
            }
        }
    }
}
