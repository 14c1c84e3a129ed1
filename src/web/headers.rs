//! Headers that keep a page from being framed, sniffed, leaked or made to load anything foreign.

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{self, HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{HttpMessage, web};

use crate::app::App;
use crate::sessions::Person;

const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
    img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'; \
    frame-ancestors 'none'; manifest-src 'self'; worker-src 'self'";

const ALWAYS: [(&str, &str); 6] = [
    ("content-security-policy", POLICY),
    ("x-content-type-options", "nosniff"),
    // Not `no-referrer`: browsers would then send forms with the origin "null".
    ("referrer-policy", "same-origin"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    ("permissions-policy", "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=()"),
];

/// Adds the headers to every answer.
///
/// # Errors
/// Hands on what the inner services say.
pub async fn guard_headers(
    req: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, actix_web::Error> {
    let https = req.app_data::<web::Data<App>>().is_some_and(|app| app.config.is_https());
    let mut res = next.call(req).await?;
    let signed_in = res.request().extensions().contains::<Person>();
    let headers = res.headers_mut();
    for (name, value) in ALWAYS {
        headers.insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    if https {
        headers.insert(
            header::STRICT_TRANSPORT_SECURITY,
            HeaderValue::from_static("max-age=31536000; includeSubDomains"),
        );
    }
    if !headers.contains_key(header::CACHE_CONTROL) {
        let value = if signed_in { "no-store" } else { "no-cache" };
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static(value));
    }
    Ok(res)
}
