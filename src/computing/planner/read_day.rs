//! Reads a day's file: types, ranges and references, every fault named.

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::{
    clock::{LocalDay, Seconds},
    day::{Day, Hands, Measure, Rules, Span, Steps, Taken, Tolerance, merged},
    decimal::Decimal,
    fault::Fault,
    read_rolls,
    read_room::{self, Names},
    reading::{Faults, Object, Value, root},
};

/// No step, gap or developing time is longer than a day.
pub(super) const LONGEST_S: Seconds = 86_400;

impl Day {
    /// Reads a day from the text of its file, or names everything that is wrong with it.
    ///
    /// # Errors
    /// Every fault of type, range and reference in file order; a syntax error alone.
    pub fn from_json(text: &str) -> Result<Self, Vec<Fault>> {
        let faults = Faults::default();
        let root = root(text, &faults).map_err(|fault| vec![fault])?;
        let day = read(&root);
        match (day, faults.is_empty()) {
            (Some(day), true) => Ok(day),
            _ => Err(faults.finish()),
        }
    }
}

fn read(root: &Value<'_>) -> Option<Day> {
    let mut file = root.object("the day");
    file.whole("format", 1..=1);
    let clock = read_clock(&mut file);
    let open = hours(&file.list("open"), clock.as_ref());
    let rules = file.required("rules").map(|value| read_rules(&value));
    let steps = file.required("steps").map(|value| read_steps(&value));
    let hands = file.required("hands").map(|value| read_hands(&value));
    let mut loading =
        file.required("loading").map(|value| read_room::read_loading(&value, clock.as_ref()));
    let people = read_room::read_people(&file.list("people"), clock.as_ref());
    let sinks = read_room::read_sinks(&file.list("sinks"), clock.as_ref());
    let hanging =
        file.optional("hanging").map(|value| read_room::read_hanging(&value, clock.as_ref()));
    let (reels, kinds) =
        read_room::read_reels(&file.list("reels"), clock.as_ref(), loading.as_mut());
    let formats = read_room::read_formats(&file.list("formats"), &kinds);
    let (mut tanks, preloads) = read_room::read_tanks(&file.list("tanks"), clock.as_ref());
    let (developers, named) = read_rolls::read_developers(&file.list("developers"));
    let fixer = file.optional("fixer").map(|value| read_rolls::read_fixer(&value));
    let known = read_rolls::Known { formats: &formats, developers: &named, clock: clock.as_ref() };
    let tolerance = rules.as_ref().map(|rules| rules.tolerance);
    let (rolls, names) = read_rolls::read_rolls(&file.list("rolls"), &known, tolerance);
    read_room::resolve_preloads(&mut tanks, preloads, &names);
    file.finish();
    let loading = loading?;
    Some(Day {
        clock: clock?,
        open,
        rules: rules?,
        steps: steps?,
        hands: hands?,
        loading_places: loading.places,
        loading_per_tank_s: loading.per_tank_s,
        loading_busy: loading.busy,
        people,
        sinks,
        hanging,
        reels,
        tanks,
        developers,
        fixer,
        rolls,
    })
}

fn read_clock(file: &mut Object<'_>) -> Option<LocalDay> {
    let date_value = file.required("date");
    let date = date_value.as_ref().and_then(|value| {
        let text = value.text()?;
        let date = NaiveDate::parse_from_str(&text, "%Y-%m-%d").ok();
        let date = date.filter(|date| date.to_string() == text);
        if date.is_none() {
            value.fault(format!("{} is not a date; write YYYY-MM-DD", value.shown()));
        }
        date
    });
    let zone = file.required("time_zone").and_then(|value| {
        let zone = value.text()?.parse::<Tz>().ok();
        if zone.is_none() {
            let shown = value.shown();
            value.fault(format!("{shown} is not a time zone; write one like \"Europe/Dublin\""));
        }
        zone
    });
    let (date, zone) = (date?, zone?);
    let clock = LocalDay::new(date, zone);
    if let (None, Some(value)) = (&clock, date_value) {
        value.fault(format!("{date} does not exist in {zone}; write another date"));
    }
    clock
}

/// Reads one time of day; without a known clock only its form is checked.
pub(super) fn time(value: &Value<'_>, clock: Option<&LocalDay>, may_end: bool) -> Option<Seconds> {
    let text = value.text()?;
    let plain = NaiveDate::from_ymd_opt(2000, 1, 1).and_then(|day| LocalDay::new(day, Tz::UTC));
    match clock.or(plain.as_ref())?.read(&text, may_end) {
        Ok(at) => Some(at),
        Err(message) => {
            value.fault(message);
            None
        }
    }
}

fn span(value: &Value<'_>, ends: &[Value<'_>], clock: Option<&LocalDay>) -> Option<Span> {
    let [from, to, ..] = ends else { return None };
    let (from, to) = (time(from, clock, false), time(to, clock, true));
    let (from, to) = (from?, to?);
    if from >= to {
        value.fault("ends before it begins; write the earlier time first");
        return None;
    }
    Some(Span { from, to })
}

