//! The look a person chose: light, dark, high contrast, dim red, or as the device says.

use actix_web::cookie::{Cookie, SameSite, time::Duration};
use actix_web::{HttpResponse, http::header};

use super::page::{LOOK, LOOKS};
use super::{Filled, Routes, Who};
use crate::error::Error;

pub(super) fn routes(open: &mut Routes) {
    open.post("/look", Who::Anyone, choose);
}

async fn choose(mut filled: Filled) -> Result<HttpResponse, Error> {
    let look = filled.fields.choice("look", "a look", &LOOKS);
    let back = filled.fields.raw("back").to_owned();
    // Only a path of our own: never another site's address.
    let own = back.starts_with('/') && !back.starts_with("//") && !back.contains('\\');
    let back = if own { back } else { "/".to_owned() };
    let Some(look) = look else { return Err(filled.fields.faults()) };
    let cookie = Cookie::build(LOOK, look)
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .max_age(Duration::days(365))
        .finish();
    Ok(HttpResponse::SeeOther().insert_header((header::LOCATION, back)).cookie(cookie).finish())
}
