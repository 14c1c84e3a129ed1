//! The JSON API as a whole: its description, made from the handlers themselves.

use actix_web::HttpResponse;
use utoipa::openapi::security::{HttpAuthScheme, HttpBuilder, SecurityScheme};
use utoipa::{Modify, OpenApi};

use crate::web::{Problem, Routes, Who};
use crate::{baths, bookings, day, members, recipes, rolls, safety, sinks};

/// Every path of the API; each room adds its handlers here.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "Wetside",
        description = "The JSON API of a shared black-and-white darkroom. Times are RFC 3339 with \
            offset, durations seconds, volumes ml. Errors are RFC 9457 problems."
    ),
    paths(
        description,
        members::api::issue,
        members::api::me,
        safety::api::list,
        safety::api::one,
        safety::api::acknowledge,
        sinks::api::list_sinks,
        sinks::api::list_tanks,
        bookings::api::board,
        bookings::api::book,
        bookings::api::cancel,
        recipes::api::list,
        recipes::api::one,
        recipes::api::time,
        rolls::list_api::list,
        rolls::api::hand_in,
        rolls::api::one,
        rolls::api::set_state,
        rolls::api::note_result,
        rolls::results_api::list,
        rolls::results_api::tested,
        baths::api::list,
        baths::api::use_bath,
        baths::api::clip_test,
        day::api::mix_sheet,
        day::api::plan,
        day::api::publish,
        day::api::session,
        day::run_api::one,
        day::run_api::tell,
        day::run_api::end,
        day::run_api::slide,
        day::joining_api::open_runs,
        day::joining_api::join,
    ),
    components(schemas(Problem)),
    security(("token" = [])),
    modifiers(&Bearer)
)]
struct Description;

struct Bearer;

impl Modify for Bearer {
    fn modify(&self, api: &mut utoipa::openapi::OpenApi) {
        let scheme = HttpBuilder::new().scheme(HttpAuthScheme::Bearer).build();
        let parts = api.components.get_or_insert_default();
        parts.add_security_scheme("token", SecurityScheme::Http(scheme));
    }
}

/// The description as OpenAPI 3.1.
#[must_use]
pub fn openapi() -> utoipa::openapi::OpenApi {
    Description::openapi()
}

/// The door to the description.
pub fn routes(open: &mut Routes) {
    open.get("/api/v1/openapi.json", Who::Anyone, description);
}

/// This description.
#[utoipa::path(
    get, path = "/api/v1/openapi.json", tag = "api", security(()),
    responses((status = 200, description = "OpenAPI 3.1", content_type = "application/json"))
)]
async fn description() -> HttpResponse {
    HttpResponse::Ok().json(openapi())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    #[test]
    fn the_description_names_exactly_the_doors_of_the_api() {
        let mut open = crate::web::Routes::default();
        crate::app::routes(&mut open);
        let doors: BTreeSet<(String, String)> = open
            .table()
            .iter()
            .filter(|d| d.path.starts_with("/api/"))
            .map(|d| (d.method.clone(), d.path.clone()))
            .collect();
        let said = serde_json::to_value(super::openapi()).unwrap();
        let described: BTreeSet<(String, String)> = said["paths"]
            .as_object()
            .unwrap()
            .iter()
            .flat_map(|(path, of)| {
                of.as_object().unwrap().keys().map(|m| (m.to_uppercase(), path.clone()))
            })
            .filter(|(m, _)| ["GET", "POST", "DELETE", "PUT", "PATCH"].contains(&m.as_str()))
            .collect();
        assert_eq!(doors, described, "add or remove the handler in the list above");
        assert!(said["openapi"].as_str().unwrap().starts_with("3.1"));
    }
}
