#!/usr/bin/env python3
"""What one studio costs: processor time a page, a commit, a sign-in and a quiet minute; memory; bytes a year.

    ops/bench/capacity.py PROGRAM [--quick] [--json FILE] [--postgres URL]

Counted in processor time of the server and of PostgreSQL, not in seconds on the wall, so that what else the
machine does hardly shows. The studio has one year behind it (years.py). From these figures ops/capacity.md
works out how many studios a machine can carry.
"""
import argparse, datetime, http.client, json, os, pathlib, sqlite3, subprocess, sys, tempfile, threading, time, urllib.parse

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tests" / "mail"))
from running import free_port  # noqa: E402
from chart_and_rolls import Postgres, Sqlite, invented, start
from years import bookings, resident, session

TICK = os.sysconf("SC_CLK_TCK")
PAGES = {"front page": "/", "day board, changed": "/board?n={n}", "day board, unchanged": "/board", "rolls": "/rolls", "chart": "/chart",
         "baths": "/baths", "notes": "/notes", "own bookings": "/bookings", "API: board": "/api/v1/board?date={date}"}


def spent(pid, with_children=False):
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return sum(map(int, fields[11:15] if with_children else fields[11:13])) / TICK


class Meter:
    """Processor seconds of the server and, if there is one, of the PostgreSQL that serves it."""

    def __init__(self, pid, database):
        self.pid, self.keeper = pid, None
        if isinstance(database, Postgres):
            # The postmaster is the parent of whoever answers.
            backend = database.psql("SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid() LIMIT 1")
            self.keeper = int(pathlib.Path(f"/proc/{int(backend)}/stat").read_text().rsplit(")", 1)[1].split()[1])

    def read(self):
        base = 0.0
        if self.keeper:
            children = pathlib.Path(f"/proc/{self.keeper}/task/{self.keeper}/children").read_text().split()
            base = spent(self.keeper, True)
            for child in children:
                try:
                    base += spent(child)
                except OSError:
                    pass
        return spent(self.pid), base

    def of(self, work, count):
        """(server, database) in milliseconds each, and how many a second went through."""
        before, began = self.read(), time.perf_counter()
        work()
        took, after = time.perf_counter() - began, self.read()
        return [(b - a) * 1000 / count for a, b in zip(before, after)] + [count / took]


class Line:
    """A kept connection."""

    def __init__(self, url, headers):
        at = urllib.parse.urlsplit(url)
        self.link, self.headers = http.client.HTTPConnection(at.hostname, at.port, timeout=60), headers

    def ask(self, method, path, body=None, more=()):
        self.link.request(method, path, body, {**self.headers, **dict(more)})
        answer = self.link.getresponse()
        return answer.status, answer.read()


def at_once(works):
    threads = [threading.Thread(target=w) for w in works]
    for t in threads:
        t.start()
    for t in threads:
        t.join()


