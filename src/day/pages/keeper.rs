use actix_web::HttpResponse;
use actix_web::http::header;

/// The script that keeps an open run's page on the device. It is served beside the runs, because a
/// browser lets it look after nothing above its own folder.
pub(super) async fn keeper() -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/javascript; charset=utf-8")
        .insert_header((header::CACHE_CONTROL, "no-cache"))
        .body(include_str!("../../../static/js/keeper.js"))
}
