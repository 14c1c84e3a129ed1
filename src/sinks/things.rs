//! What the studio has to share: rooms, sinks, tanks, reels, stations.

use serde::Serialize;
use utoipa::ToSchema;

/// A room with walls and one light at a time.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Room {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Where it stands in lists.
    pub position: i64,
    /// What to know about it.
    pub note: String,
    /// The version an edit form is made from.
    pub version: i64,
}

/// A sink, or another place that is booked by the hour, with one or more places to work at.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Sink {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Where it stands in lists.
    pub position: i64,
    /// How many bookings or runs can stand at it side by side, 1 to 12.
    pub places: i64,
    /// What to know about it.
    pub note: String,
    /// The room it stands in; 0 when adding means the first room.
    pub room_id: i64,
    /// Whether it is a sink; else it is a station of the studio's own naming.
    pub is_sink: bool,
    /// How many tanks can be worked at it at once, 0 to 40.
    pub tanks_at_once: i64,
    /// Whether it is no longer in the studio.
    pub retired: bool,
    /// The version an edit form is made from.
    pub version: i64,
}

impl Default for Sink {
    fn default() -> Sink {
        Sink {
            id: 0,
            name: String::new(),
            position: 1,
            places: 1,
            note: String::new(),
            room_id: 0,
            is_sink: true,
            tanks_at_once: 2,
            retired: false,
            version: 0,
        }
    }
}

/// How many rolls of one format alone a tank holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Load {
    /// The format, such as `135`.
    pub format: String,
    /// How many of them, 1 to 40.
    pub most: i64,
}

/// A developing tank.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Tank {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// Its name.
    pub name: String,
    /// Where it stands in lists.
    pub position: i64,
    /// Height it gives the reels, in millimetres, 10 to 2000; decides mixed loads.
    pub stack_mm: i64,
    /// Most reels it takes, 1 to 40.
    pub max_reels: i64,
    /// Volume below the reels, in millilitres.
    pub base_ml: i64,
    /// Least volume to work with by inversion, in millilitres.
    pub min_ml: i64,
    /// Least volume to work with by rotation, in millilitres; none: not for rotation.
    pub rotary_ml: Option<i64>,
    /// Most volume it holds and still has air above, in millilitres.
    pub max_ml: i64,
    /// What it holds of one format alone, as a lead says it.
    pub holds: Vec<Load>,
    /// What to know about it.
    pub note: String,
    /// Whether it is no longer in the studio.
    pub retired: bool,
    /// The version an edit form is made from.
    pub version: i64,
}

impl Default for Tank {
    fn default() -> Tank {
        Tank {
            id: 0,
            name: String::new(),
            position: 1,
            stack_mm: 100,
            max_reels: 2,
            base_ml: 0,
            min_ml: 0,
            rotary_ml: None,
            max_ml: 500,
            holds: Vec::new(),
            note: String::new(),
            retired: false,
            version: 0,
        }
    }
}

/// What a reel is when it is set to one format.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ReelFormat {
    /// The format, such as `120`.
    pub format: String,
    /// Height in the tank, in millimetres.
    pub height_mm: i64,
    /// Volume that covers one, in millilitres.
    pub cover_ml: i64,
}

/// A pool of like reels and how many the studio owns.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct ReelKind {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// What they are called, such as `135`.
    pub kind: String,
    /// Height in the tank set to its first format, in millimetres.
    pub height_mm: i64,
    /// Volume that covers one set to its first format, in millilitres.
    pub cover_ml: i64,
    /// How many there are.
    pub owned: i64,
    /// How long one dries before it can be loaded again, in seconds.
    pub drying_s: i64,
    /// The formats they can be set to; one pool may serve several.
    pub formats: Vec<ReelFormat>,
    /// Where they stand in lists.
    pub position: i64,
    /// What to know about them.
    pub note: String,
    /// The version an edit form is made from.
    pub version: i64,
}

impl ReelKind {
    /// The reel set to this format, if it can be.
    #[must_use]
    pub fn set_to(&self, format: &str) -> Option<&ReelFormat> {
        self.formats.iter().find(|f| f.format == format)
    }
}

/// What a station is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StationKind {
    /// Loading reels in total darkness.
    Loading,
    /// Washing film.
    Washer,
    /// Hanging film to dry.
    Hanging,
}

impl StationKind {
    /// All of them, in the order of the work.
    pub const ALL: [StationKind; 3] =
        [StationKind::Loading, StationKind::Washer, StationKind::Hanging];

