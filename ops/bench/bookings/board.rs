//! The board with years of bookings behind it: how long it takes, and by what way it is found.

use std::time::{Duration, Instant};

use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};
use serde_json::json;
use wetside::db::Conn;
use wetside::{bookings, db};

use super::studio::{Engine, Studio, agent, at};

#[derive(QueryableByName)]
struct Count {
    #[diesel(sql_type = BigInt)]
    n: i64,
}

#[derive(QueryableByName)]
struct Line {
    #[diesel(sql_type = Text)]
    detail: String,
}

/// Bookings of an hour at the first two sinks, back from yesterday, with their holds and lights.
const POSTGRES: [&str; 3] = [
    "INSERT INTO bookings (member_id, sink_id, date, from_wall, to_wall, second_pass, from_s, to_s,
         state, note, created_s, version)
     SELECT 3, 1 + n % 2, (to_timestamp(s) AT TIME ZONE 'Europe/Dublin')::date, '10:00', '11:00',
         FALSE, s, s + 3600, 'booked', 'generated', s, 1
     FROM (SELECT n, $1 - (n / 2) * 3600 AS s FROM generate_series(1, $2) n) t",
    "INSERT INTO holds (unit_id, from_s, to_s, why, booking_id)
     SELECT u.id, b.from_s, b.to_s, 'booking', b.id FROM bookings b
     JOIN units u ON u.kind = 'sink_place' AND u.of_id = b.sink_id AND u.seat = 1
     WHERE b.note = 'generated'",
    "INSERT INTO room_lights (room_id, light, from_s, to_s, booking_id)
     SELECT 1, 'white', from_s, to_s, id FROM bookings WHERE note = 'generated'",
];

pub fn fill(studio: &Studio, count: i64) {
    let end = studio.app.clock.now().0 / 3600 * 3600 - 8 * 86_400;
    let filled = studio.app.db.write_now(|tx| {
        let lite = matches!(tx.conn(), Conn::Sqlite(_));
        // Each row raises the count of changes; of a million made at once nobody need hear.
        let quiet = |tx: &mut db::Tx<'_>, verb: &str| {
            for table in ["bookings", "holds"].iter().filter(|_| !lite) {
                let sql = format!("ALTER TABLE {table} {verb} TRIGGER USER");
                diesel::sql_query(sql).execute(tx.conn())?;
            }
            Ok::<(), wetside::error::Error>(())
        };
        if !lite {
            diesel::sql_query("SET LOCAL statement_timeout = 0").execute(tx.conn())?;
        }
        quiet(tx, "DISABLE")?;
        for sql in POSTGRES {
            let sql = if lite { for_sqlite(sql) } else { sql.to_owned() };
            let sql = sql.replace("$1", &end.to_string()).replace("$2", &count.to_string());
            diesel::sql_query(sql).execute(tx.conn())?;
        }
        quiet(tx, "ENABLE")?;
        if !lite {
            diesel::sql_query("ANALYZE").execute(tx.conn())?;
        }
        Ok(())
    });
    filled.unwrap();
    studio.app.db.count_spread().unwrap();
}

fn for_sqlite(sql: &str) -> String {
    sql.replace("(to_timestamp(s) AT TIME ZONE 'Europe/Dublin')::date", "date(s, 'unixepoch')")
        .replace("FALSE", "0")
        .replace(
            "generate_series(1, $2) n",
            "(WITH RECURSIVE g (n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM g WHERE n < $2) \
             SELECT n FROM g)",
        )
}

/// How the board's own questions are answered, in the engine's words.
const QUESTIONS: [&str; 6] = [
    "SELECT units.kind FROM holds JOIN units ON units.id = holds.unit_id
     WHERE holds.from_s > {lo} AND holds.from_s < {hi} AND holds.to_s > {from}",
    "SELECT id FROM outages WHERE to_s > {from} AND from_s <= {lo}",
    "SELECT max(n) FROM day_revisions WHERE id BETWEEN {from} / 86400 AND {hi} / 86400 OR id = -1",
    "SELECT id FROM bookings WHERE id IN (1, 2, 3) AND state = 'booked'",
    "SELECT room_id FROM room_lights WHERE from_s > {lo} AND from_s < {hi} AND to_s > {from}",
    "SELECT from_s FROM bookings WHERE member_id = 3 AND from_s >= {from} AND from_s < {hi}",
];

