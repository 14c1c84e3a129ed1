//! The board as a page, beside a constant page: how many a second, drawn afresh (of a day just read,
//! and of one that is read again) and unchanged; and how long each takes at half that rate. Constant
//! is both a file of about that size from the very same server, with all that stands around a page
//! of it, and a page of exactly that size from a server that does nothing else.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use actix_web::middleware::{Compress, from_fn};
use actix_web::{HttpResponse, HttpServer, rt, web};
use serde_json::json;
use wetside::app::App;
use wetside::db::Tx;
use wetside::sessions;
use wetside::web::{explain, guard_headers, measure as measure_request, recognise, refuse_foreign};

use super::board::fill;
use super::studio::{Engine, Studio, at};

/// Connections that ask at once.
const CLIENTS: usize = 4;
/// How often each is measured, and how long a turn is; the median of the turns counts.
const TURNS: usize = 7;
const TURN: Duration = Duration::from_millis(600);

/// One kept connection, as lean as can be: what the client costs is taken from the server.
struct Client {
    stream: TcpStream,
    buffer: Vec<u8>,
}

impl Client {
    fn new(address: &str) -> Client {
        let stream = TcpStream::connect(address).unwrap();
        stream.set_nodelay(true).unwrap();
        Client { stream, buffer: vec![0; 1 << 20] }
    }

    /// Asks for a page; returns its status and the length of its body.
    fn get(&mut self, path: &str, cookie: &str) -> (u16, usize) {
        let cookie =
            if cookie.is_empty() { String::new() } else { format!("cookie: wetside={cookie}\r\n") };
        let ask = format!("GET {path} HTTP/1.1\r\nhost: localhost\r\n{cookie}\r\n");
        self.stream.write_all(ask.as_bytes()).unwrap();
        let mut have = 0;
        loop {
            have += self.stream.read(&mut self.buffer[have..]).unwrap();
            let Some(head) = self.buffer[..have].windows(4).position(|w| w == b"\r\n\r\n") else {
                continue;
            };
            let text = String::from_utf8_lossy(&self.buffer[..head]).to_ascii_lowercase();
            let status = text.split(' ').nth(1).unwrap().parse().unwrap();
            let length = text.split("content-length: ").nth(1).expect("a length");
            let length: usize = length.split("\r\n").next().unwrap().parse().unwrap();
            while have < head + 4 + length {
                have += self.stream.read(&mut self.buffer[have..]).unwrap();
            }
            return (status, length);
        }
    }
}

/// Pages a second when every client, each with a session of its own, asks as soon as it was answered.
fn rate(address: &str, cookies: &[String], path: impl Fn(usize) -> String + Sync) -> f64 {
    let (next, stop) = (AtomicUsize::new(0), AtomicBool::new(false));
    let begun = Instant::now();
    let ask = |cookie: &str| {
        let mut client = Client::new(address);
        let mut asked = 0;
        while !stop.load(Ordering::Relaxed) {
            let path = path(next.fetch_add(1, Ordering::Relaxed));
            assert_eq!(client.get(&path, cookie).0, 200);
            asked += 1;
        }
        asked
    };
    let ask = &ask;
    let asked: usize = std::thread::scope(|scope| {
        let cookies = cookies.iter().cycle().take(CLIENTS);
        let all: Vec<_> = cookies.map(|cookie| scope.spawn(move || ask(cookie))).collect();
        std::thread::sleep(TURN);
        stop.store(true, Ordering::Relaxed);
        all.into_iter().map(|t| t.join().unwrap()).sum()
    });
    asked as f64 / begun.elapsed().as_secs_f64()
}

/// Median and 99 % of the times when pages are asked for at a fixed rate, whether or not the last
/// was answered: from when each was due.
fn paced(
    address: &str,
    cookies: &[String],
    per_s: f64,
    path: impl Fn(usize) -> String + Sync,
) -> [Duration; 2] {
    let next = AtomicUsize::new(0);
    let mut clients: Vec<Client> = (0..4 * CLIENTS).map(|_| Client::new(address)).collect();
    for client in &mut clients {
        assert_eq!(client.get("/healthz", "").0, 200);
    }
    let begun = Instant::now() + Duration::from_millis(20);
    let ask = |mut client: Client, cookie: &str| {
        let mut times = Vec::new();
        loop {
            let n = next.fetch_add(1, Ordering::Relaxed);
            let due = begun + Duration::from_secs_f64(n as f64 / per_s);
            if due > begun + TURN {
                return times;
            }
            std::thread::sleep(due.saturating_duration_since(Instant::now()));
            assert_eq!(client.get(&path(n), cookie).0, 200);
            times.push(due.elapsed());
        }
    };
    let ask = &ask;
    let mut times: Vec<Duration> = std::thread::scope(|scope| {
        let clients = clients.into_iter().zip(cookies.iter().cycle());
        let all: Vec<_> =
            clients.map(|(client, cookie)| scope.spawn(move || ask(client, cookie))).collect();
        all.into_iter().flat_map(|t| t.join().unwrap()).collect()
    });
    times.sort_unstable();
    [at(&times, 0.5), at(&times, 0.99)]
}

/// Of each place its middle value.
fn middle<T: Copy + PartialOrd, const N: usize>(turns: &[[T; N]]) -> [T; N] {
    std::array::from_fn(|place| {
        let mut values: Vec<T> = turns.iter().map(|turn| turn[place]).collect();
        values.sort_by(|one, other| one.partial_cmp(other).unwrap());
        values[values.len() / 2]
    })
}

