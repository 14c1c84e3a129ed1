//! Figures for Prometheus, and one log line a request.

use std::time::Instant;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header;
use actix_web::middleware::Next;
use actix_web::{HttpMessage, HttpRequest, HttpResponse, web};
use prometheus::{
    HistogramOpts, HistogramVec, IntCounterVec, IntGaugeVec, Opts, Registry, TextEncoder,
};
use subtle::ConstantTimeEq;

use super::{Routes, Who};
use crate::app::App;
use crate::error::Error;
use crate::outbox;
use crate::sessions::Person;

/// The figures of one server.
#[derive(Debug)]
pub struct Metrics {
    registry: Registry,
    requests: IntCounterVec,
    seconds: HistogramVec,
    gauges: IntGaugeVec,
    jobs: IntCounterVec,
}

impl Metrics {
    /// All figures at nought.
    ///
    /// # Errors
    /// When two figures share a name.
    pub fn new() -> Result<Metrics, Error> {
        let broken = |e: prometheus::Error| Error::broken("metrics", e);
        let requests = IntCounterVec::new(
            Opts::new("wetside_requests_total", "Requests by route and status"),
            &["method", "route", "status"],
        )
        .map_err(broken)?;
        let seconds = HistogramVec::new(
            HistogramOpts::new("wetside_request_seconds", "Time to answer by route"),
            &["route"],
        )
        .map_err(broken)?;
        let gauges = IntGaugeVec::new(
            Opts::new("wetside_state", "Connections, letters waiting and their age in seconds"),
            &["what"],
        )
        .map_err(broken)?;
        let jobs = IntCounterVec::new(
            Opts::new("wetside_jobs_total", "Background jobs by name and outcome"),
            &["job", "outcome"],
        )
        .map_err(broken)?;
        let registry = Registry::new();
        registry.register(Box::new(requests.clone())).map_err(broken)?;
        registry.register(Box::new(seconds.clone())).map_err(broken)?;
        registry.register(Box::new(gauges.clone())).map_err(broken)?;
        registry.register(Box::new(jobs.clone())).map_err(broken)?;
        Ok(Metrics { registry, requests, seconds, gauges, jobs })
    }

    /// Counts one turn of a background job.
    pub fn job(&self, name: &str, went_well: bool) {
        let outcome = if went_well { "done" } else { "failed" };
        self.jobs.with_label_values(&[name, outcome]).inc();
    }
}

/// Counts and logs every request; addresses are logged as patterns, so that no secret in one
/// reaches the log.
///
/// # Errors
/// Hands on what the inner services say.
pub async fn measure(
    req: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, actix_web::Error> {
    let begun = Instant::now();
    let app = req.app_data::<web::Data<App>>().cloned();
    let method = req.method().to_string();
    let res = next.call(req).await?;
    let route = res.request().match_pattern().unwrap_or_else(|| "none".to_owned());
    let status = res.status().as_u16();
    let seconds = begun.elapsed().as_secs_f64();
    if let Some(app) = app {
        let status = status.to_string();
        app.metrics.requests.with_label_values(&[&method, &route, &status]).inc();
        app.metrics.seconds.with_label_values(&[&route]).observe(seconds);
    }
    let member = res.request().extensions().get::<Person>().map(|p| p.id);
    tracing::info!(method, route, status, seconds, member, "request");
    Ok(res)
}

pub(super) fn routes(open: &mut Routes) {
    open.get("/metrics", Who::Anyone, figures);
}

async fn figures(app: web::Data<App>, req: HttpRequest) -> Result<HttpResponse, Error> {
    let given = req.headers().get(header::AUTHORIZATION).and_then(|v| v.to_str().ok());
    let given = given.and_then(|v| v.strip_prefix("Bearer ")).unwrap_or_default();
    let open = app.config.metrics_token.as_ref().is_some_and(|wanted| {
        !wanted.is_empty() && bool::from(wanted.as_bytes().ct_eq(given.as_bytes()))
    });
    if !open {
        return Err(Error::Forbidden(
            "Figures are shown to whoever sends the metrics_token of the settings.".to_owned(),
        ));
    }
    let now = app.clock.now();
    let depth = app.db.read(move |conn| outbox::depth(conn, now)).await?;
    let (in_use, open_connections) = app.db.pool_state();
    let set = |what: &str, n: i64| app.metrics.gauges.with_label_values(&[what]).set(n);
    set("connections_in_use", i64::from(in_use));
    set("connections_open", i64::from(open_connections));
    set("letters_waiting", depth.waiting);
    set("letters_parked", depth.parked);
    set("oldest_letter_seconds", depth.oldest_s);
    let text = TextEncoder::new()
        .encode_to_string(&app.metrics.registry.gather())
        .map_err(|e| Error::broken("metrics", e))?;
    Ok(HttpResponse::Ok().content_type("text/plain; version=0.0.4; charset=utf-8").body(text))
}
