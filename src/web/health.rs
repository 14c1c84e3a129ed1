//! Alive, and ready to serve.

use actix_web::{HttpResponse, web};

use super::{Routes, Who};
use crate::app::App;
use crate::db::migrate;
use crate::error::Error;

pub(super) fn routes(open: &mut Routes) {
    open.get("/healthz", Who::Anyone, alive);
    open.get("/readyz", Who::Anyone, ready);
}

async fn alive() -> HttpResponse {
    HttpResponse::Ok().content_type("text/plain; charset=utf-8").body("alive\n")
}

async fn ready(app: web::Data<App>) -> HttpResponse {
    let engine = app.db.engine().clone();
    let pending = web::block(move || migrate::pending(&engine)).await;
    let text = |status: &mut actix_web::HttpResponseBuilder, body: &'static str| {
        status.content_type("text/plain; charset=utf-8").body(body)
    };
    match pending {
        Ok(Ok(0)) => text(&mut HttpResponse::Ok(), "ready\n"),
        Ok(Ok(_)) => text(&mut HttpResponse::ServiceUnavailable(), "database not migrated\n"),
        Ok(Err(Error::Refused { .. })) => {
            text(&mut HttpResponse::ServiceUnavailable(), "database for a newer program\n")
        }
        _ => text(&mut HttpResponse::ServiceUnavailable(), "database not reachable\n"),
    }
}
