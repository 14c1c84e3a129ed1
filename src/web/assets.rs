//! Static files, embedded in the binary and served under a hash of them all, so that a browser
//! may keep them for ever and relative imports between them still work.

use std::collections::BTreeMap;

use actix_web::http::header;
use actix_web::{HttpResponse, web};
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

use super::{Routes, Who};
use crate::app::App;
use crate::error::Error;

#[derive(RustEmbed)]
#[folder = "static/"]
struct Files;

/// The static files with the hash they are served under.
#[derive(Debug)]
pub struct Assets {
    hash: String,
    files: BTreeMap<String, Vec<u8>>,
}

impl Assets {
    /// Reads the embedded files.
    #[must_use]
    pub fn load() -> Assets {
        let files: BTreeMap<String, Vec<u8>> = Files::iter()
            .filter_map(|name| Files::get(&name).map(|f| (name.to_string(), f.data.into_owned())))
            .collect();
        let mut sum = Sha256::new();
        for (name, data) in &files {
            sum.update(name.as_bytes());
            sum.update(Sha256::digest(data));
        }
        let hash: String = sum.finalize().iter().take(6).map(|b| format!("{b:02x}")).collect();
        Assets { hash, files }
    }

    /// The address of a file, or nothing if there is no such file.
    #[must_use]
    pub fn url(&self, name: &str) -> Option<String> {
        self.files.contains_key(name).then(|| format!("/static/{}/{name}", self.hash))
    }
}

pub(super) fn routes(open: &mut Routes) {
    open.get("/static/{hash}/{name:.+}", Who::Anyone, file);
    open.get("/favicon.ico", Who::Anyone, icon);
}

async fn file(
    app: web::Data<App>,
    path: web::Path<(String, String)>,
    req: actix_web::HttpRequest,
) -> Result<HttpResponse, Error> {
    let (hash, name) = path.into_inner();
    let data = app.assets.files.get(&name).ok_or(Error::NotFound)?;
    let tag = format!("\"{}\"", app.assets.hash);
    let known = req.headers().get(header::IF_NONE_MATCH).is_some_and(|v| v == tag.as_str());
    // An old page may still ask for the files of the version before.
    let keep =
        if hash == app.assets.hash { "public, max-age=31536000, immutable" } else { "no-cache" };
    let mut res = if known { HttpResponse::NotModified() } else { HttpResponse::Ok() };
    res.insert_header((header::CACHE_CONTROL, keep)).insert_header((header::ETAG, tag));
    if known {
        return Ok(res.finish());
    }
    Ok(res.content_type(kind(&name)).body(data.clone()))
}

async fn icon(app: web::Data<App>) -> Result<HttpResponse, Error> {
    let url = app.assets.url("mark.svg").ok_or(Error::NotFound)?;
    Ok(HttpResponse::Found().insert_header((header::LOCATION, url)).finish())
}

fn kind(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("json" | "webmanifest") => "application/json",
        _ => "application/octet-stream",
    }
}
