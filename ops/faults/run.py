#!/usr/bin/env python3
"""Everything that can go wrong beside a server, done to one that is at work, on both databases.

    TEST_POSTGRES_URL=postgres://... ops/faults/run.py PROGRAM [--short] [NAME...]

While two people book, two record uses of a bath and a lead plans and publishes days, the program is
killed, its database is taken away, locked, slowed or filled to the last byte, and backups are cut
short. After each, what must hold is asked straight in SQL (invariants.py), and printed.
"""

import argparse
import contextlib
import os
import pathlib
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time

import invariants
from postgres import SlowWire, Tablespace
from studio import Acknowledged, Crowd, Server, call, wait_until

from outbox import OnPostgres, OnSqlite


class Place:
    """A studio on one engine, with all that was acknowledged in it."""

    def __init__(self, program, name, folder, url=None):
        self.program, self.name, self.folder, self.url = program, name, pathlib.Path(folder), url
        self.folder.mkdir(parents=True, exist_ok=True)
        self.settings = {"WETSIDE_SECRET_KEY_FILE": str(self.folder / "secret.key")}
        if url:
            self.settings["DATABASE_URL"] = url
        self.database = OnPostgres(url) if url else OnSqlite(self.folder / "wetside.db")
        self.server = Server(program, self.folder, self.settings)
        self.done = Acknowledged()

    @property
    def is_sqlite(self):
        return self.url is None

    def crowd(self, seed=7):
        return Crowd(self.server, self.done, random.Random(seed))

    def check(self, fault, said):
        wrong, asked = invariants.check(self.database, self.is_sqlite, self.done)
        verdict = f"{asked} asked, none broken" if not wrong else f"{len(wrong)} of {asked} BROKEN"
        print(f"{self.name:<11}{fault:<22}{self.done.total():>5} acknowledged so far; {said}; {verdict}", flush=True)
        for sentence in wrong:
            print(f"{'':<11}! {sentence}")
        return not wrong


def answers_again(place, seconds=20):
    """The time until a change succeeds again, without the program having been started anew."""
    began = time.monotonic()
    token = None

    def works():
        nonlocal token
        with contextlib.suppress(AssertionError):
            token = token or place.server.token("lead")
        if not token:
            return False
        bath = place.crowd_bath
        note = f"fault-again-{time.monotonic_ns():x}"
        status, _ = call(place.server.url, token, "POST", f"/api/v1/baths/{bath}/uses",
                         {"roll_equivalents": 0.001, "note": note})
        if status == 201:
            place.done.uses.append(note)
        return status == 201

    wait_until("a change succeeds again", works, seconds)
    assert place.server.process.poll() is None, "The program has ended."
    return time.monotonic() - began


def under_load(place, seconds, fault):
    """Runs the fault while people are at work; says which answers they got meanwhile."""
    crowd = place.crowd(seed=int(time.monotonic_ns()) % 1_000_000).start()
    place.crowd_bath = crowd.baths[0]
    place.done.statuses = {}
    try:
        fault(seconds)
    finally:
        crowd.stop()
    seen = dict(sorted(place.done.statuses.items()))
    broken = sum(n for status, n in seen.items() if status >= 500 and status != 503)
    assert not broken, f"Answers that are neither done, refused nor busy: {seen}"
    return " ".join(f"{status or 'none'}:{n}" for status, n in seen.items())


def killed(place, size):
    kills = size(20, 2)
    chance = random.Random(3)
    for n in range(kills):
        crowd = place.crowd(seed=n).start()
        time.sleep(chance.uniform(0.2, 0.9))
        place.server.kill()
        crowd.stop()
        place.server.start()
    return place.check("kill -9", f"killed {kills} times under load")


def locked(place, size):
    """Somebody else holds what every change needs: the file's lock, or the write gate."""
    def fault(seconds):
        if place.is_sqlite:
            other = sqlite3.connect(place.folder / "wetside.db", timeout=20, isolation_level=None)
            other.execute("BEGIN IMMEDIATE")
            time.sleep(seconds)
            reads = place.server.status("/notes")
            other.execute("ROLLBACK")
            other.close()
        else:
            holder = subprocess.Popen([place.database.psql, "-qX", place.url, "-c",
                                       f"BEGIN; LOCK TABLE write_gate IN EXCLUSIVE MODE; SELECT pg_sleep({seconds}); ROLLBACK"],
                                      stdout=subprocess.DEVNULL)
            time.sleep(seconds / 2)
            reads = place.server.status("/notes")
            holder.wait()
        assert reads == 200, f"Reading answers {reads} while changes wait."

    seen = under_load(place, size(12, 2), fault)
    back = answers_again(place)
    return place.check("locked, pool used up", f"reading went on, changes got {seen}; back after {back:.1f} s")


def away(place, size):
    """The database is not there at all (PostgreSQL only: SQLite's is a file held open)."""
    if place.is_sqlite:
        return True

    def fault(seconds):
        name = place.url.rsplit("/", 1)[1].split("?")[0]
        admin = OnPostgres(os.environ["TEST_POSTGRES_URL"])
        admin.rows(f"ALTER DATABASE {name} ALLOW_CONNECTIONS false")
        admin.rows(f"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'")
        time.sleep(seconds)
        ready = place.server.status("/readyz")
        admin.rows(f"ALTER DATABASE {name} ALLOW_CONNECTIONS true")
        assert ready == 503, f"/readyz says {ready} while the database is away."

    seen = under_load(place, size(8, 1.5), fault)
    back = answers_again(place)
    return place.check("database away", f"answers {seen}; back after {back:.1f} s, not started anew")


