//! What a wish takes of the room, and whether that is free: pure.

use std::fmt;

use super::Wish;
use crate::clock::Span;
use crate::error::Error;
use crate::sinks::{Inventory, Kind, Light, StationKind, Supply};

/// So many of one thing, for the booking and some time after it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// The kind of thing.
    pub kind: Kind,
    /// Which thing.
    pub of_id: i64,
    /// How many of it, at least 1.
    pub count: i64,
    /// Seconds after the booking for which it is still not free: cleaning, drying.
    pub after_s: i64,
    /// What it is called.
    pub name: String,
}

impl Need {
    /// The time for which it is held.
    #[must_use]
    pub fn span(&self, booked: Span) -> Span {
        Span { to: booked.to.plus(self.after_s), ..booked }
    }
}

/// Everything a booking takes, whenever it may be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// Things.
    pub needs: Vec<Need>,
    /// Rooms with the light they need and their names.
    pub lights: Vec<(i64, Light, String)>,
}

impl Ask {
    /// What is had with the sink, as a letter lists it.
    #[must_use]
    pub fn with(&self) -> Vec<String> {
        let had = |n: &&Need| !matches!(n.kind, Kind::SinkPlace | Kind::SinkTank);
        let line = |n: &Need| {
            if n.count > 1 { format!("{}: {}", n.name, n.count) } else { n.name.clone() }
        };
        self.needs.iter().filter(had).map(line).collect()
    }
}

/// What is not free.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Lack {
    /// Something of which there is one, or all of it.
    Taken(String),
    /// Only so many of so many.
    TooFew {
        /// What.
        name: String,
        /// How many are wanted.
        wanted: i64,
        /// How many are free.
        free: i64,
    },
    /// Another light is needed in that room.
    OtherLight {
        /// The room.
        room: String,
        /// The light it has then.
        has: Light,
    },
}

impl fmt::Display for Lack {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Lack::Taken(name) => write!(f, "{name}: taken at that time."),
            Lack::TooFew { name, wanted, free: 0 } => {
                write!(f, "{name}: taken at that time, and you want {wanted}.")
            }
            Lack::TooFew { name, wanted, free } => {
                write!(f, "{name}: only {free} free at that time, and you want {wanted}.")
            }
            Lack::OtherLight { room, has } => write!(
                f,
                "{room} is taken in another light then ({}). Darkness, safelight and white light \
                 never go together.",
                has.name().to_lowercase()
            ),
        }
    }
}

impl From<Lack> for Error {
    fn from(lack: Lack) -> Error {
        Error::refused("slot-taken", lack.to_string())
    }
}

/// What the wish takes.
///
/// # Errors
/// The field that names something the studio does not have, or more of it than there is.
pub fn ask(wish: &Wish, all: &Inventory, gap_s: i64) -> Result<Ask, Error> {
    let sink = all
        .sink(wish.sink_id)
        .filter(|s| !s.retired)
        .ok_or_else(|| Error::field("sink", "There is no such sink. Choose one of the list."))?;
    let of = |kind, of_id, count, after_s, name: &str| Need {
        kind,
        of_id,
        count,
        after_s,
        name: name.to_owned(),
    };
    let mut needs = vec![of(Kind::SinkPlace, sink.id, 1, gap_s, &sink.name)];
    let tanks = tanks(wish, all)?;
    let count = i64::try_from(tanks.len()).unwrap_or(i64::MAX);
    if count > sink.tanks_at_once {
        let (name, most) = (&sink.name, sink.tanks_at_once);
        return Err(Error::field(
            "tanks",
            format!("{name} takes {most} tanks at once, and you chose {count}. Choose fewer."),
        ));
    }
    if count > 0 {
        let name = format!("{}, room for tanks", sink.name);
        needs.push(of(Kind::SinkTank, sink.id, count, gap_s, &name));
    }
    needs.extend(tanks.into_iter().map(|(id, name)| of(Kind::Tank, id, 1, gap_s, name)));
    needs.extend(reels(wish, all, gap_s)?);
    let mut lights = vec![(sink.room_id, wish.light)];
    stations(wish, all, gap_s, (&mut needs, &mut lights))?;
    lights.dedup();
    let named = |(room, light)| (room, light, all.room_name(room).to_owned());
    Ok(Ask { needs, lights: lights.into_iter().map(named).collect() })
}

