//! Days made by chance, small enough to be settled at once.

use proptest::prelude::*;
use serde_json::{Value, json};

/// The example of the file format, a valid day.
pub fn example() -> Value {
    serde_json::from_str(include_str!("example.json")).unwrap()
}

fn clock(minutes: i64) -> String {
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// A roll: developer, time in quarter minutes, medium format or not, due, weight.
type Wish = (bool, i64, bool, Option<i64>, i64);

fn roll((name, wish): (usize, Wish)) -> Value {
    let (second, time, medium, due, weight) = wish;
    json!({
        "id": format!("R{name}"), "owner": "ana", "format": if medium { "120" } else { "135-36" },
        "developer": if second { "estuary" } else { "saltmarsh" }, "temperature_c": 20.0,
        "agitation": "30s+5s/60s", "pre_soak_s": 60, "time_s": time * 15, "weight": weight,
        "due": due.map(clock),
    })
}

fn tank((name, size): (usize, usize)) -> Value {
    let sizes = [(110, 2, 250, 650), (160, 3, 300, 1000), (265, 5, 400, 1600)];
    let (stack_mm, max_reels, min_ml, max_ml) = sizes[size];
    json!({ "id": format!("T{name}"), "stack_mm": stack_mm, "max_reels": max_reels,
            "base_ml": 10, "min_ml": min_ml, "max_ml": max_ml })
}

/// Any small day.
pub fn any_day() -> impl Strategy<Value = Value> {
    let due = proptest::option::weighted(0.2, 780_i64..1000);
    let wish = (any::<bool>(), 24_i64..30, proptest::bool::weighted(0.3), due, 1_i64..3);
    let rolls = proptest::collection::vec(wish, 0..7);
    let tanks = proptest::collection::vec(0_usize..3, 1..3);
    (rolls, tanks, 650_i64..800, 1_i64..3, 1_i64..5).prop_map(|(rolls, tanks, close, places, reels)| {
        let mut day = example();
        day["open"] = json!([["10:00", clock(close)]]);
        day["people"][0]["hours"] = day["open"].clone();
        day["rules"]["grid_s"] = json!(300);
        day["sinks"] = json!([{ "id": "north", "places": places }]);
        day["reels"] = json!([
            { "kind": "135", "height_mm": 50, "cover_ml": 290, "owned": reels, "drying_s": 3600 },
            { "kind": "120", "height_mm": 70, "cover_ml": 490, "owned": 1, "drying_s": 3600 },
        ]);
        day["formats"].as_array_mut().unwrap().push(
            json!({ "id": "120", "reel": "120", "roll_equivalents": 1.0 }),
        );
        day["developers"].as_array_mut().unwrap().push(
            json!({ "id": "estuary", "water_parts": 14, "min_per_roll_ml": 10, "cost_per_ml": 0.02 }),
        );
        day["tanks"] = tanks.into_iter().enumerate().map(tank).collect();
        day["rolls"] = rolls.into_iter().enumerate().map(roll).collect();
        day
    })
}

/// Any JSON value that a careless program might write.
pub fn any_value() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        prop_oneof![Just(0), Just(-1), Just(1_000_000_000_000_i64)].prop_map(Value::from),
        "\\PC{0,12}".prop_map(Value::from),
        prop_oneof![Just("24:00"), Just("25:00"), Just("01:30"), Just("R1")].prop_map(Value::from),
        proptest::collection::vec(any::<i32>().prop_map(Value::from), 0..3).prop_map(Value::from),
        Just(json!({})),
    ]
}

/// Puts a value in the place that the number names, or takes that place away.
pub fn mutate(at: &mut Value, place: usize, value: Option<&Value>) {
    let size = match at {
        Value::Object(map) => map.len(),
        Value::Array(list) => list.len(),
        _ => 0,
    };
    if size == 0 {
        *at = value.cloned().unwrap_or(Value::Null);
        return;
    }
    let (index, place) = (place % size, place / size);
    let inside = match &*at {
        Value::Object(map) => map.values().nth(index),
        Value::Array(list) => list.get(index),
        _ => None,
    };
    let deeper = inside.is_some_and(|inside| inside.is_object() || inside.is_array());
    match at {
        Value::Object(map) => {
            let key = map.keys().nth(index).unwrap().clone();
            match value {
                _ if deeper && place % 3 > 0 => mutate(&mut map[&key], place, value),
                Some(value) => drop(map.insert(key, value.clone())),
                None => drop(map.remove(&key)),
            }
        }
        Value::Array(list) => match value {
            _ if deeper && place % 3 > 0 => mutate(&mut list[index], place, value),
            Some(value) => list[index] = value.clone(),
            None => drop(list.remove(index)),
        },
        _ => {}
    }
}
