//! `wetside serve`: the server, its background threads, and how they stop.

use std::net::TcpListener;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

use actix_web::middleware::{Compress, from_fn};
use actix_web::{HttpServer, web};

use crate::app::{self, App};
use crate::clock::Clock;
use crate::config::{Config, LogFormat};
use crate::db::migrate;
use crate::error::Error;
use crate::jobs;
use crate::members;
use crate::outbox::{self, Mailer};
use crate::web::{Routes, explain, guard_headers, measure, recognise, refuse_foreign};

/// Serves until SIGTERM or SIGINT.
///
/// # Errors
/// A sentence about what is in the way of starting.
pub fn run(config: Config) -> Result<(), Error> {
    start_log(&config);
    let mailer = Mailer::from_config(&config)?;
    let app = Arc::new(App::open(config, Clock::Real, mailer)?);
    let listener = listen(&app.config.listen)?;
    println!("Serving {} at {}", app.studio().name, app.config.base_url);
    if let Some(link) = members::first_link(&app)? {
        println!("Nobody is here yet. Make yourself the first lead within a day at {link}");
    }
    serve(&app, listener)
}

/// Starts the log; a second call in one process changes nothing.
pub fn start_log(config: &Config) {
    let filter = tracing_subscriber::EnvFilter::new(&config.log);
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(std::io::stderr);
    let _ = match config.log_format {
        LogFormat::Text => log.with_ansi(false).try_init(),
        LogFormat::Json => log.json().try_init(),
    };
}

/// Takes the address.
///
/// # Errors
/// A sentence when it is taken already.
pub fn listen(address: &str) -> Result<TcpListener, Error> {
    TcpListener::bind(address).map_err(|e| {
        Error::refused("listen", format!("Cannot listen at {address} (setting listen): {e}."))
    })
}

/// Serves on a listener until told to stop by a signal.
///
/// # Errors
/// When the server cannot run.
pub fn serve(app: &Arc<App>, listener: TcpListener) -> Result<(), Error> {
    let stop = Arc::new(AtomicBool::new(false));
    let threads = background(app, &stop)?;
    let served = actix_web::rt::System::new()
        .block_on(async { start(app, listener)?.await.map_err(|e| Error::broken("serving", e)) });
    stop.store(true, Ordering::SeqCst);
    for thread in threads {
        // A thread that panicked has said so in the log.
        let _ = thread.join();
    }
    // The sentence why this program may not go on, where that is what stopped it.
    served.and_then(|()| if outgrown(app) { app.db.read_now(migrate::may_go_on) } else { Ok(()) })
}

fn outgrown(app: &App) -> bool {
    app.outgrown.load(Ordering::SeqCst)
}

/// Starts the server itself, for callers that already have a runtime.
///
/// # Errors
/// When it cannot use the listener.
pub fn start(app: &Arc<App>, listener: TcpListener) -> Result<actix_web::dev::Server, Error> {
    let data = web::Data::from(app.clone());
    let (watch, own) = (app.watch.clone(), app.clone());
    let server = HttpServer::new(move || {
        let mut routes = Routes::default();
        app::routes(&mut routes);
        actix_web::App::new()
            .app_data(data.clone())
            .configure(|cfg| routes.install(cfg))
            .default_service(web::to(|| async {
                Err::<actix_web::HttpResponse, _>(Error::NotFound)
            }))
            // The last named is the first to see a request.
            .wrap(from_fn(recognise))
            .wrap(from_fn(refuse_foreign))
            .wrap(from_fn(explain))
            .wrap(from_fn(guard_headers))
            .wrap(Compress::default())
            .wrap(from_fn(measure))
    })
    .workers(2)
    .worker_max_blocking_threads(64)
    .shutdown_timeout(10)
    .shutdown_signal(async move {
        told_to_stop(&own).await;
        // Open streams would hold up the stopping, so they are the first to go.
        watch.close();
    })
    // A compressed page leaves in several pieces: none waits until the one before is acknowledged.
    .tcp_nodelay(true)
    .client_request_timeout(Duration::from_secs(15))
    .listen(listener)
    .map_err(|e| Error::broken("listening", e))?;
    Ok(server.run())
}

/// Comes back at SIGTERM or SIGINT, or when the database is no longer one for this program.
async fn told_to_stop(app: &App) {
    use actix_web::rt::signal::unix::{SignalKind, signal};
    let (Ok(mut term), Ok(mut int)) =
        (signal(SignalKind::terminate()), signal(SignalKind::interrupt()))
    else {
        tracing::error!("signals cannot be listened for; only a kill stops this server");
        return std::future::pending().await;
    };
    let (term, int) = (std::pin::pin!(term.recv()), std::pin::pin!(int.recv()));
    let passed_by = std::pin::pin!(async {
        while !outgrown(app) {
            actix_web::rt::time::sleep(Duration::from_secs(1)).await;
        }
    });
    futures_util::future::select(futures_util::future::select(term, int), passed_by).await;
}

fn background(app: &Arc<App>, stop: &Arc<AtomicBool>) -> Result<Vec<JoinHandle<()>>, Error> {
    let spawn = |name: &str, work: fn(&App, &AtomicBool)| {
        let (app, stop) = (app.clone(), stop.clone());
        std::thread::Builder::new()
            .name(name.to_owned())
            .spawn(move || work(&app, &stop))
            .map_err(|e| Error::broken("starting a thread", e))
    };
    Ok(vec![
        spawn("outbox", outbox::run)?,
        spawn("jobs", jobs::run)?,
        spawn("hours", jobs::keep_hours)?,
    ])
}