fn tanks<'a>(wish: &Wish, all: &'a Inventory) -> Result<Vec<(i64, &'a str)>, Error> {
    let mut ids = wish.tank_ids.clone();
    ids.sort_unstable();
    ids.dedup();
    let named = |id: i64| {
        all.tank(id)
            .filter(|t| !t.retired)
            .map(|t| (id, t.name.as_str()))
            .ok_or_else(|| Error::field("tanks", "There is no such tank. Choose from the list."))
    };
    ids.into_iter().map(named).collect()
}

fn reels(wish: &Wish, all: &Inventory, gap_s: i64) -> Result<Vec<Need>, Error> {
    let mut needs: Vec<Need> = Vec::new();
    for (id, count) in wish.reels.iter().filter(|(_, n)| *n > 0) {
        let reel = all.reel(*id).ok_or_else(|| {
            Error::field("reels", "There are no such reels. Choose from the list.")
        })?;
        if *count > reel.owned {
            let (kind, owned) = (&reel.kind, reel.owned);
            return Err(Error::field(
                "reels",
                format!("The studio has {owned} reels of the kind {kind}; choose at most so many."),
            ));
        }
        needs.push(Need {
            kind: Kind::Reel,
            of_id: *id,
            count: *count,
            after_s: reel.drying_s.max(gap_s),
            name: format!("Dry reels {}", reel.kind),
        });
    }
    Ok(needs)
}

/// Loading places, washers and hanging places.
fn stations(
    wish: &Wish,
    all: &Inventory,
    gap_s: i64,
    (needs, lights): (&mut Vec<Need>, &mut Vec<(i64, Light)>),
) -> Result<(), Error> {
    for id in &wish.stations {
        let station = all.station(*id).filter(|s| !s.retired).ok_or_else(|| {
            Error::field("stations", "There is no such station. Choose from the list.")
        })?;
        if station.kind == StationKind::Loading {
            if lights.iter().any(|(room, l)| *room == station.room_id && *l != Light::Dark) {
                return Err(Error::field(
                    "light",
                    format!(
                        "{} is in the same room as the sink. Loading needs total darkness there: \
                         choose it as the light, or load elsewhere.",
                        station.name
                    ),
                ));
            }
            lights.push((station.room_id, Light::Dark));
        }
        needs.push(Need {
            kind: station.kind.unit(),
            of_id: station.id,
            count: 1,
            after_s: gap_s,
            name: station.name.clone(),
        });
    }
    if wish.hanging > 0 {
        let mut rows = all.stations.iter();
        let row = rows
            .find(|s| s.kind == StationKind::Hanging && !s.retired && s.places >= wish.hanging)
            .ok_or_else(|| {
                Error::field("hanging", "The studio has not so many hanging places. Choose fewer.")
            })?;
        needs.push(Need {
            kind: Kind::Hanging,
            of_id: row.id,
            count: wish.hanging,
            after_s: row.drying_s.max(gap_s),
            name: row.name.clone(),
        });
    }
    Ok(())
}

/// Whether all of it is free then.
///
/// # Errors
/// The first thing that is not.
pub fn is_free(supply: &Supply, ask: &Ask, span: Span) -> Result<(), Lack> {
    for need in &ask.needs {
        let free = supply.free(need.kind, need.of_id, need.span(span));
        if free < need.count {
            let name = need.name.clone();
            let one = need.count == 1;
            return Err(if one {
                Lack::Taken(name)
            } else {
                Lack::TooFew { name, wanted: need.count, free }
            });
        }
    }
    for (room, light, name) in &ask.lights {
        if let Some(other) = supply.other_light(*room, *light, span) {
            return Err(Lack::OtherLight { room: name.clone(), has: other.light });
        }
    }
    Ok(())
}
