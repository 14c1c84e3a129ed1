//! Reads JSON so that every fault can be named by its path, in the order of the file.
//!
//! Each value keeps its place in the text; faults are sorted by that place at the end, so the
//! checks themselves may run in whatever order suits them.

use std::{cell::RefCell, collections::BTreeMap, fmt, ops::RangeInclusive};

use serde::{
    Deserialize, Deserializer,
    de::{MapAccess, Visitor},
};
use serde_json::value::RawValue;

use super::{
    decimal::{Decimal, ONE, Unreadable, scaled},
    fault::Fault,
};

/// The faults found so far, with their places in the text.
#[derive(Default)]
pub(super) struct Faults {
    found: RefCell<Vec<(usize, Fault)>>,
}

impl Faults {
    /// All faults in the order of the file, or none.
    pub(super) fn finish(self) -> Vec<Fault> {
        let mut found = self.found.into_inner();
        found.sort_by_key(|(place, _)| *place);
        found.into_iter().map(|(_, fault)| fault).collect()
    }

    /// Whether nothing has been found wrong yet.
    pub(super) fn is_empty(&self) -> bool {
        self.found.borrow().is_empty()
    }
}

/// One JSON value with its path.
#[derive(Clone)]
pub(super) struct Value<'a> {
    faults: &'a Faults,
    text: &'a str,
    place: usize,
    path: String,
}

/// Parses the text once; a syntax error is the only fault then.
pub(super) fn root<'a>(text: &'a str, faults: &'a Faults) -> Result<Value<'a>, Fault> {
    let raw: &RawValue = serde_json::from_str(text).map_err(|error| Fault {
        path: format!("line {}, column {}", error.line(), error.column()),
        message: format!("not JSON: {}", without_place(&error)),
    })?;
    Ok(Value { faults, text: raw.get(), place: 0, path: "$".to_owned() })
}

fn without_place(error: &serde_json::Error) -> String {
    let text = error.to_string();
    match text.rfind(" at line ") {
        Some(end) => text.chars().take(end).collect(),
        None => text,
    }
}

struct Entries<'a>(Vec<(String, &'a RawValue)>);

impl<'de> Deserialize<'de> for Entries<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Collect;
        impl<'de> Visitor<'de> for Collect {
            type Value = Entries<'de>;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }
            fn visit_map<M: MapAccess<'de>>(self, mut map: M) -> Result<Self::Value, M::Error> {
                let mut entries = Vec::new();
                while let Some(entry) = map.next_entry()? {
                    entries.push(entry);
                }
                Ok(Entries(entries))
            }
        }
        deserializer.deserialize_map(Collect)
    }
}

impl<'a> Value<'a> {
    /// Records what is wrong here.
    pub(super) fn fault(&self, message: impl Into<String>) {
        let fault = Fault { path: self.path.clone(), message: message.into() };
        self.faults.found.borrow_mut().push((self.place, fault));
    }

    /// Its path, for messages that point to another place.
    pub(super) fn path(&self) -> &str {
        &self.path
    }

    /// The value as it stands in the file, shortened for a message.
    pub(super) fn shown(&self) -> String {
        if self.text.chars().count() <= 40 {
            return self.text.to_owned();
        }
        self.text.chars().take(37).chain("...".chars()).collect()
    }

