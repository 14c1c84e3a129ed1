//! Both engines hold the same house.

use std::collections::BTreeMap;
use std::fs;
use std::sync::atomic::{AtomicBool, Ordering};

use actix_web::rt;
use diesel::prelude::*;
use diesel::sql_types::{Bool, Text};
use futures_util::future::join;
use wetside::db::{Conn, Together, migrate};
use wetside::error::Error;
use wetside::sessions::Role;

use crate::house::{House, Kind};

#[derive(Debug, PartialEq, Eq, PartialOrd, Ord, QueryableByName)]
struct Column {
    #[diesel(sql_type = Text)]
    table_name: String,
    #[diesel(sql_type = Text)]
    column_name: String,
    #[diesel(sql_type = Bool)]
    nullable: bool,
}

const SQLITE: &str = "SELECT m.name AS table_name, p.name AS column_name, \
    p.\"notnull\" = 0 AND p.pk = 0 AS nullable \
    FROM sqlite_master m JOIN pragma_table_info(m.name) p \
    WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%' AND m.name NOT LIKE '\\_\\_%' ESCAPE '\\'";
const POSTGRES: &str = "SELECT table_name::text, column_name::text, \
    is_nullable = 'YES' AS nullable FROM information_schema.columns \
    WHERE table_schema = 'public' AND table_name NOT LIKE '\\_\\_%'";

/// What the engine says of itself, each asked in its own words.
pub fn asked<T>(house: &House, (sqlite, postgres): (&str, &str)) -> Vec<T>
where
    T: QueryableByName<<Conn as Connection>::Backend> + 'static,
{
    let ask = |conn: &mut Conn| {
        let sql = if matches!(conn, Conn::Sqlite(_)) { sqlite } else { postgres };
        Ok(diesel::sql_query(sql).load(conn)?)
    };
    house.app.db.read_now(ask).unwrap()
}

fn columns(house: &House) -> Vec<Column> {
    let mut found: Vec<Column> = asked(house, (SQLITE, POSTGRES));
    found.sort();
    found
}

#[test]
fn both_engines_have_the_same_tables_and_columns() {
    let (a, b) = (House::open(Kind::Sqlite), House::open(Kind::Postgres));
    let (a, b) = (columns(&a), columns(&b));
    assert!(a.len() > 100, "only {} columns were found", a.len());
    assert_eq!(a, b);
}

#[derive(Debug, QueryableByName)]
struct Key {
    #[diesel(sql_type = Text)]
    table_name: String,
    #[diesel(sql_type = Text)]
    columns: String,
}

const SQLITE_KEYS: &str = "SELECT m.name AS table_name, \
    (SELECT group_concat(c.name, ',') FROM pragma_index_info(i.name) c) AS columns \
    FROM sqlite_master m JOIN pragma_index_list(m.name) i \
    WHERE m.type = 'table' AND i.\"unique\" = 1 AND i.origin IN ('u', 'pk') \
    AND m.name NOT LIKE '\\_\\_%' ESCAPE '\\'";
const POSTGRES_KEYS: &str = "SELECT t.relname::text AS table_name, \
    (SELECT string_agg(a.attname, ',' ORDER BY k.n) FROM unnest(c.conkey) WITH ORDINALITY k(at, n) \
     JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum = k.at) AS columns \
    FROM pg_constraint c JOIN pg_class t ON t.oid = c.conrelid \
    JOIN pg_namespace s ON s.oid = t.relnamespace \
    WHERE s.nspname = 'public' AND c.contype IN ('u', 'p') AND t.relname NOT LIKE '\\_\\_%'";

fn keys(house: &House) -> Vec<String> {
    let found: Vec<Key> = asked(house, (SQLITE_KEYS, POSTGRES_KEYS));
    let mut keys: Vec<String> = found
        .into_iter()
        // A whole-number primary key is the row itself on SQLite and has no index to list.
        .filter(|k| k.columns != "id")
        .map(|k| format!("{} ({})", k.table_name, k.columns))
        .collect();
    keys.sort();
    keys
}

#[test]
fn both_engines_have_the_same_unique_keys() {
    let (a, b) = (House::open(Kind::Sqlite), House::open(Kind::Postgres));
    let (a, b) = (keys(&a), keys(&b));
    assert!(a.len() > 10, "only {} keys were found", a.len());
    assert_eq!(a, b);
}