    /// The word for it in the database and in forms.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            StationKind::Loading => "loading",
            StationKind::Washer => "washer",
            StationKind::Hanging => "hanging",
        }
    }

    /// What people call it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            StationKind::Loading => "Loading place",
            StationKind::Washer => "Washer",
            StationKind::Hanging => "Hanging places",
        }
    }

    /// The kind of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<StationKind> {
        StationKind::ALL.into_iter().find(|k| k.word() == word)
    }

    /// The kind of unit that is held of it.
    #[must_use]
    pub fn unit(self) -> super::Kind {
        match self {
            StationKind::Loading => super::Kind::Loading,
            StationKind::Washer => super::Kind::Washer,
            StationKind::Hanging => super::Kind::Hanging,
        }
    }
}

/// A loading room, a washer, or a row of hanging places.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Station {
    /// Its number; 0 for one that is to be added.
    pub id: i64,
    /// What it is for.
    pub kind: StationKind,
    /// Its name.
    pub name: String,
    /// Where it stands in lists.
    pub position: i64,
    /// How many can use it at once, or how many films hang in it, 1 to 200.
    pub places: i64,
    /// The room it stands in; 0 when adding means the first room.
    pub room_id: i64,
    /// How long film hangs there, in seconds; for hanging places.
    pub drying_s: i64,
    /// What to know about it.
    pub note: String,
    /// Whether it is no longer in the studio.
    pub retired: bool,
    /// The version an edit form is made from.
    pub version: i64,
}

/// The light in a room. Two different ones never go together: film is loaded in none at all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, serde::Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Light {
    /// White light.
    #[default]
    White,
    /// Safelight, for paper.
    Safelight,
    /// Total darkness, for film.
    Dark,
}

impl Light {
    /// All of them.
    pub const ALL: [Light; 3] = [Light::White, Light::Safelight, Light::Dark];

    /// The word for it in the database and in forms.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Light::White => "white",
            Light::Safelight => "safelight",
            Light::Dark => "dark",
        }
    }

    /// What people call it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Light::White => "White light",
            Light::Safelight => "Safelight",
            Light::Dark => "Total darkness",
        }
    }

    /// The light of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Light> {
        Light::ALL.into_iter().find(|l| l.word() == word)
    }
}

/// All that there is, read once.
#[derive(Clone, Debug, Default)]
pub struct Inventory {
    /// Sinks and other stations booked by the hour, retired ones too.
    pub sinks: Vec<Sink>,
    /// Tanks, retired ones too.
    pub tanks: Vec<Tank>,
    /// Reels.
    pub reels: Vec<ReelKind>,
    /// Loading places, washers and hanging places, retired ones too.
    pub stations: Vec<Station>,
    /// Rooms.
    pub rooms: Vec<Room>,
}

impl Inventory {
    /// The sink of that number.
    #[must_use]
    pub fn sink(&self, id: i64) -> Option<&Sink> {
        self.sinks.iter().find(|s| s.id == id)
    }

    /// The tank of that number.
    #[must_use]
    pub fn tank(&self, id: i64) -> Option<&Tank> {
        self.tanks.iter().find(|t| t.id == id)
    }

    /// The reels of that number.
    #[must_use]
    pub fn reel(&self, id: i64) -> Option<&ReelKind> {
        self.reels.iter().find(|r| r.id == id)
    }

    /// The station of that number.
    #[must_use]
    pub fn station(&self, id: i64) -> Option<&Station> {
        self.stations.iter().find(|s| s.id == id)
    }

    /// What a thing that can be promised is called.
    #[must_use]
    pub fn name(&self, kind: super::Kind, of_id: i64) -> String {
        use super::Kind;
        let name = match kind {
            Kind::SinkPlace | Kind::SinkTank => self.sink(of_id).map(|s| &s.name),
            Kind::Tank => self.tank(of_id).map(|t| &t.name),
            Kind::Reel => self.reel(of_id).map(|r| &r.kind),
            Kind::Hanging | Kind::Loading | Kind::Washer => self.station(of_id).map(|s| &s.name),
        };
        let name = name.map_or("something gone", String::as_str);
        if kind == Kind::Reel { format!("reels {name}") } else { name.to_owned() }
    }

    /// What a room is called.
    #[must_use]
    pub fn room_name(&self, id: i64) -> &str {
        self.rooms.iter().find(|r| r.id == id).map_or("the room", |r| r.name.as_str())
    }
}
