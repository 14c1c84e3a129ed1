//! Unsafe requests from other sites are refused before anything else looks at them.

use actix_web::body::{BoxBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header;
use actix_web::middleware::Next;
use actix_web::web;

use crate::app::App;
use crate::error::Error;

/// Lets through what only looks, and what a browser vouches to come from our own pages
/// (`Sec-Fetch-Site`, W3C Fetch Metadata; `Origin`, RFC 6454). A request with neither header comes
/// from no browser and can carry no one else's cookies.
///
/// # Errors
/// [`Error::Forbidden`] for what another site sent.
pub async fn refuse_foreign(
    req: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<BoxBody>, actix_web::Error> {
    if !req.method().is_safe() && is_foreign(&req) {
        let error = Error::Forbidden(
            "This came from another site, so it was not done. Please use the studio's own page."
                .to_owned(),
        );
        return Ok(req.error_response(error));
    }
    Ok(next.call(req).await?.map_into_boxed_body())
}

fn is_foreign(req: &ServiceRequest) -> bool {
    let text = |name: &str| req.headers().get(name).map(|v| v.to_str().unwrap_or("?").to_owned());
    if let Some(site) = text("sec-fetch-site") {
        return site != "same-origin" && site != "none";
    }
    let Some(origin) = text(header::ORIGIN.as_str()) else { return false };
    let own = req.app_data::<web::Data<App>>().is_some_and(|app| app.config.base_url == origin);
    let host = text(header::HOST.as_str()).unwrap_or_default();
    let same_host = origin.split_once("://").is_some_and(|(_, h)| h == host);
    !(own || same_host)
}
