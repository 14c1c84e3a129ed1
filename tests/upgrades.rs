//! A newer program's schema met by an older program: what only adds disturbs nobody, what takes away
//! says so and stops who does not know it.

use std::fs;
use std::time::Duration;

use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection, RunQueryDsl};
use wetside::clock::Moment;
use wetside::db::{Engine, migrate};
use wetside::error::Error;
use wetside::sessions::Role;

use crate::house::{House, Kind};

/// The step with which a schema began to say whom it is for.
const SINCE: u64 = 48;

fn change(house: &House, statements: &[&str]) {
    let done = house.app.db.write_now(|tx| {
        for sql in statements {
            diesel::sql_query(*sql).execute(tx.conn())?;
        }
        Ok(())
    });
    done.unwrap();
}

/// What a newer release's step leaves behind, by that release's number.
const TAKEN: &str = "INSERT INTO __diesel_schema_migrations (version) VALUES ('90000000000001')";

on_both!(a_schema_that_only_grew_serves_the_former_program, |house| {
    let ana = house.person("Ana", Role::Member);
    change(
        house,
        &[
            "ALTER TABLE members ADD COLUMN hue TEXT NOT NULL DEFAULT 'grey'",
            "CREATE TABLE hues (id BIGINT PRIMARY KEY, word TEXT NOT NULL)",
            TAKEN,
        ],
    );
    assert_eq!(migrate::run(house.app.db.engine()).unwrap(), Vec::<String>::new());
    assert_eq!(migrate::pending(house.app.db.engine()).unwrap(), 0);
    ana.get("/readyz").is(200);
    ana.get("/board").is(200);
    ana.post("/me/tokens", &[("label", "Door display")]).is(200);
    house.person("Ben", Role::Member).get("/board").is(200);
    wetside::jobs::tidy(&house.app, Moment(house.app.clock.now().0)).unwrap();
});

on_both!(a_schema_for_newer_programs_is_refused_in_words, |house| {
    let ana = house.person("Ana", Role::Member);
    change(house, &["UPDATE schema_reach SET needs = 90000000000001", TAKEN]);
    let engine = house.app.db.engine();
    let refusals = [
        migrate::run(engine).unwrap_err(),
        migrate::pending(engine).unwrap_err(),
        house.app.db.read_now(migrate::may_go_on).unwrap_err(),
    ];
    for refusal in refusals {
        let Error::Refused { code, sentence } = refusal else { panic!("{refusal:?}") };
        assert_eq!(code, "schema");
        assert!(sentence.contains("needs step 90000000000001"), "{sentence}");
        assert!(sentence.contains("Start the newer program"), "{sentence}");
    }
    ana.get("/readyz").is(503).says("newer program");
});

/// Whoever holds a table keeps a step waiting, and the step keeps nobody waiting who comes after it.
#[test]
fn a_step_that_meets_others_at_work_comes_again() {
    let house = House::open(Kind::Postgres);
    let Engine::Postgres(url) = house.app.db.engine() else { unreachable!() };
    let undone = [
        "DROP TABLE schema_reach",
        "DELETE FROM __diesel_schema_migrations WHERE version = '00000000000048'",
    ];
    change(&house, &undone);
    let mut other = PgConnection::establish(url).unwrap();
    let hold = "BEGIN; LOCK TABLE __diesel_schema_migrations IN EXCLUSIVE MODE";
    other.batch_execute(hold).unwrap();
    let taken = std::thread::scope(|s| {
        let run = s.spawn(|| migrate::run(house.app.db.engine()));
        std::thread::sleep(Duration::from_millis(2500));
        other.batch_execute("COMMIT").unwrap();
        run.join().unwrap()
    });
    assert_eq!(taken.unwrap(), ["00000000000048"]);
}

/// What makes a step one that the former program cannot go on with.
const TAKES_AWAY: [&str; 6] =
    ["DROP TABLE", "DROP COLUMN", "RENAME ", "SET NOT NULL", "ALTER COLUMN", "DROP CONSTRAINT"];

#[test]
fn a_step_that_takes_away_raises_what_a_program_must_know() {
    let mut seen = 0;
    for entry in fs::read_dir("migrations/postgres").unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let number: u64 = name.split('_').next().unwrap().parse().unwrap();
        if number < SINCE {
            continue;
        }
        seen += 1;
        // A file of SQLite belongs to one server, and its tables are often made anew.
        let text = fs::read_to_string(format!("migrations/postgres/{name}/up.sql")).unwrap();
        let code: Vec<&str> = text.lines().map(|l| l.split("--").next().unwrap()).collect();
        let code = code.join(" ").to_uppercase();
        let taken = TAKES_AWAY.iter().find(|words| code.contains(*words));
        let raises = code.contains(&format!("UPDATE SCHEMA_REACH SET NEEDS = {number}"));
        assert!(
            taken.is_none() || raises,
            "{name} has {taken:?}: servers of the former release break while they are replaced. \
             Do it a release later, or: UPDATE schema_reach SET needs = {number}"
        );
    }
    assert!(seen > 0);
}