/// Reads intervals of the day as they stand.
pub(super) fn busy(values: &[Value<'_>], clock: Option<&LocalDay>) -> Vec<Span> {
    let read = |value: &Value<'_>| {
        let ends = value.list();
        if ends.len() != 2 {
            value.fault("is not an interval; write [\"HH:MM\", \"HH:MM\"]");
            return None;
        }
        span(value, &ends, clock)
    };
    values.iter().filter_map(read).collect()
}

/// Reads opening intervals, made one where they touch or overlap.
pub(super) fn hours(values: &[Value<'_>], clock: Option<&LocalDay>) -> Vec<Span> {
    merged(busy(values, clock))
}

/// Reads intervals in which so many of a counted thing are taken.
pub(super) fn taken(values: &[Value<'_>], clock: Option<&LocalDay>) -> Vec<Taken> {
    let read = |value: &Value<'_>| {
        let parts = value.list();
        let [_, _, count] = parts.as_slice() else {
            value.fault("is not a taken interval; write [\"HH:MM\", \"HH:MM\", how many]");
            return None;
        };
        let count = count.whole(1..=1_000_000);
        let span = span(value, &parts, clock);
        Some(Taken { span: span?, count: count? })
    };
    values.iter().filter_map(read).collect()
}

/// Refuses an id that already stands in the same list.
pub(super) fn named(object: &mut Object<'_>, key: &str, names: &mut Names) -> String {
    let Some(value) = object.required(key) else { return String::new() };
    let Some(name) = value.text() else { return String::new() };
    if let Some((_, first)) = names.get(&name) {
        value.fault(format!("{name:?} already stands at {first}; give each its own"));
    } else {
        names.insert(name.clone(), (names.len(), value.path().to_owned()));
    }
    name
}

pub(super) fn tolerance(value: &Value<'_>) -> Tolerance {
    let mut object = value.object("a tolerance");
    let under = object.decimal("under", Decimal::whole(0)..=Decimal::whole(99));
    let over = object.decimal("over", Decimal::whole(0)..=Decimal::whole(1000));
    object.finish();
    Tolerance { under, over }
}

fn read_rules(value: &Value<'_>) -> Rules {
    let exact = Tolerance { under: Decimal::default(), over: Decimal::default() };
    let mut object = value.object("rules");
    let tolerance = object.required("tolerance_percent").map_or(exact, |value| tolerance(&value));
    let time_step_s = object.whole("time_step_s", 1..=3600);
    let grid = object.optional("grid_s").and_then(|value| value.whole(1..=3600));
    let max_rolls = object.optional("max_rolls_per_run").and_then(|value| value.whole(1..=10_000));
    let owners = object.optional("max_owners_per_run").and_then(|value| value.whole(1..=10_000));
    let tools = object.required("measuring");
    let mut measuring: Vec<Measure> =
        tools.iter().flat_map(Value::list).map(|value| read_measure(&value)).collect();
    if let (Some(tools), true) = (tools, measuring.is_empty()) {
        tools.fault("names no measuring tool; write at least one");
    }
    measuring.sort_by_key(|tool| (tool.up_to_ml, tool.step_ml));
    object.finish();
    Rules {
        tolerance,
        time_step_s,
        grid_s: grid.unwrap_or(60),
        max_rolls_per_run: max_rolls,
        max_owners_per_run: owners,
        measuring,
    }
}

fn read_measure(value: &Value<'_>) -> Measure {
    let amount = Decimal::from_millionths(1)..=Decimal::whole(1_000_000);
    let mut object = value.object("a measuring tool");
    let up_to_ml = object.decimal("up_to_ml", amount.clone());
    let step_ml = object.decimal("step_ml", amount);
    object.finish();
    Measure { up_to_ml, step_ml }
}

fn read_steps(value: &Value<'_>) -> Steps {
    let mut object = value.object("steps");
    let mut step = |key| object.whole(key, 0..=LONGEST_S);
    let steps = Steps {
        stop_s: step("stop_s"),
        fix_s: step("fix_s"),
        rinse_s: step("rinse_s"),
        wash_aid_s: step("wash_aid_s"),
        wash_s: step("wash_s"),
        wetting_s: step("wetting_s"),
        hang_s_per_roll: step("hang_s_per_roll"),
        sink_gap_s: step("sink_gap_s"),
        tank_gap_s: step("tank_gap_s"),
        ready_after_s: step("ready_after_s"),
    };
    object.finish();
    steps
}

fn read_hands(value: &Value<'_>) -> Hands {
    let mut object = value.object("hands");
    let mut window = |key| object.whole(key, 0..=3600);
    let hands = Hands {
        before_pour_s: window("before_pour_s"),
        after_pour_s: window("after_pour_s"),
        before_end_s: window("before_end_s"),
        after_fix_s: window("after_fix_s"),
    };
    object.finish();
    hands
}