    fn below(&self, raw: &'a RawValue, path: String) -> Value<'a> {
        let inside = raw.get().as_ptr().addr().saturating_sub(self.text.as_ptr().addr());
        Value { faults: self.faults, text: raw.get(), place: self.place + inside, path }
    }

    pub(super) fn is_null(&self) -> bool {
        self.text == "null"
    }

    /// Its keys and values; `what` names the thing in faults.
    pub(super) fn object(&self, what: &'static str) -> Object<'a> {
        let mut object = Object { at: self.clone(), what, entries: BTreeMap::new(), whole: true };
        match serde_json::from_str::<Entries<'a>>(self.text) {
            Ok(Entries(entries)) => {
                for (key, raw) in entries {
                    let value = self.below(raw, below_key(&self.path, &key));
                    match object.entries.entry(key) {
                        std::collections::btree_map::Entry::Occupied(_) => {
                            value.fault("this key stands here twice; keep one");
                        }
                        std::collections::btree_map::Entry::Vacant(free) => {
                            free.insert((value, false));
                        }
                    }
                }
            }
            Err(_) => {
                self.fault(format!("{} is not {what}; write an object in braces", self.shown()));
                object.whole = false;
            }
        }
        object
    }

    /// Its elements; a fault and nothing if it is not a list.
    pub(super) fn list(&self) -> Vec<Value<'a>> {
        let Ok(raws) = serde_json::from_str::<Vec<&'a RawValue>>(self.text) else {
            self.fault(format!("{} is not a list; write it in brackets", self.shown()));
            return Vec::new();
        };
        let numbered = raws.into_iter().enumerate();
        numbered.map(|(i, raw)| self.below(raw, format!("{}[{i}]", self.path))).collect()
    }

    /// Its text, not empty.
    pub(super) fn text(&self) -> Option<String> {
        match serde_json::from_str::<String>(self.text) {
            Ok(text) if text.is_empty() => {
                self.fault("is empty; write a text");
                None
            }
            Ok(text) => Some(text),
            Err(_) => {
                self.fault(format!("{} is not a text; write it in quotes", self.shown()));
                None
            }
        }
    }

    /// True or false.
    pub(super) fn flag(&self) -> bool {
        match self.text {
            "true" => true,
            "false" => false,
            _ => {
                self.fault(format!("{} is neither true nor false", self.shown()));
                false
            }
        }
    }

    /// An exact count of `10^-places`.
    pub(super) fn scaled(&self, places: u32) -> Option<i128> {
        if !self.text.starts_with(|c: char| c == '-' || c.is_ascii_digit()) {
            self.fault(format!("{} is not a number", self.shown()));
            return None;
        }
        match scaled(self.text, places) {
            Ok(value) => Some(value),
            Err(Unreadable::TooFine) => {
                let shown = self.shown();
                self.fault(format!("{shown} is too fine; write at most {places} decimals"));
                None
            }
            Err(Unreadable::TooLarge) => {
                self.fault(format!("{} is too large", self.shown()));
                None
            }
        }
    }

    /// A decimal within a range.
    pub(super) fn decimal(&self, range: RangeInclusive<Decimal>) -> Option<Decimal> {
        let value = self.scaled(6)?;
        let kept = i64::try_from(value).ok().map(Decimal::from_millionths);
        if let Some(kept) = kept.filter(|kept| range.contains(kept)) {
            return Some(kept);
        }
        let shown = self.shown();
        self.fault(format!("{shown} is not between {} and {}", range.start(), range.end()));
        None
    }

    /// A whole number within a range.
    pub(super) fn whole(&self, range: RangeInclusive<i64>) -> Option<i64> {
        let millionths = self.scaled(6)?;
        if millionths % i128::from(ONE) != 0 {
            self.fault(format!("{} is not a whole number", self.shown()));
            return None;
        }
        let value = i64::try_from(millionths / i128::from(ONE)).ok();
        if let Some(value) = value.filter(|value| range.contains(value)) {
            return Some(value);
        }
        let shown = self.shown();
        self.fault(format!("{shown} is not between {} and {}", range.start(), range.end()));
        None
    }
}

fn below_key(path: &str, key: &str) -> String {
    let plain = key.chars().next().is_some_and(|c| c.is_ascii_alphabetic() || c == '_')
        && key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    if plain { format!("{path}.{key}") } else { format!("{path}[{key:?}]") }
}

/// An object whose keys are taken one by one; what is left at the end is unknown.
pub(super) struct Object<'a> {
    at: Value<'a>,
    what: &'static str,
    entries: BTreeMap<String, (Value<'a>, bool)>,
    whole: bool,
}

impl<'a> Object<'a> {
    /// The value of a key that must stand.
    pub(super) fn required(&mut self, key: &str) -> Option<Value<'a>> {
        if let Some((value, taken)) = self.entries.get_mut(key) {
            *taken = true;
            return Some(value.clone());
        }
        if self.whole {
            let place = Value { path: below_key(&self.at.path, key), ..self.at.clone() };
            place.fault(format!("is missing; {} needs it", self.what));
        }
        None
    }

    /// The value of a key that may be null or absent.
    pub(super) fn optional(&mut self, key: &str) -> Option<Value<'a>> {
        let (value, taken) = self.entries.get_mut(key)?;
        *taken = true;
        (!value.is_null()).then(|| value.clone())
    }

    /// Every key with its value, for maps whose keys are names.
    pub(super) fn all(&mut self) -> Vec<(String, Value<'a>)> {
        let mut all = Vec::new();
        for (key, (value, taken)) in &mut self.entries {
            *taken = true;
            all.push((key.clone(), value.clone()));
        }
        all
    }

    /// A required whole number; 1 or the nearest allowed value stands in for a faulty one.
    pub(super) fn whole(&mut self, key: &str, range: RangeInclusive<i64>) -> i64 {
        let stand_in = 1.clamp(*range.start(), *range.end());
        self.required(key).and_then(|value| value.whole(range)).unwrap_or(stand_in)
    }

    /// A required decimal; zero stands in for a faulty one.
    pub(super) fn decimal(&mut self, key: &str, range: RangeInclusive<Decimal>) -> Decimal {
        self.required(key).and_then(|value| value.decimal(range)).unwrap_or_default()
    }

    /// A required text; empty stands in for a faulty one.
    pub(super) fn text(&mut self, key: &str) -> String {
        self.required(key).and_then(|value| value.text()).unwrap_or_default()
    }

    /// A required list.
    pub(super) fn list(&mut self, key: &str) -> Vec<Value<'a>> {
        self.required(key).map(|value| value.list()).unwrap_or_default()
    }

    /// Every key that nobody asked for is a fault.
    pub(super) fn finish(self) {
        for (key, (value, taken)) in &self.entries {
            if !taken {
                value.fault(format!("unknown key {key:?}; {} has no such key", self.what));
            }
        }
    }
}
