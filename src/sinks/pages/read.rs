//! What the forms of the room say, and what stands in them.

use crate::error::Error;
use crate::sinks::{
    Load, ReelKind, Room, Sink, Station, StationKind, Tank, read_loads, read_reel_formats,
};
use crate::web::{Fields, Form};

/// Name, position and note: every thing has them.
struct Plain {
    name: String,
    position: i64,
    note: String,
}

fn plain(f: &mut Fields, name_field: &str) -> Option<Plain> {
    let name = f.text(name_field, "a name", 1..=60);
    let position = f.number("position", "a position", 0..=999);
    let note = f.text("note", "a note", 0..=500);
    Some(Plain { name: name?, position: position?, note: note? })
}

/// The room's number; nothing chosen means the first.
fn room_id(f: &mut Fields) -> Option<i64> {
    if f.raw("room").is_empty() { Some(0) } else { f.number("room", "a room", 1..=i64::MAX) }
}

pub(super) fn room(f: &mut Fields) -> Result<Room, Error> {
    let plain = plain(f, "name");
    f.done()?;
    let Plain { name, position, note } = plain.ok_or_else(|| f.faults())?;
    Ok(Room { id: 0, name, position, note, version: 0 })
}

pub(super) fn room_form(r: &Room, form: Form) -> Form {
    form.with("name", &r.name).with("position", r.position).with("note", &r.note)
}

pub(super) fn sink(f: &mut Fields) -> Result<Sink, Error> {
    let plain = plain(f, "name");
    let places = f.number("places", "a number of places", 1..=12);
    let tanks = f.number("tanks_at_once", "a number of tanks", 0..=40);
    let room = room_id(f);
    let (other, retired) = (f.ticked("other"), f.ticked("retired"));
    f.done()?;
    let (Some(plain), Some(places), Some(tanks_at_once), Some(room_id)) =
        (plain, places, tanks, room)
    else {
        return Err(f.faults());
    };
    let Plain { name, position, note } = plain;
    let is_sink = !other;
    let version = 0;
    Ok(Sink {
        id: 0,
        name,
        position,
        places,
        note,
        room_id,
        is_sink,
        tanks_at_once,
        retired,
        version,
    })
}

fn ticked(form: Form, name: &str, is: bool) -> Form {
    if is { form.with(name, "yes") } else { form }
}

pub(super) fn sink_form(s: &Sink, form: Form) -> Form {
    let form = form
        .with("name", &s.name)
        .with("places", s.places)
        .with("tanks_at_once", s.tanks_at_once)
        .with("room", s.room_id)
        .with("position", s.position)
        .with("note", &s.note);
    ticked(ticked(form, "other", !s.is_sink), "retired", s.retired)
}

pub(super) fn loads_text(loads: &[Load]) -> String {
    loads.iter().map(|l| format!("{} of {}", l.most, l.format)).collect::<Vec<_>>().join(" or ")
}

/// A volume that may be left empty.
fn maybe_ml(f: &mut Fields, name: &str) -> Option<Option<i64>> {
    if f.raw(name).trim().is_empty() {
        return Some(None);
    }
    f.number(name, "a volume in millilitres", 1..=100_000).map(Some)
}

/// What a tank takes: the numbers of its form.
fn tank_figures(f: &mut Fields) -> Option<Tank> {
    let holds = match read_loads(f.raw("holds")) {
        Ok(loads) => Some(loads),
        Err(sentence) => {
            f.fault("holds", sentence);
            None
        }
    };
    let stack = f.number("stack_mm", "a height in millimetres", 10..=2000);
    let reels = f.number("max_reels", "a number of reels", 1..=40);
    let base = f.number("base_ml", "a volume in millilitres", 0..=100_000);
    let least = f.number("min_ml", "a volume in millilitres", 0..=100_000);
    let rotary = maybe_ml(f, "rotary_ml");
    let most = f.number("max_ml", "a volume in millilitres", 1..=100_000);
    if let Some(most) = most {
        if least.is_some_and(|l| l > most) {
            f.fault("min_ml", "The least volume is larger than the most; one of them must change.");
        }
        if rotary.flatten().is_some_and(|r| r > most) {
            f.fault("rotary_ml", "This is larger than the most it holds; one of them must change.");
        }
    }
    Some(Tank {
        holds: holds?,
        stack_mm: stack?,
        max_reels: reels?,
        base_ml: base?,
        min_ml: least?,
        rotary_ml: rotary?,
        max_ml: most?,
        ..Tank::default()
    })
}