#[test]
fn both_folders_have_the_same_steps_and_each_can_be_taken_back() {
    let names = |engine: &str| {
        let mut found = BTreeMap::new();
        for entry in fs::read_dir(format!("migrations/{engine}")).unwrap() {
            let entry = entry.unwrap();
            let files = ["up.sql", "down.sql"].map(|f| entry.path().join(f).exists());
            found.insert(entry.file_name().into_string().unwrap(), files);
        }
        found
    };
    assert_eq!(names("sqlite"), names("postgres"));
    assert!(names("sqlite").values().all(|files| *files == [true, true]));
}

on_both!(all_steps_go_down_and_up_again, |house| {
    migrate::down_and_up(house.app.db.engine()).unwrap();
    assert_eq!(migrate::pending(house.app.db.engine()).unwrap(), 0);
});

on_both!(two_servers_may_start_at_once, |house| {
    let engine = house.app.db.engine();
    std::thread::scope(|s| {
        let runs: Vec<_> = (0..4).map(|_| s.spawn(|| migrate::run(engine))).collect();
        for run in runs {
            run.join().unwrap().unwrap();
        }
    });
});

#[derive(QueryableByName)]
struct Level {
    #[diesel(sql_type = Text)]
    level: String,
}

on_both!(what_was_acknowledged_survives_a_power_cut, |house| {
    let asked = house.app.db.write_now(|tx| {
        let sql = match tx.conn() {
            Conn::Sqlite(_) => "SELECT CAST(synchronous AS TEXT) AS level FROM pragma_synchronous",
            Conn::Postgres(_) => "SELECT current_setting('synchronous_commit') AS level",
        };
        Ok(diesel::sql_query(sql).load::<Level>(tx.conn())?)
    });
    let level = &asked.unwrap()[0].level;
    assert!(level == "2" || level == "on", "{level}");
});

on_both!(a_reader_cannot_write, |house| {
    let tried =
        house.app.db.read_now(|conn| Ok(diesel::sql_query("DELETE FROM tries").execute(conn)?));
    assert!(tried.is_err());
});

#[test]
fn connections_that_the_server_cut_are_replaced_and_nobody_notices() {
    let house = House::open(Kind::Postgres);
    let browsers = ["Ana", "Ben", "Cleo", "Dara", "Edda", "Finn", "Gwen", "Hana"]
        .map(|name| house.person(name, Role::Member));
    let cut = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
        WHERE datname = current_database() AND pid <> pg_backend_pid()";
    for (round, browser) in browsers.iter().enumerate() {
        // Several at once, so that several connections stand open, for reading and for changing.
        let together = std::sync::Barrier::new(6);
        std::thread::scope(|scope| {
            for n in 0..6 {
                let (house, together) = (&house, &together);
                scope.spawn(move || {
                    let wait = |c: &mut Conn| {
                        together.wait();
                        diesel::sql_query("SELECT 1").execute(c)?;
                        Ok(())
                    };
                    house.app.db.read_now(wait).unwrap();
                    house.put_person(&format!("Iris {round} {n}"), Role::Member);
                });
            }
        });
        house.app.db.read_now(|c| Ok(diesel::sql_query(cut).execute(c)?)).unwrap();
        browser.get("/rolls").is(200);
        house.app.db.read_now(|c| Ok(diesel::sql_query(cut).execute(c)?)).unwrap();
        browser.post("/me/tokens", &[("label", "Door display")]).is(200);
    }
}

#[test]
fn nobody_waits_for_a_question_that_hangs() {
    static ASKED: AtomicBool = AtomicBool::new(false);
    static ANSWERED: AtomicBool = AtomicBool::new(false);
    fn ask(c: &mut Conn) -> Result<i64, Error> {
        if !ASKED.swap(true, Ordering::SeqCst) {
            diesel::sql_query("SELECT pg_sleep(5)").execute(c)?;
            ANSWERED.store(true, Ordering::SeqCst);
        }
        Ok(7)
    }
    let house = House::open(Kind::Postgres);
    house.person("Ana", Role::Member).get("/me").is(200);
    let together = Together::new(ask);
    rt::System::new().block_on(async {
        let both = join(together.ask(&house.app.db), together.ask(&house.app.db)).await;
        assert_eq!((both.0.unwrap(), both.1.unwrap()), (7, 7));
        assert!(ASKED.load(Ordering::SeqCst) && !ANSWERED.load(Ordering::SeqCst));
    });
}
