//! The whole studio in one file: from either database to the other, or not at all.

use std::fs;
use std::path::Path;

use wetside::db::portable;
use wetside::sessions::Role;
use wetside::{demo, jobs, studio};

use crate::house::{House, Kind};

/// The bytes of a backup of this house, its moment set aside.
fn written(house: &House, file: &Path) -> Vec<u8> {
    portable::write(&house.app.db, file, "2027-03-15T10:00:00+00:00").unwrap();
    fs::read(file).unwrap()
}

fn restored(house: &House, file: &Path) -> Result<portable::Held, wetside::error::Error> {
    portable::restore(&house.app.db, file, |tx| studio::adopt(tx, &house.app.key))
}

fn moves(from: Kind, to: Kind) {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let (old, new) = (House::open(from), House::open(to));
    demo::fill(&old.app).unwrap();
    new.put_person("Somebody Else", Role::Lead);
    let before = written(&old, &at("before"));
    // As if nothing else were different: the key is the one thing a restore replaces.
    let held = portable::restore(&new.app.db, &at("before"), |_| Ok(())).unwrap();
    assert!(held.rows > 100 && held.tables > 20, "{held:?}");
    assert!(before == written(&new, &at("after")), "the same studio has the same bytes");
    restored(&new, &at("before")).unwrap();
    // The studio lives on: ids go on after the highest, the guards stand.
    let ana = new.person("Late Comer", Role::Lead);
    ana.get("/members").is(200).says("Late Comer");
    let edited = new.app.db.write_now(|tx| {
        let sql = "UPDATE bath_entries SET note = 'edited'";
        Ok(diesel::RunQueryDsl::execute(diesel::sql_query(sql), tx.conn())?)
    });
    assert!(edited.is_err(), "a ledger is still never edited");
}

#[test]
fn a_studio_moves_from_sqlite_to_postgres() {
    moves(Kind::Sqlite, Kind::Postgres);
}

#[test]
fn a_studio_moves_from_postgres_to_sqlite() {
    moves(Kind::Postgres, Kind::Sqlite);
}

on_both!(a_damaged_backup_changes_nothing, |house| {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    house.put_person("Ana", Role::Lead);
    let whole = String::from_utf8(written(house, &at("whole"))).unwrap();
    house.put_person("Ben", Role::Member);
    let present = written(house, &at("present"));
    let lines: Vec<&str> = whole.lines().collect();
    let middle = lines.len() / 2;
    let cut = lines[..middle].join("\n");
    let changed = whole.replace("Ana", "Eva");
    let longer = format!("{whole}more\n");
    let other = whole.replacen("\"wetside_backup\":1", "\"wetside_backup\":9", 1);
    for (name, text) in [
        ("cut", cut),
        ("changed", changed),
        ("longer", longer),
        ("other", other),
        ("empty", String::new()),
    ] {
        fs::write(at(name), text).unwrap();
        let refusal = restored(house, &at(name)).unwrap_err().to_string();
        assert!(refusal.contains("not a whole backup: line"), "{name}: {refusal}");
    }
    assert!(restored(house, &at("missing")).unwrap_err().to_string().contains("cannot be read"));
    assert!(present == written(house, &at("now")), "the studio is as it was");
    restored(house, &at("whole")).unwrap();
    assert!(!String::from_utf8(written(house, &at("now"))).unwrap().contains("Ben"));
});

#[test]
fn daily_backups_rotate() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("backups");
    let house = House::open_with(Kind::Sqlite, |config| {
        config.backup_folder = Some(place.clone());
        config.backup_keep = 2;
    });
    fs::create_dir_all(&place).unwrap();
    fs::write(place.join("wetside-mine.wetside"), "not ours").unwrap();
    for _ in 0..4 {
        assert!(jobs::back_up(&house.app, house.clock.now()).unwrap());
        assert!(!jobs::back_up(&house.app, house.clock.now()).unwrap(), "once a day");
        house.clock.advance(86_400);
    }
    let mut names: Vec<String> = fs::read_dir(&place)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let wanted =
        ["wetside-2027-03-17.wetside", "wetside-2027-03-18.wetside", "wetside-mine.wetside"];
    assert_eq!(names, wanted);
    portable::check(&place.join(wanted[0])).unwrap();
}