fn explain(studio: &Studio, from: i64) -> Vec<String> {
    let mut plans = Vec::new();
    for question in QUESTIONS {
        let sql = question
            .replace("{lo}", &(from - 259_200).to_string())
            .replace("{hi}", &(from + 86_400).to_string())
            .replace("{from}", &from.to_string());
        let read = studio.app.db.read_now(|c| match c {
            Conn::Sqlite(c) => {
                let sql = format!("EXPLAIN QUERY PLAN {sql}");
                let lines: Vec<Line> = diesel::sql_query(sql).load(c)?;
                Ok(lines.into_iter().map(|l| l.detail).collect::<Vec<_>>())
            }
            Conn::Postgres(c) => {
                let sql = format!("EXPLAIN {sql}");
                let lines: Vec<Explained> = diesel::sql_query(sql).load(c)?;
                Ok(lines.into_iter().map(|l| l.plan).collect::<Vec<_>>())
            }
        });
        plans.push(read.unwrap().join(" / "));
    }
    plans
}

#[derive(QueryableByName)]
struct Explained {
    #[diesel(sql_type = Text, column_name = "QUERY PLAN")]
    plan: String,
}

/// The board's page and its reading from the database: sorted times of so many turns.
fn times(studio: &Studio, turns: usize) -> (Vec<Duration>, Vec<Duration>) {
    let server = studio.serve();
    let zone = studio.app.zone();
    let date = zone.date(studio.app.clock.now()) + chrono::Days::new(3);
    let (agent, url) = (agent(), format!("{}/api/v1/board?date={date}", server.url));
    let mut reads = Vec::new();
    let mut pages = Vec::new();
    for _ in 0..turns {
        let begun = Instant::now();
        studio.app.db.read_now(|c| bookings::board(c, zone, date)).unwrap();
        reads.push(begun.elapsed());
        let begun = Instant::now();
        let answer =
            agent.get(&url).header("authorization", format!("Bearer {}", studio.token)).call();
        assert_eq!(answer.unwrap().status(), 200);
        pages.push(begun.elapsed());
    }
    reads.sort_unstable();
    pages.sort_unstable();
    (reads, pages)
}

pub fn measure(engine: Engine, sizes: &[i64]) {
    for size in sizes {
        let studio = Studio::new(engine);
        fill(&studio, *size);
        let count = studio.app.db.read_now(|c: &mut db::Conn| {
            let sql = "SELECT count(*) AS n FROM bookings";
            Ok(diesel::sql_query(sql).get_result::<Count>(c)?.n)
        });
        let (reads, pages) = times(&studio, 300);
        println!(
            "board {engine:?}, {} bookings: read {:?} (p99 {:?}), over HTTP {:?} (p99 {:?})",
            count.unwrap(),
            at(&reads, 0.5),
            at(&reads, 0.99),
            at(&pages, 0.5),
            at(&pages, 0.99)
        );
        let zone = studio.app.zone();
        let day = zone.day_start(zone.date(studio.app.clock.now()) + chrono::Days::new(3));
        let plans = explain(&studio, day.0);
        let large = ["holds", "bookings", "room_lights"];
        let sequential = plans.iter().any(|p| {
            large.iter().any(|t| p.contains(&format!("Seq Scan on {t}")))
                || large.iter().any(|t| p.contains(&format!("SCAN {t}")))
        });
        if sequential || Some(size) == sizes.last() {
            plans.iter().for_each(|p| println!("  {p}"));
        }
        let line = json!({
            "part": "board", "engine": format!("{engine:?}"), "bookings": size,
            "read_us": at(&reads, 0.5).as_micros() as u64,
            "read_p99_us": at(&reads, 0.99).as_micros() as u64,
            "http_us": at(&pages, 0.5).as_micros() as u64,
            "http_p99_us": at(&pages, 0.99).as_micros() as u64,
            "sequential_scan": sequential,
        });
        println!("{line}");
    }
}