pub(super) fn tank(f: &mut Fields) -> Result<Tank, Error> {
    let plain = plain(f, "name");
    let figures = tank_figures(f);
    let retired = f.ticked("retired");
    f.done()?;
    let (Some(plain), Some(figures)) = (plain, figures) else { return Err(f.faults()) };
    let Plain { name, position, note } = plain;
    Ok(Tank { name, position, note, retired, ..figures })
}

pub(super) fn tank_form(t: &Tank, form: Form) -> Form {
    let rotary = t.rotary_ml.map(|v| v.to_string()).unwrap_or_default();
    let form = form
        .with("name", &t.name)
        .with("position", t.position)
        .with("holds", loads_text(&t.holds))
        .with("stack_mm", t.stack_mm)
        .with("max_reels", t.max_reels)
        .with("base_ml", t.base_ml)
        .with("min_ml", t.min_ml)
        .with("rotary_ml", rotary)
        .with("max_ml", t.max_ml)
        .with("note", &t.note);
    ticked(form, "retired", t.retired)
}

pub(super) fn reels(f: &mut Fields) -> Result<ReelKind, Error> {
    let plain = plain(f, "kind");
    let owned = f.number("owned", "how many there are", 0..=200);
    let drying = f.number("drying_min", "a drying time in minutes", 0..=1440);
    let formats = match read_reel_formats(f.raw("formats")) {
        Ok(formats) => Some(formats),
        Err(sentence) => {
            f.fault("formats", sentence);
            None
        }
    };
    f.done()?;
    let (Some(plain), Some(owned), Some(min), Some(formats)) = (plain, owned, drying, formats)
    else {
        return Err(f.faults());
    };
    let first = formats.first().map(|f| (f.height_mm, f.cover_ml)).unwrap_or_default();
    Ok(ReelKind {
        id: 0,
        kind: plain.name,
        height_mm: first.0,
        cover_ml: first.1,
        owned,
        drying_s: min * 60,
        formats,
        position: plain.position,
        note: plain.note,
        version: 0,
    })
}

pub(super) fn reels_form(r: &ReelKind, form: Form) -> Form {
    let lines: Vec<String> = r
        .formats
        .iter()
        .map(|f| format!("{}: {} mm, {} ml", f.format, f.height_mm, f.cover_ml))
        .collect();
    form.with("kind", &r.kind)
        .with("owned", r.owned)
        .with("drying_min", r.drying_s / 60)
        .with("formats", lines.join("\n"))
        .with("position", r.position)
        .with("note", &r.note)
}

pub(super) fn station(f: &mut Fields) -> Result<Station, Error> {
    let plain = plain(f, "name");
    let words: Vec<&str> = StationKind::ALL.iter().map(|k| k.word()).collect();
    let kind = f.choice("kind", "what it is for", &words);
    let places = f.number("places", "a number of places", 1..=200);
    let room = room_id(f);
    let drying = if f.raw("drying_min").trim().is_empty() {
        Some(0)
    } else {
        f.number("drying_min", "a drying time in minutes", 0..=1440)
    };
    let retired = f.ticked("retired");
    f.done()?;
    let kind = kind.and_then(|k| StationKind::from_word(&k));
    let (Some(plain), Some(kind), Some(places), Some(room_id), Some(min)) =
        (plain, kind, places, room, drying)
    else {
        return Err(f.faults());
    };
    let Plain { name, position, note } = plain;
    let drying_s = min * 60;
    Ok(Station {
        id: 0,
        kind,
        name,
        position,
        places,
        room_id,
        drying_s,
        note,
        retired,
        version: 0,
    })
}

pub(super) fn station_form(s: &Station, form: Form) -> Form {
    let form = form
        .with("kind", s.kind.word())
        .with("name", &s.name)
        .with("places", s.places)
        .with("room", s.room_id)
        .with("drying_min", s.drying_s / 60)
        .with("position", s.position)
        .with("note", &s.note);
    ticked(form, "retired", s.retired)
}
