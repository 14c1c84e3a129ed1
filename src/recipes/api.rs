use actix_web::{HttpResponse, web};
use serde::Serialize;
use utoipa::ToSchema;

use super::Recipe;
use crate::app::App;
use crate::error::Error;
use crate::web::{Asked, Member, Problems, Routes, Who, thousandths};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/recipes", Who::Member, list);
}

/// A recipe as programs see it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DescribedRecipe {
    id: i64,
    film: String,
    ei: i64,
    developer: String,
    /// Parts of water to one of concentrate.
    water_parts: i64,
    temperature_c: f64,
    agitation: String,
    pre_soak_s: i64,
    time_s: i64,
    source: String,
}

#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RecipeList {
    items: Vec<DescribedRecipe>,
    /// Ask again with `?after=` this for the rest.
    next: Option<String>,
}

const PAGE: usize = 100;

fn described(r: Recipe) -> DescribedRecipe {
    DescribedRecipe {
        id: r.id,
        film: r.film.name,
        ei: r.ei,
        developer: r.developer.name,
        water_parts: r.developer.water_parts,
        temperature_c: thousandths(r.temperature_mc),
        agitation: r.agitation,
        pre_soak_s: r.pre_soak_s,
        time_s: r.time_s,
        source: r.source,
    }
}

/// The time chart, a hundred recipes at a time.
#[utoipa::path(get, path = "/api/v1/recipes", tag = "recipes",
    params(("after" = Option<i64>, Query, description = "The `next` of the page before")),
    responses((status = 200, body = RecipeList), Problems))]
pub(crate) async fn list(
    app: web::Data<App>,
    _member: Member,
    mut asked: Asked,
) -> Result<HttpResponse, Error> {
    let after = match asked.0.raw("after") {
        "" => 0,
        _ => asked
            .0
            .number("after", "a place in the list", 0..=i64::MAX)
            .ok_or_else(|| asked.0.faults())?,
    };
    let mut all = app.db.read(super::all).await?;
    all.retain(|r| r.id > after);
    all.sort_by_key(|r| r.id);
    let more = all.len() > PAGE;
    all.truncate(PAGE);
    let next = all.last().filter(|_| more).map(|r| r.id.to_string());
    let items = all.into_iter().map(described).collect();
    Ok(HttpResponse::Ok().json(RecipeList { items, next }))
}
