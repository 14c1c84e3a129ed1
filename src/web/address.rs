//! The network address a request really came from.

use std::net::IpAddr;

use actix_web::HttpRequest;

use crate::app::App;

/// The client's address: the peer's, or what trusted proxies say of it, read from the right until
/// the first address that is no trusted proxy.
#[must_use]
pub fn client_address(app: &App, req: &HttpRequest) -> String {
    let Some(peer) = req.peer_addr().map(|a| a.ip()) else { return "unknown".to_owned() };
    let trusted = |ip: &IpAddr| app.config.trusted_proxies.iter().any(|net| net.contains(ip));
    if !trusted(&peer) {
        return peer.to_string();
    }
    let forwarded: Vec<IpAddr> = req
        .headers()
        .get_all("x-forwarded-for")
        .filter_map(|v| v.to_str().ok())
        .flat_map(|v| v.split(','))
        .filter_map(|v| v.trim().parse().ok())
        .collect();
    forwarded.iter().rev().find(|ip| !trusted(ip)).unwrap_or(&peer).to_string()
}
