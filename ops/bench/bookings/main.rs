//! Bookings under load: everybody wants the same slots, servers are killed, years of bookings lie
//! behind. Prints a table, and one line of JSON for each part.
//!
//! `cargo run --release --example bookings -- [rush] [kill] [board] [pages] [trail] [--quick]`, with `WETSIDE_BIN`
//! naming the program and `TEST_POSTGRES_URL` a PostgreSQL on which databases may be made.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::str_to_string,
    unreachable_pub,
    clippy::too_many_lines,
    reason = "a measurement that cannot go on stops and says why"
)]

mod board;
mod kill;
mod pages;
mod rush;
mod studio;
mod trail;

use clap::Parser;

/// What to measure.
#[derive(Parser)]
struct Args {
    /// `rush`, `kill`, `board`, `pages`, `trail`; all of them where nothing is said.
    parts: Vec<String>,
    /// A tenth of it.
    #[arg(long)]
    quick: bool,
    /// Clients at once.
    #[arg(long, default_value_t = 64)]
    clients: usize,
    /// Tries of the rush.
    #[arg(long, default_value_t = 10_000)]
    tries: usize,
}

fn main() {
    let args = Args::parse();
    let wants = |part: &str| args.parts.is_empty() || args.parts.iter().any(|p| p == part);
    let share = if args.quick { 10 } else { 1 };
    for engine in [studio::Engine::Sqlite, studio::Engine::Postgres] {
        if wants("rush") {
            // Fewer slots would time the opening of connections.
            rush::measure(engine, args.clients, (args.tries / share, 200));
        }
        if wants("kill") {
            kill::measure(engine, args.clients.min(16), 50 / share);
        }
        if wants("trail") {
            trail::measure(engine, 1000 / share);
        }
        if wants("pages") {
            pages::measure(engine, 60_000 / i64::try_from(share).unwrap());
        }
        if wants("board") {
            let sizes = [600, 60_000, 600_000].map(|n: i64| if args.quick { n / 10 } else { n });
            board::measure(engine, &sizes);
        }
    }
}
