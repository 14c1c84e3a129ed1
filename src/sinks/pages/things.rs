//! One page for adding and changing, whatever the thing.

use actix_web::{HttpRequest, HttpResponse, web};
use serde::Serialize;

use super::read;
use crate::app::App;
use crate::clock::Moment;
use crate::db::{Conn, Tx};
use crate::error::Error;
use crate::sinks::{self, ReelKind, Room, Sink, Station, StationKind, Tank};
use crate::web::{Asked, Fields, Filled, Flash, Form, Lead, go, show_form};

/// Something of the room that has a form.
pub(super) trait Thing: Clone + Send + 'static {
    /// Its folder under `/room`.
    const PATH: &'static str;
    /// Its template.
    const TEMPLATE: &'static str;
    /// What one of them is called in a sentence.
    const CALLED: &'static str;

    fn identity(&self) -> (i64, &str, i64);
    fn read(f: &mut Fields) -> Result<Self, Error>;
    fn numbered(self, id: i64, version: i64) -> Self;
    fn fill(&self, form: Form) -> Form;
    fn all(conn: &mut Conn) -> Result<Vec<Self>, Error>;
    fn add(&self, tx: &mut Tx<'_>) -> Result<i64, Error>;
    fn change(&self, tx: &mut Tx<'_>, now: Moment) -> Result<(), Error>;
}

macro_rules! thing {
    ($noun:ident, $path:literal, $template:literal, $called:literal, $name:ident,
     $read:path, $fill:path, $all:path, $add:path, $change:expr) => {
        impl Thing for $noun {
            const PATH: &'static str = $path;
            const TEMPLATE: &'static str = $template;
            const CALLED: &'static str = $called;

            fn identity(&self) -> (i64, &str, i64) {
                (self.id, &self.$name, self.version)
            }
            fn read(f: &mut Fields) -> Result<$noun, Error> {
                $read(f)
            }
            fn numbered(self, id: i64, version: i64) -> $noun {
                $noun { id, version, ..self }
            }
            fn fill(&self, form: Form) -> Form {
                $fill(self, form)
            }
            fn all(conn: &mut Conn) -> Result<Vec<$noun>, Error> {
                $all(conn)
            }
            fn add(&self, tx: &mut Tx<'_>) -> Result<i64, Error> {
                $add(tx, self)
            }
            fn change(&self, tx: &mut Tx<'_>, now: Moment) -> Result<(), Error> {
                let change: fn(&mut Tx<'_>, Moment, &$noun) -> Result<(), Error> = $change;
                change(tx, now, self)
            }
        }
    };
}

thing!(
    Sink,
    "sinks",
    "sinks/sink.html",
    "a sink",
    name,
    read::sink,
    read::sink_form,
    sinks::all_sinks,
    sinks::add_sink,
    sinks::change_sink
);
thing!(
    Tank,
    "tanks",
    "sinks/tank.html",
    "a tank",
    name,
    read::tank,
    read::tank_form,
    sinks::all_tanks,
    sinks::add_tank,
    sinks::change_tank
);
thing!(
    ReelKind,
    "reels",
    "sinks/reels.html",
    "reels",
    kind,
    read::reels,
    read::reels_form,
    sinks::reel_kinds,
    sinks::add_reels,
    sinks::change_reels
);
thing!(
    Station,
    "stations",
    "sinks/station.html",
    "a station",
    name,
    read::station,
    read::station_form,
    sinks::stations,
    sinks::add_station,
    sinks::change_station
);
thing!(
    Room,
    "rooms",
    "sinks/place.html",
    "a room",
    name,
    read::room,
    read::room_form,
    sinks::rooms,
    sinks::add_room,
    |tx, _, room| sinks::change_room(tx, room)
);

#[derive(Serialize)]
struct Choice {
    value: String,
    text: String,
}

#[derive(Serialize)]
struct ThingPage {
    title: String,
    is_new: bool,
    form: Form,
    rooms: Vec<Choice>,
    kinds: Vec<Choice>,
}

async fn page<T: Thing>(
    app: &App,
    req: &HttpRequest,
    form: Form,
    title: String,
) -> Result<HttpResponse, Error> {
    let rooms = app.db.read(sinks::rooms).await?;
    let kind = |k: &StationKind| Choice { value: k.word().to_owned(), text: k.name().to_owned() };
    let page = ThingPage {
        is_new: form.action == format!("/room/{}", T::PATH),
        rooms: rooms
            .into_iter()
            .map(|r| Choice { value: r.id.to_string(), text: r.name })
            .collect(),
        kinds: StationKind::ALL.iter().map(kind).collect(),
        title,
        form,
    };
    show_form(app, req, (&page.title, T::TEMPLATE), &page.form, &page)
}

pub(super) async fn new<T: Thing>(
    app: web::Data<App>,
    req: HttpRequest,
    Asked(asked): Asked,
) -> Result<HttpResponse, Error> {
    let next = app.db.read(T::all).await?.len() + 1;
    let form = Form::new(&format!("/room/{}", T::PATH))
        .with("position", next)
        .with("kind", asked.raw("kind"));
    page::<T>(&app, &req, form, format!("Add {}", T::CALLED)).await
}

pub(super) async fn add<T: Thing>(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let wish = T::read(&mut filled.fields);
    let done = filled.keep(&app, &lead, wish, move |tx, wish| wish.add(tx)).await;
    match done {
        Ok(_) => Ok(go("/room", Some(Flash::good("It is in the list of the room.")))),
        Err(e) => page::<T>(&app, &req, filled.again(e)?, format!("Add {}", T::CALLED)).await,
    }
}

async fn find<T: Thing>(app: &App, id: i64) -> Result<T, Error> {
    let all = app.db.read(T::all).await?;
    all.into_iter().find(|t| t.identity().0 == id).ok_or(Error::NotFound)
}

pub(super) async fn one<T: Thing>(
    app: web::Data<App>,
    req: HttpRequest,
    id: web::Path<i64>,
) -> Result<HttpResponse, Error> {
    let thing: T = find(&app, *id).await?;
    let (_, name, version) = thing.identity();
    let form = Form::new(&format!("/room/{}/{id}", T::PATH)).of_version(version);
    page::<T>(&app, &req, thing.fill(form), name.to_owned()).await
}

pub(super) async fn change<T: Thing>(
    app: web::Data<App>,
    req: HttpRequest,
    lead: Lead,
    id: web::Path<i64>,
    mut filled: Filled,
) -> Result<HttpResponse, Error> {
    let known: T = find(&app, *id).await?;
    let (now, version, id) = (app.clock.now(), filled.version(), *id);
    let done = match T::read(&mut filled.fields) {
        Ok(wish) => {
            let wish = wish.numbered(id, version);
            let once = filled.once(&app, Some(&lead))?;
            app.db.write_once(once, move |tx| wish.change(tx, now)).await
        }
        Err(e) => Err(e),
    };
    match done {
        Ok(()) => Ok(go("/room", Some(Flash::good("The change is kept.")))),
        Err(e) => page::<T>(&app, &req, filled.again(e)?, known.identity().1.to_owned()).await,
    }
}