/// A server of two workers, as ours has, that answers one page whatever is asked. With an app it
/// has all around it that ours has around every page; without, nothing.
fn constant(length: usize, app: Option<Arc<App>>) -> String {
    let (said, hears) = std::sync::mpsc::channel();
    let data = app.map(web::Data::from);
    std::thread::spawn(move || {
        rt::System::new().block_on(async move {
            let page = web::Bytes::from(vec![b'x'; length]);
            let answer = move || {
                let page = page.clone();
                web::to(move || {
                    let page = page.clone();
                    async move { HttpResponse::Ok().content_type("text/html").body(page) }
                })
            };
            let (address, server) = if let Some(data) = data {
                let server = HttpServer::new(move || {
                    actix_web::App::new()
                        .app_data(data.clone())
                        .default_service(answer())
                        .wrap(from_fn(recognise))
                        .wrap(from_fn(refuse_foreign))
                        .wrap(from_fn(explain))
                        .wrap(from_fn(guard_headers))
                        .wrap(Compress::default())
                        .wrap(from_fn(measure_request))
                });
                let server = server.workers(2).tcp_nodelay(true).bind(("127.0.0.1", 0)).unwrap();
                (server.addrs()[0], server.run())
            } else {
                let server =
                    HttpServer::new(move || actix_web::App::new().default_service(answer()));
                let server = server.workers(2).bind(("127.0.0.1", 0)).unwrap();
                (server.addrs()[0], server.run())
            };
            said.send(address.to_string()).unwrap();
            server.await.unwrap();
        });
    });
    hears.recv().unwrap()
}

pub fn measure(engine: Engine, bookings: i64) {
    let studio = Studio::new(engine);
    fill(&studio, bookings);
    let now = studio.app.clock.now();
    let open = |_| {
        let open = |tx: &mut Tx<'_>| sessions::open(tx, now, studio.member, "bench", "127.0.0.1");
        studio.app.db.write_now(open).unwrap()
    };
    let cookies: Vec<String> = (0..4 * CLIENTS).map(open).collect();
    let nobody = [String::new()];
    let server = studio.serve();
    let address = server.url.trim_start_matches("http://").to_owned();
    let zone = studio.app.zone();
    let date = zone.date(now) + chrono::Days::new(3);
    let board = format!("/board?date={date}");
    let (status, length) = Client::new(&address).get(&board, &cookies[0]);
    assert_eq!(status, 200);
    let (bare, framed) = (constant(length, None), constant(length, Some(studio.app.clone())));
    // More days than are kept: each is read from the database again.
    let again = |n: usize| {
        let day = date + chrono::Days::new(u64::try_from(n % 90).unwrap());
        format!("/board?date={day}&n={n}")
    };
    let root = |_: usize| "/".to_owned();
    // By turns, so that what else the machine does falls on all alike.
    let turns: Vec<[f64; 5]> = (0..TURNS)
        .map(|turn| {
            let new = |n: usize| format!("{board}&turn={turn}&n={n}");
            [
                rate(&bare, &nobody, root),
                rate(&framed, &nobody, root),
                rate(&address, &cookies, |_| board.clone()),
                rate(&address, &cookies, new),
                rate(&address, &cookies, again),
            ]
        })
        .collect();
    let [bare, plain, same, afresh, read] = middle(&turns);
    // Beside each what the machine and the asking itself are late by.
    let turns: Vec<[Duration; 8]> = (0..TURNS)
        .map(|turn| {
            let new = |n: usize| format!("{board}&later={turn}&n={n}");
            let [slow, slow_99] = paced(&address, &cookies, afresh / 2.0, new);
            let [slow_plain, slow_plain_99] = paced(&framed, &nobody, afresh / 2.0, root);
            let [quick, quick_99] = paced(&address, &cookies, same / 2.0, |_| board.clone());
            let [quick_plain, quick_plain_99] = paced(&framed, &nobody, same / 2.0, root);
            [slow, slow_99, slow_plain, slow_plain_99, quick, quick_99, quick_plain, quick_plain_99]
        })
        .collect();
    let [slow, slow_99, slow_plain, slow_plain_99, quick, quick_99, quick_plain, quick_plain_99] =
        middle(&turns);
    println!(
        "pages {engine:?}, {bookings} bookings, {length} octets: constant {plain:.0}/s (from a server \
         of nothing else {bare:.0}/s); unchanged {same:.0}/s ({:.0} %), afresh {afresh:.0}/s ({:.0} %), \
         each day read again {read:.0}/s; at half of it unchanged median {:?}, p99 {:?}, afresh median {:?}, p99 {:?}",
        same / plain * 100.0,
        afresh / plain * 100.0,
        quick,
        quick_99,
        slow,
        slow_99,
    );
    let line = json!({
        "part": "pages", "engine": format!("{engine:?}"), "bookings": bookings, "octets": length,
        "constant_per_s": plain, "bare_constant_per_s": bare, "unchanged_per_s": same, "afresh_per_s": afresh,
        "read_again_per_s": read,
        "unchanged_share": same / plain, "afresh_share": afresh / plain,
        "unchanged_median_us": quick.as_micros() as u64,
        "unchanged_p99_us": quick_99.as_micros() as u64,
        "afresh_median_us": slow.as_micros() as u64,
        "afresh_p99_us": slow_99.as_micros() as u64,
        "unchanged_rate_constant_median_us": quick_plain.as_micros() as u64,
        "unchanged_rate_constant_p99_us": quick_plain_99.as_micros() as u64,
        "afresh_rate_constant_median_us": slow_plain.as_micros() as u64,
        "afresh_rate_constant_p99_us": slow_plain_99.as_micros() as u64,
    });
    println!("{line}");
}
