//! Doors: no route opens without saying for whom.

use std::collections::BTreeMap;

use actix_web::body::BoxBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::middleware::{Next, from_fn};
use actix_web::{
    FromRequest, Handler, HttpMessage, HttpRequest, HttpResponse, Responder, Route, web,
};

use crate::app::App;
use crate::db::acting::{Acting, By, within};
use crate::error::Error;
use crate::sessions::{Person, Proof, Role, Via};

/// For whom a door is open; each includes those after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Who {
    /// Everybody, signed in or not.
    Anyone,
    /// Whoever is signed in.
    Newcomer,
    /// Members and leads.
    Member,
    /// Leads only.
    Lead,
}

impl Who {
    fn admits(self, person: Option<&Person>) -> Result<(), Error> {
        let wanted = match self {
            Who::Anyone => return Ok(()),
            Who::Newcomer => Role::Newcomer,
            Who::Member => Role::Member,
            Who::Lead => Role::Lead,
        };
        match person {
            None => Err(Error::SignIn),
            Some(p) if p.role >= wanted => Ok(()),
            Some(_) if wanted == Role::Lead => {
                Err(Error::Forbidden("This is for the studio's leads.".to_owned()))
            }
            Some(_) => Err(Error::Forbidden(
                "This is for members. A lead makes you one when your induction is done.".to_owned(),
            )),
        }
    }
}

/// Whether a request may come in. Where the studio asks leads for a second factor, their doors stay
/// shut without it; their other doors stay open, so that they can set it up.
fn admitted(who: Who, req: &HttpRequest) -> Result<(), Error> {
    let held = req.extensions();
    who.admits(held.get::<Person>())?;
    let asks = || req.app_data::<web::Data<App>>().is_some_and(|a| a.keeping().leads_second_factor);
    let showed = held.get::<Proof>().is_some_and(|p| p.second_factor);
    if who == Who::Lead && !showed && asks() {
        return Err(Error::Forbidden(
            "The studio asks its leads for a second factor. Set it up under Me, Second factor; with \
             a token, use one that was issued for password and code."
                .to_owned(),
        ));
    }
    Ok(())
}

/// For whom the doors for looking are open, by their patterns.
struct Looking(BTreeMap<String, Who>);

/// Whether whoever asks may look through the door of this pattern, such as `/rolls/{ticket}`. What
/// lies behind it the room shows by its own rules.
#[must_use]
pub fn may_look(req: &HttpRequest, pattern: &str) -> bool {
    let who = req.app_data::<web::Data<Looking>>().and_then(|l| l.0.get(pattern).copied());
    who.is_some_and(|who| admitted(who, req).is_ok())
}

/// What the trail is told of a request that may change something.
fn acting(req: &ServiceRequest) -> Option<Acting> {
    if req.method() == Method::GET {
        return None;
    }
    let held = req.extensions();
    let person = held.get::<Person>();
    Some(Acting {
        at: req.app_data::<web::Data<App>>()?.clock.now(),
        actor: person.map(|p| p.id),
        by: match person.map(|p| p.via) {
            None => By::Nobody,
            Some(Via::Session(_)) => By::Page,
            Some(Via::Token(_)) => By::Token,
        },
        door: format!("{} {}", req.method(), req.match_pattern()?),
        thing: thing(req),
    })
}

/// The parts of an address that say what it is about: known names only, so that no secret is kept.
fn thing(req: &ServiceRequest) -> String {
    const TOLD: [&str; 11] = [
        "act", "booking", "date", "entry", "id", "kind", "member", "number", "slug", "ticket",
        "visit",
    ];
    let parts: Vec<String> = req
        .match_info()
        .iter()
        .filter(|(name, _)| TOLD.contains(name))
        .map(|(_, value)| value.chars().filter(|c| !c.is_control()).take(40).collect())
        .collect();
    parts.join("/")
}

/// One line of the route table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Door {
    /// GET, POST, ...
    pub method: String,
    /// The pattern, as actix writes it.
    pub path: String,
    /// For whom it is open.
    pub who: Who,
}

/// The route table while it is being written.
#[derive(Default)]
pub struct Routes {
    by_path: BTreeMap<String, Vec<(Method, Route)>>,
    table: Vec<Door>,
}

macro_rules! method {
    ($(#[$doc:meta])* $name:ident, $method:expr) => {
        $(#[$doc])*
        pub fn $name<F, A>(&mut self, path: &str, who: Who, page: F)
        where
            F: Handler<A>,
            A: FromRequest + 'static,
            F::Output: Responder + 'static,
        {
            self.open($method, path, who, web::route().to(page));
        }
    };
}

impl Routes {
    method!(
        /// Opens a door for looking.
        get, Method::GET
    );
    method!(
        /// Opens a door for changing.
        post, Method::POST
    );
    method!(
        /// Opens a door for taking away (API only).
        delete, Method::DELETE
    );

    fn open(&mut self, method: Method, path: &str, who: Who, route: Route) {
        self.table.push(Door { method: method.to_string(), path: path.to_owned(), who });
        let guarded = route.method(method.clone()).wrap(from_fn(
            move |req: ServiceRequest, next: Next<BoxBody>| async move {
                let admitted = admitted(who, req.request());
                match admitted {
                    Ok(()) => match acting(&req) {
                        Some(acting) => within(acting, next.call(req)).await,
                        None => next.call(req).await,
                    },
                    Err(e) => Ok::<ServiceResponse<BoxBody>, actix_web::Error>(
                        req.error_response(e).map_into_boxed_body(),
                    ),
                }
            },
        ));
        self.by_path.entry(path.to_owned()).or_default().push((method, guarded));
    }

    /// The table as written so far.
    #[must_use]
    pub fn table(&self) -> &[Door] {
        &self.table
    }

    /// Hands the doors to the server; a known path with another method answers 405 with `Allow`.
    pub fn install(self, cfg: &mut web::ServiceConfig) {
        let looking = self.table.into_iter().filter(|d| d.method == Method::GET.as_str());
        cfg.app_data(web::Data::new(Looking(looking.map(|d| (d.path, d.who)).collect())));
        // Addresses without a part that varies are compared by their letters alone, so they are first.
        let (varying, plain): (BTreeMap<_, _>, BTreeMap<_, _>) =
            self.by_path.into_iter().partition(|(path, _)| path.contains('{'));
        for (path, routes) in plain.into_iter().chain(varying) {
            let allowed: Vec<String> = routes.iter().map(|(m, _)| m.to_string()).collect();
            let allowed = allowed.join(", ");
            let mut resource = web::resource(path);
            for (_, route) in routes {
                resource = resource.route(route);
            }
            cfg.service(resource.default_service(web::to(move || {
                let error = Error::Method(allowed.clone());
                async move { Err::<HttpResponse, Error>(error) }
            })));
        }
    }
}
