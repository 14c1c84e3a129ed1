#!/usr/bin/env python3
"""Studios of 1, 5 and 50 years: pages, start, memory, backup and restore, in one run.

    ops/bench/years.py PROGRAM [--quick] [--years N...] [--json FILE] [--postgres URL]

A year is 12,000 bookings, 4,000 rolls with their steps and records, 20,000 letters that left and 20,000 lines
of the trail. It fills the invented studio straight in its database; --quick makes years of a tenth. What
counts is the ratio to the studio of one year, measured in the same run; the milliseconds are this machine's.
"""
import argparse, contextlib, json, os, pathlib, sqlite3, statistics, subprocess, sys, tempfile, time
import urllib.error, urllib.parse, urllib.request

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
from chart_and_rolls import Postgres, Sqlite, invented, start

PAGES = {"front page": "/", "day board": "/board", "week": "/board?view=week", "rolls": "/rolls", "chart": "/chart",
         "baths": "/baths", "who changed what": "/trail", "of one person": "/trail?who=Maren", "people": "/members"}


def bookings(count):
    """Bookings of an hour at two sinks, back from nine days ago, with hold, light, letter and line each."""
    def tables(ids):
        members = ids("SELECT id FROM members WHERE role <> 'newcomer' ORDER BY id")
        sinks = ids("SELECT id FROM sinks ORDER BY id")[:2]
        units = [ids(f"SELECT id FROM units WHERE kind = 'sink_place' AND of_id = {s} AND seat = 1")[0] for s in sinks]
        end = int(time.time()) // 3600 * 3600 - 9 * 86_400
        made, held, sent, lines = [], [], [], []
        for n in range(count):
            id, at, member = 5_000_000 + n, end - n // 2 * 3600, members[n % len(members)]
            day = time.strftime("%Y-%m-%d", time.gmtime(at))
            hour = time.strftime("%H:00", time.gmtime(at))
            made.append((id, member, sinks[n % 2], day, hour, hour, False, at, at + 3600, "booked", "", at, 1))
            held.append((5_000_000 + n, units[n % 2], at, at + 3600, "booking", id))
        for n in range(count * 5 // 3):
            at = end - n * 1800
            sent.append((7_000_000 + n, "booking_made", members[n % len(members)], "", "", "", "", True, f"years {n}",
                         f"years{n}", at, at, 1, at))
            lines.append((7_000_000 + n, at, members[n % len(members)], "page", "POST /bookings", "", None, False))
        yield ("bookings", ["id", "member_id", "sink_id", "date", "from_wall", "to_wall", "second_pass", "from_s", "to_s",
                            "state", "note", "created_s", "version"], made)
        yield ("holds", ["id", "unit_id", "from_s", "to_s", "why", "booking_id"], held)
        yield ("outbox", ["id", "kind", "member_id", "to_name", "to_address", "subject", "body", "optional", "dedupe_key",
                          "message_id", "created_s", "send_after_s", "attempts", "sent_s"], sent)
        yield ("trail", ["id", "at_s", "actor_id", "via", "door", "thing", "owner_id", "only_tried"], lines)
    return tables


class Quiet(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None


def session(said):
    lead = next(p for p in said["people"] if p["role"] == "lead")
    form = urllib.parse.urlencode({"email": lead["email"], "password": lead["password"]}).encode()
    try:
        urllib.request.build_opener(Quiet).open(said["url"] + "/sign-in", form)
    except urllib.error.HTTPError as gone:
        return gone.headers["set-cookie"].split(";")[0]
    raise SystemExit("Nobody could sign in.")


def timed(url, cookie, turns):
    times = []
    for _ in range(turns):
        began = time.perf_counter()
        with urllib.request.urlopen(urllib.request.Request(url, headers={"cookie": cookie})) as answer:
            answer.read()
        times.append((time.perf_counter() - began) * 1000)
    return statistics.median(times)


def seconds(command, env):
    began = time.perf_counter()
    subprocess.run(command, env=env, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def resident(pid):
    for line in pathlib.Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1024
    return 0.0


@contextlib.contextmanager
def nobody_told(database):
    """Each row raises the count of changes; of a million made at once nobody need hear, and to count
    them in one transaction would take longer with each."""
    if isinstance(database, Sqlite):
        with sqlite3.connect(database.path) as db:
            beats = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND name LIKE '%beat'").fetchall()
            for name, _ in beats:
                db.execute(f"DROP TRIGGER {name}")
        yield
        with sqlite3.connect(database.path) as db:
            for _, sql in beats:
                db.execute(sql)
    else:
        found = database.psql("SELECT tgrelid::regclass || ' ' || tgname FROM pg_trigger WHERE tgname LIKE '%beat'")
        beats = [line.split() for line in found.splitlines()]
        for table, name in beats:
            database.psql(f"ALTER TABLE {table} DISABLE TRIGGER {name}")
        yield
        for table, name in beats:
            database.psql(f"ALTER TABLE {table} ENABLE TRIGGER {name}")


def measure(program, folder, database, years, share, turns):
    server, _ = start(program, folder, database)
    server.terminate()
    server.wait()
    count = 12_000 * years // share
    began = time.perf_counter()
    with nobody_told(database):
        database.fill(bookings(count))
        database.fill(invented(count // 3, 500))
    filled = time.perf_counter() - began
    began = time.perf_counter()
    server, said = start(program, folder, database)
    figures = {"years": years, "bookings": count, "filled_s": filled, "start_s": time.perf_counter() - began}
    try:
        figures["idle_mib"] = resident(server.pid)
        cookie = session(said)
        for path in PAGES.values():
            timed(said["url"] + path, cookie, 2)
        figures["pages_ms"] = {name: timed(said["url"] + path, cookie, turns) for name, path in PAGES.items()}
        env = {**os.environ, **database.env(), "WETSIDE_DATA_DIR": folder}
        file = os.path.join(folder, "years.wetside")
        figures["backup_s"] = seconds([program, "backup", file], env)
        figures["backup_mib"] = os.path.getsize(file) / 1024 / 1024
        figures["restore_s"] = seconds([program, "restore", file], env)
    finally:
        server.terminate()
        server.wait()
    return figures


def main():
    wish = argparse.ArgumentParser()
    wish.add_argument("program")
    wish.add_argument("--quick", action="store_true")
    wish.add_argument("--years", type=int, nargs="+", default=[1, 5, 50])
    wish.add_argument("--json")
    wish.add_argument("--postgres")
    wish = wish.parse_args()
    share, turns = (10, 15) if wish.quick else (1, 60)
    found = []
    for years in wish.years:
        with tempfile.TemporaryDirectory() as folder:
            database, name = Sqlite(folder), None
            if wish.postgres:
                name = f"years_{os.getpid()}_{years}"
                Postgres(wish.postgres).psql(f"CREATE DATABASE {name}")
                database = Postgres(wish.postgres.rsplit("/", 1)[0] + "/" + name)
            try:
                found.append(measure(os.path.abspath(wish.program), folder, database, years, share, turns))
            finally:
                if name:
                    Postgres(wish.postgres).psql(f"DROP DATABASE {name} WITH (FORCE)")
    first = found[0]
    print(f"{'':<24}" + "".join(f"{f['years']:>7} years{'':>8}" for f in found))
    for name in PAGES:
        cells = [(f["pages_ms"][name], f["pages_ms"][name] / first["pages_ms"][name]) for f in found]
        print(f"{name:<24}" + "".join(f"{ms:>8.1f} ms {ratio:>6.2f}x" for ms, ratio in cells))
    for name, unit in (("start_s", "s"), ("idle_mib", "MiB"), ("backup_s", "s"), ("backup_mib", "MiB"), ("restore_s", "s")):
        print(f"{name.rsplit('_', 1)[0]:<24}" + "".join(f"{f[name]:>8.2f} {unit:<3}{'':>7}" for f in found))
    if wish.json:
        pathlib.Path(wish.json).write_text(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
