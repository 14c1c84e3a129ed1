use actix_web::{HttpResponse, web};
use serde::Serialize;

use super::{Sink, Tank};
use crate::app::App;
use crate::error::Error;
use crate::web::{Routes, Who};

pub(super) fn routes(open: &mut Routes) {
    open.get("/api/v1/sinks", Who::Member, list_sinks);
    open.get("/api/v1/tanks", Who::Member, list_tanks);
}

#[derive(Serialize)]
struct Items<T> {
    items: Vec<T>,
    next: Option<String>,
}

/// The studio's sinks, in their order.
async fn list_sinks(app: web::Data<App>) -> Result<HttpResponse, Error> {
    let items: Vec<Sink> = app.db.read(super::sinks).await?;
    Ok(HttpResponse::Ok().json(Items { items, next: None }))
}

/// The studio's tanks, in their order.
async fn list_tanks(app: web::Data<App>) -> Result<HttpResponse, Error> {
    let items: Vec<Tank> = app.db.read(super::tanks).await?;
    Ok(HttpResponse::Ok().json(Items { items, next: None }))
}