def slow(place, size):
    """Every answer of the database comes late (PostgreSQL only: SQLite has no wire)."""
    if place.is_sqlite:
        return True
    with SlowWire(place.url, 0.03) as wire, tempfile.TemporaryDirectory() as folder:
        beside = pathlib.Path(folder) / "slowed"
        beside.mkdir()
        shutil.copy(place.folder / "secret.key", beside)
        slowed = Server(place.program, beside, place.settings | {"DATABASE_URL": wire.url})
        usual, place.server = place.server, slowed
        try:
            seen = under_load(place, size(10, 2), time.sleep)
        finally:
            place.server = usual
            slowed.stop()
    return place.check("slow database", f"30 ms more each way, two servers at once: {seen}")


def full(program, root, size, postgres):
    """The disk has no byte left: a small one of its own for SQLite, a small tablespace for PostgreSQL."""
    small = root / ("full-postgres" if postgres else "full-sqlite")
    small.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=24m,mode=0777", "none", str(small)], stderr=subprocess.PIPE)
    if mounted.returncode:
        print(f"{'PostgreSQL' if postgres else 'SQLite':<11}{'disk full':<22}LEFT OUT: this machine lets nobody mount a small disk")
        return True
    try:
        if not postgres:
            place = Place(program, "SQLite", small / "data")
            try:
                return fill_up(place, small, size)
            finally:
                place.server.stop()
        with Tablespace(os.environ["TEST_POSTGRES_URL"], small) as url:
            if url is None:
                print(f"{'PostgreSQL':<11}{'disk full':<22}LEFT OUT: this role may make no tablespace")
                return True
            place = Place(program, "PostgreSQL", root / "full-data", url)
            try:
                return fill_up(place, small, size)
            finally:
                place.server.stop()
    finally:
        subprocess.run(["umount", "-l", str(small)], check=False)


def fill_up(place, small, size):
    stone = small / "stone"

    def fault(seconds):
        with contextlib.suppress(OSError), stone.open("wb") as heap:
            os.posix_fallocate(heap.fileno(), 0, max(shutil.disk_usage(small).free - 8192, 4096))
        with contextlib.suppress(OSError), stone.open("ab") as heap:
            while heap.write(b"\0" * 4096):
                heap.flush()
        time.sleep(seconds)

    seen = under_load(place, size(8, 2), fault)
    assert "503:" in seen, f"Nobody was told that the disk is full: {seen}"
    stone.unlink()
    back = answers_again(place)
    return place.check("disk full", f"answers {seen}; back after {back:.1f} s, not started anew")


def half_a_backup(place, size):
    """Backups killed while they are written, and one cut short: no restore takes them."""
    target, said = place.folder.parent / f"{place.name}-backup.wetside", []
    environment = place.server.environment() | {"WETSIDE_DATA_DIR": str(place.folder)}
    for after in (0.02, 0.05, 0.1, 0.2)[: size(4, 1)]:
        writing = subprocess.Popen([place.program, "backup", str(target)], env=environment,
                                   stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(after)
        writing.kill()
        writing.wait()
        if target.exists():
            said.append("whole")
            target.unlink()
        else:
            said.append("none")
    subprocess.run([place.program, "backup", str(target)], env=environment, check=True, stdout=subprocess.DEVNULL)
    whole = target.read_bytes()
    before = place.database.rows("SELECT count(*) FROM bookings")
    for cut in (len(whole) // 2, len(whole) - 10):
        target.write_bytes(whole[:cut])
        taken = subprocess.run([place.program, "restore", str(target)], env=environment, capture_output=True, text=True)
        assert taken.returncode != 0, "A backup that was cut short was restored."
    assert place.database.rows("SELECT count(*) FROM bookings") == before
    return place.check("half-written backup", f"killed while writing left: {', '.join(said)}; two cut short were refused")


FAULTS = {"killed": killed, "locked": locked, "away": away, "slow": slow, "backup": half_a_backup}


def main():
    wish = argparse.ArgumentParser()
    wish.add_argument("program")
    wish.add_argument("--short", action="store_true")
    wish.add_argument("names", nargs="*")
    wish = wish.parse_intermixed_args()
    program, began = os.path.abspath(wish.program), time.monotonic()
    size = lambda whole, short: short if wish.short else whole
    chosen = lambda name: not wish.names or name in wish.names
    postgres = OnPostgres(os.environ["TEST_POSTGRES_URL"])
    good = []
    with contextlib.ExitStack() as stack:
        root = pathlib.Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="wetside-faults.")))
        root.chmod(0o755)
        for name in ("SQLite", "PostgreSQL"):
            url = postgres.new_database() if name == "PostgreSQL" else None
            if url:
                stack.callback(postgres.drop, url)
            place = Place(program, name, root / name.lower(), url)
            stack.callback(place.server.stop)
            good += [fault(place, size) for key, fault in FAULTS.items() if chosen(key)]
            if chosen("full"):
                good.append(full(program, root, size, postgres=bool(url)))
    print(f"{len(good)} faults done in {time.monotonic() - began:.0f} s, {good.count(False)} of them broke something.")
    if not all(good):
        sys.exit("Something did not hold.")


if __name__ == "__main__":
    main()