def measure(program, folder, database, quick):
    server, _ = start(program, folder, database)
    server.terminate()
    server.wait()
    size = lambda: int(database.psql("SELECT pg_database_size(current_database())")) if isinstance(database, Postgres) else sum(
        f.stat().st_size for f in pathlib.Path(folder).glob("wetside.db*"))
    empty = size()
    beats = []
    if isinstance(database, Sqlite):
        with sqlite3.connect(database.path) as base:
            beats = base.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%beat'").fetchall()
            for name, _ in beats:
                base.execute(f"DROP TRIGGER {name}")
    database.fill(bookings(12_000))
    database.fill(invented(4_000, 500))
    if beats:
        with sqlite3.connect(database.path) as base:
            for _, sql in beats:
                base.execute(sql)
        base.close()
        with sqlite3.connect(database.path) as base:
            base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        base.close()
    found = {"mib_a_year": (size() - empty) / 2**20}
    server, said = start(program, folder, database)
    try:
        time.sleep(3)
        found["idle_mib"] = resident(server.pid)
        cookie = session(said)
        lead = next(p for p in said["people"] if p["role"] == "lead")
        wish = json.dumps({"email": lead["email"], "password": lead["password"], "label": "capacity"}).encode()
        _, text = Line(said["url"], {"content-type": "application/json"}).ask("POST", "/api/v1/tokens", wish)
        token = {"authorization": f"Bearer {json.loads(text)['token']}", "content-type": "application/json"}
        meter, turns = Meter(server.pid, database), 60 if quick else 300
        day = lambda n: (datetime.date.today() + datetime.timedelta(days=n)).isoformat()
        # Before anybody comes: afterwards there are letters to send.
        rest = 15 if quick else 60
        found["quiet_minute"] = [ms * 60 for ms in meter.of(lambda: time.sleep(rest), rest)[:2]]
        found["pages"] = {}
        for name, path in PAGES.items():
            headers = {"cookie": cookie, "accept-encoding": "gzip", **(token if path.startswith("/api") else {})}

            def pages(count):
                line = Line(said["url"], headers)
                for n in range(count):
                    status, _ = line.ask("GET", path.format(n=n + count * 1000, date=day(2)))
                    assert status == 200, (path, status)

            pages(5)
            found["pages"][name] = meter.of(lambda: at_once([lambda: pages(turns // 2)] * 2), turns // 2 * 2)
        _, text = Line(said["url"], token).ask("GET", "/api/v1/sinks")
        sinks = [s["id"] for s in json.loads(text)["items"]]
        slots = iter([(sink, day(15 + n), quarter) for n in range(20) for quarter in range(32) for sink in sinks[:2]])
        made, guard = [0], threading.Lock()

        def book(count):
            line = Line(said["url"], token)
            for _ in range(count):
                with guard:
                    sink, date, quarter = next(slots)
                minute = 10 * 60 + quarter * 15
                starts = f"{date}T{minute // 60:02}:{minute % 60:02}:00Z"
                ends = f"{date}T{(minute + 15) // 60:02}:{(minute + 15) % 60:02}:00Z"
                status, text = line.ask("POST", "/api/v1/bookings", json.dumps({"sink_id": sink, "starts": starts, "ends": ends}).encode())
                assert status in (201, 409, 422), text
                made[0] += status == 201

        count = 100 if quick else 600
        found["booking"] = meter.of(lambda: at_once([lambda: book(count // 4)] * 4), count)
        found["booked"] = made[0] / count
        found["sign_in"] = meter.of(lambda: [session(said) for _ in range(4)], 4)
        found["busy_mib"] = resident(server.pid)
        if isinstance(database, Postgres):
            found["connections"] = int(database.psql("SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"))
    finally:
        server.terminate()
        server.wait()
    return found


def memory_of_its_own(pid):
    """MiB, what several processes share (the program itself) divided among them."""
    for line in pathlib.Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
        if line.startswith("Pss:"):
            return int(line.split()[1]) / 1024
    return 0.0


def neighbours(program, folder, url, count, rest):
    """So many quiet studios on one machine: memory of one, processor time of a quiet minute of one, connections of one."""
    servers, names, bases = [], [], []
    try:
        for n in range(count):
            place = os.path.join(folder, f"studio{n}")
            os.mkdir(place)
            env = dict(os.environ, DATABASE_URL="", WETSIDE_DATA_DIR=place, WETSIDE_LISTEN=f"127.0.0.1:{free_port()}", WETSIDE_LOG="warn")
            if url:
                names.append(f"capacity_{os.getpid()}_{n}")
                Postgres(url).psql(f"CREATE DATABASE {names[-1]}")
                bases.append(Postgres(url.rsplit("/", 1)[0] + "/" + names[-1]))
                env["DATABASE_URL"] = bases[-1].url
            servers.append(subprocess.Popen([program, "serve"], env=env, stdout=subprocess.PIPE, text=True))
            assert "Serving" in servers[-1].stdout.readline()
        time.sleep(15)
        meters = [Meter(server.pid, None) for server in servers]
        keeper = Meter(servers[0].pid, bases[0]) if bases else None
        before, base = [m.read()[0] for m in meters], keeper.read()[1] if keeper else 0
        time.sleep(rest)
        spent = sum(m.read()[0] - b for m, b in zip(meters, before))
        base = (keeper.read()[1] if keeper else 0) - base
        found = {"studios": count, "mib": sum(memory_of_its_own(s.pid) for s in servers) / count,
                 "quiet_minute": [spent * 60_000 / rest / count, base * 60_000 / rest / count]}
        if bases:
            found["connections"] = int(Postgres(url).psql("SELECT count(*) FROM pg_stat_activity WHERE datname LIKE 'capacity_%'")) / count
        return found
    finally:
        for server in servers:
            server.terminate()
        for server in servers:
            server.wait()
        for name in names:
            Postgres(url).psql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")


def main():
    wish = argparse.ArgumentParser()
    wish.add_argument("program")
    wish.add_argument("--quick", action="store_true")
    wish.add_argument("--json")
    wish.add_argument("--postgres")
    wish = wish.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        database, name = Sqlite(folder), None
        if wish.postgres:
            name = f"capacity_{os.getpid()}"
            Postgres(wish.postgres).psql(f"CREATE DATABASE {name}")
            database = Postgres(wish.postgres.rsplit("/", 1)[0] + "/" + name)
        try:
            found = measure(os.path.abspath(wish.program), folder, database, wish.quick)
        finally:
            if name:
                Postgres(wish.postgres).psql(f"DROP DATABASE {name} WITH (FORCE)")
        found["neighbours"] = neighbours(os.path.abspath(wish.program), folder, wish.postgres, 4 if wish.quick else 12, 15 if wish.quick else 60)
    print(f"{'processor time, ms':<24}{'server':>9}{'database':>10}{'a second':>10}")
    for what, row in {**found["pages"], "a booking": found["booking"], "a sign-in": found["sign_in"]}.items():
        print(f"{what:<24}{row[0]:>9.2f}{row[1]:>10.2f}{row[2]:>10.0f}")
    print(f"{'a quiet minute':<24}{found['quiet_minute'][0]:>9.0f}{found['quiet_minute'][1]:>10.0f}")
    print(f"{found['booked']:.0%} of the bookings were made; memory {found['idle_mib']:.1f} MiB at rest, {found['busy_mib']:.1f} after the work; "
          f"{found['mib_a_year']:.1f} MiB a year" + (f"; {found['connections']} connections" if "connections" in found else ""))
    n = found["neighbours"]
    print(f"{n['studios']} quiet studios side by side: {n['mib']:.1f} MiB each, a quiet minute {n['quiet_minute'][0]:.0f} ms of the server"
          + (f" and {n['quiet_minute'][1]:.0f} ms of the database, {n['connections']:.1f} connections each" if "connections" in n else ""))
    if wish.json:
        pathlib.Path(wish.json).write_text(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
