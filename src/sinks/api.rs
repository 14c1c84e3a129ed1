use actix_web::{HttpResponse, web};
use serde::Serialize;
use utoipa::ToSchema;

use super::{Sink, Tank};
use crate::app::App;
use crate::error::Error;
use crate::web::{Problems, Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/sinks", Who::Member, list_sinks);
    open.get("/api/v1/tanks", Who::Member, list_tanks);
}

#[derive(Serialize, ToSchema)]
pub(crate) struct SinkList {
    items: Vec<Sink>,
    next: Option<String>,
}

#[derive(Serialize, ToSchema)]
pub(crate) struct TankList {
    items: Vec<Tank>,
    next: Option<String>,
}

/// The studio's sinks, in their order.
#[utoipa::path(get, path = "/api/v1/sinks", tag = "room",
    responses((status = 200, body = SinkList), Problems))]
pub(crate) async fn list_sinks(app: web::Data<App>) -> Result<HttpResponse, Error> {
    let items: Vec<Sink> = app.db.read(super::sinks).await?;
    Ok(HttpResponse::Ok().json(SinkList { items, next: None }))
}

/// The studio's tanks, in their order.
#[utoipa::path(get, path = "/api/v1/tanks", tag = "room",
    responses((status = 200, body = TankList), Problems))]
pub(crate) async fn list_tanks(app: web::Data<App>) -> Result<HttpResponse, Error> {
    let items: Vec<Tank> = app.db.read(super::tanks).await?;
    Ok(HttpResponse::Ok().json(TankList { items, next: None }))
}
