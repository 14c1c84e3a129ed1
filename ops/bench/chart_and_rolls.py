#!/usr/bin/env python3
"""Times the pages of the chart and the rolls with many rows beside few.

    ops/bench/chart_and_rolls.py PROGRAM [--quick] [--rounds N] [--json FILE] [--postgres URL]

It fills an invented studio, adds rolls and recipes straight into its database, starts the
program and asks for each page again and again. What counts is the ratio: the time with 100,000 rolls
and 5,000 recipes divided by that with 1,000 rolls and 100 recipes, both studios asked by turns.
Both know the same 300 films, which their pages list; with few recipes only the first six of them
are on the chart and shot, so that a film has as many recipes here as there.
On SQLite, where all the work is the program's own, its processor time is compared besides, which a
busy machine disturbs less. With --postgres the server itself is asked after each page which of the
large tables it has read from end to end (the rows it read without a key, pg_stat_user_tables): there must be none.
"""
import argparse, glob, json, os, random, signal, statistics, subprocess, sys, tempfile, time
import urllib.parse, urllib.request

# Each page shows as many rows with few as with many, so that only the finding differs.
PAGES = {
    "chart": "/chart",
    "chart, searched": "/chart?search=film+105",
    "chart, on the shelf": "/chart?on_hand=yes",
    "chart, later page": "/chart?after_film=Film%20130&after_ei=200&after_id=1",
    "one recipe with its time": "/chart/{recipe}?at=21",
    "all rolls": "/rolls",
    "rolls, searched": "/rolls?search=film+105",
    "rolls ready": "/rolls?state=ready",
    "rolls of a year": "/rolls?from=2024-01-01&to=2024-12-31",
    "rolls, later page": "/rolls?after=1767225600&after_id=1",
    "one roll": "/rolls/{ticket}",
    "results of a film at 800": "/rolls/results?film={film}&ei=800",
    "results, a word nobody wrote": "/rolls/results?search=xyzzy",
    "results, a rare word": "/rolls/results?search=halo",
    "results, a common word": "/rolls/results?search=saltmarsh+thin",
    "results, milky ones": "/rolls/results?look=milky",
    "anything, found": "/find?words=film+105",
    "anything, a word nobody wrote": "/find?words=xyzzy",
    "runs my rolls could join": "/rolls/runs",
    "hand in": "/rolls/new",
    "API: recipes": "/api/v1/recipes",
    "API: rolls": "/api/v1/rolls",
    "API: rolls of a year": "/api/v1/rolls?from=2024-01-01&to=2024-12-31",
}
LARGE = ("rolls", "recipes", "roll_events", "processing_records", "result_notes", "result_words")
FILMS = 300
LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"


def ticket(number):
    values = []
    for _ in range(5):
        values.insert(0, number % 31)
        number //= 31
    values.append(sum(v * w for v, w in zip(values, range(2, 7))) % 31)
    return "".join(LETTERS[v] for v in values)


class Sqlite:
    def __init__(self, folder):
        self.path = os.path.join(folder, "wetside.db")

    def env(self):
        return {"DATABASE_URL": f"sqlite:{self.path}"}

    def fill(self, tables):
        import sqlite3
        db = sqlite3.connect(self.path)
        ids = lambda sql: [r[0] for r in db.execute(sql)]
        for table, columns, rows in tables(ids):
            marks = ", ".join("?" * len(columns))
            db.executemany(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})", rows)
        db.commit()
        # As the program does once a day.
        db.executescript("PRAGMA analysis_limit=1000; ANALYZE")
        db.commit()
        db.close()


class Postgres:
    def __init__(self, url):
        self.url = url

    def env(self):
        return {"DATABASE_URL": self.url}

    def psql(self, sql, *more, data=None):
        at = urllib.parse.urlsplit(self.url)
        # In the environment, where no complaint about a failed command repeats the password.
        env = {**os.environ, "PGHOST": at.hostname, "PGPORT": str(at.port or 5432), "PGUSER": at.username or "",
               "PGPASSWORD": urllib.parse.unquote(at.password or ""), "PGDATABASE": at.path.strip("/")}
        done = subprocess.run(["psql", "-qXAt", "-v", "ON_ERROR_STOP=1", "-c", sql, *more],
                              input=data, text=True, capture_output=True, env=env)
        if done.returncode:
            sys.exit(f"psql could not do “{sql[:80]}”: {done.stderr.strip()}")
        return done.stdout

    def fill(self, tables):
        ids = lambda sql: self.psql(sql).split()
        for table, columns, rows in tables(ids):
            plain = lambda v: "t" if v is True else "f" if v is False else "\\N" if v is None else str(v)
            data = "".join("\t".join(map(plain, row)) + "\n" for row in rows)
            self.psql(f"COPY {table} ({', '.join(columns)}) FROM STDIN", data=data)
        for table in ("films", *LARGE[:-1]):
            self.psql(f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), (SELECT MAX(id) FROM {table}))")
        self.psql("ANALYZE")

    def hand_in(self):
        """Lets every connection hand in its counts, which it does in the end when it is closed."""
        own = "FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
        pids = ", ".join(self.psql(f"SELECT pid {own} AND backend_type = 'client backend'").split())
        if pids:
            self.psql(f"SELECT pg_terminate_backend(pid) FROM unnest(ARRAY[{pids}]) pid")
        while pids and self.psql(f"SELECT pid FROM pg_stat_activity WHERE pid IN ({pids})").split():
            time.sleep(0.05)

    def read_whole(self):
        """Of each large table, how many rows were read without a key so far, and how many there are."""
        names = ", ".join(f"'{t}'" for t in LARGE)
        found = self.psql(f"SELECT relname, seq_tup_read, n_live_tup FROM pg_stat_user_tables WHERE relname IN ({names})")
        return {name: (int(read), int(rows)) for name, read, rows in (line.split("|") for line in found.split())}


def scans(asker, database):
    """How often the pages read a large table from end to end, by page where it happens at all."""
    def after(paths):
        before = database.read_whole()
        turns = 10
        for path in paths:
            for _ in range(turns):
                asker.ask(path)
        database.hand_in()
        now = database.read_whole()
        # A reading that stops after its limit reads no table whole.
        return sorted(t for t in LARGE if now[t][0] - before[t][0] >= now[t][1] * turns / 2)

    database.hand_in()
    if not after(PAGES.values()):
        return {"all pages": []}
    return {name: after([path]) for name, path in PAGES.items()}


def invented(rolls, recipes):
    """Rows of an old studio: films, recipes, rolls, their steps, records and results."""
    dice = random.Random(7)
    begin, span = 1_609_459_200, 5 * 365 * 86_400

    def tables(ids):
        members = ids("SELECT id FROM members WHERE role <> 'newcomer' ORDER BY id")
        developers = ids("SELECT id FROM developers ORDER BY id")
        # The demonstration's own rolls have tickets by chance.
        taken = {str(t) for t in ids("SELECT ticket FROM rolls")}
        tickets = (t for t in map(ticket, range(7_000_000, 28_000_000)) if t not in taken)
        films = [1000 + n for n in range(FILMS)]
        yield ("films", ["id", "name", "speed", "tabular", "formats"],
               [(f, f"Film {f - 900}", 100, False, "") for f in films])
        films = films[:max(6, min(FILMS, recipes // 16))]
        kinds = [(f, ei, d) for f in films for ei in (100, 200, 400, 800) for d in developers]
        dice.shuffle(kinds)
        rows = []
        for n in range(recipes):
            film, ei, developer = kinds[n % len(kinds)]
            id = 10_000 + n
            rows.append((id, film, ei, developer, 20_000, "continuous", 60, 480, f"Sheet {n}",
                         begin, id, 1, "approved", f"Kind {n // len(kinds)}", ""))
        yield ("recipes", ["id", "film_id", "ei", "developer_id", "temperature_mc", "agitation",
                           "pre_soak_s", "time_s", "source", "entered_s", "line_id", "number", "state",
                           "contrast", "why"], rows)
        made, steps, records, results, words = [], [], [], [], []
        # The same few of the unusual in both studios.
        unusual = max(3, rolls // 60 * 3)
        for n in range(rolls):
            id, at = 100_000 + n, begin + span * n // rolls
            film, member, ei = dice.choice(films), dice.choice(members), dice.choice((100, 200, 400, 800))
            state, left = "picked_up", rolls - n
            if left <= 60:
                # What is still in the house is the same in both studios.
                state = ("ready", "on_the_hook", "handed_in")[left % 3]
                film, member, ei = films[left % 6], members[left % len(members)], 100
            made.append((id, next(tickets), member, film, "135-36", ei, state, "", at, 1, at))
            for k, word in enumerate(("handed_in", "planned", "loaded", "on_the_hook", "ready", "picked_up")):
                steps.append((3_000_000 + 6 * n + k, id, at + k * 3600, member, word, ""))
            records.append((400_000 + n, id, at, member, film, ei, "135-36", "Saltmarsh concentrate, 1+31",
                            "continuous", "Tank A", 9500, 294_500, 20_000, 480, "[]", ""))
            words += [(word, id) for word in ("saltmarsh", "concentrate", "1", "31")]
            if n % 3 == 0:
                look, note = dice.choice(("good", "thin", "dense")), "A little thin"
                if n % unusual == 0:
                    look, note = "milky", "A halo at the edges"
                results.append((800_000 + n, id, at, member, look, note))
                words += [(word.lower(), id) for word in note.split()]
        yield ("rolls", ["id", "ticket", "member_id", "film_id", "format", "ei", "state", "note",
                         "handed_in_s", "version", "state_s"], made)
        yield ("roll_events", ["id", "roll_id", "at_s", "by_id", "state", "note"], steps)
        yield ("processing_records", ["id", "roll_id", "at_s", "by_id", "film_id", "ei", "format", "developer",
                                      "agitation", "tank", "concentrate_ul", "water_ul", "planned_mc",
                                      "planned_s", "baths", "note"], records)
        yield ("result_notes", ["id", "roll_id", "at_s", "by_id", "look", "note"], results)
        yield ("result_words", ["word", "roll_id"], sorted(words))

    return tables


class Asked(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None


def start(program, folder, database):
    env = {**os.environ, **database.env(), "WETSIDE_DATA_DIR": folder}
    server = subprocess.Popen([program, "demo", "--json", "--port", "0", "--keep", folder],
                              stdout=subprocess.PIPE, text=True, env=env)
    return server, json.loads(server.stdout.readline())


def stop(server):
    server.send_signal(signal.SIGTERM)
    server.wait(30)


class Asker:
    """One running studio, asked by its lead."""

    def __init__(self, program, folder, database):
        self.server, told = start(program, folder, database)
        self.url, lead = told["url"], next(p for p in told["people"] if p["role"] == "lead")
        self.opener = urllib.request.build_opener(Asked, urllib.request.HTTPCookieProcessor())
        form = urllib.parse.urlencode({"email": lead["email"], "password": lead["password"]}).encode()
        try:
            self.opener.open(urllib.request.Request(f"{self.url}/sign-in", form, {"sec-fetch-site": "same-origin"}))
        except urllib.error.HTTPError as e:
            assert e.code == 303, e
        body = json.dumps({**{k: lead[k] for k in ("email", "password")}, "label": "bench"}).encode()
        self.token = json.load(urllib.request.urlopen(urllib.request.Request(
            f"{self.url}/api/v1/tokens", body, {"content-type": "application/json"})))["token"]

    def ask(self, path):
        """Milliseconds until the whole answer is there."""
        path = path.format(recipe=10_010, ticket=ticket(7_000_500), film=1001)
        headers = {"authorization": f"Bearer {self.token}"} if path.startswith("/api/") else {}
        began = time.perf_counter()
        answer = self.opener.open(urllib.request.Request(self.url + path, headers=headers))
        text = answer.read()
        assert answer.status == 200 and text, path
        return (time.perf_counter() - began) * 1000

    def worked(self):
        """Milliseconds of processor time that the program has had; 0 where the system does not say."""
        tasks = glob.glob(f"/proc/{self.server.pid}/task/*/schedstat")
        return sum(int(open(task).read().split()[0]) for task in tasks) / 1e6


def studio(program, folder, url, name, rows):
    """A studio filled with so many rolls and recipes, running."""
    os.mkdir(os.path.join(folder, name))
    folder = os.path.join(folder, name)
    if url:
        base = Postgres(url)
        base.psql(f"DROP DATABASE IF EXISTS wetside_bench_{name}")
        base.psql(f"CREATE DATABASE wetside_bench_{name}")
        database = Postgres(f"{url.rsplit('/', 1)[0]}/wetside_bench_{name}")
    else:
        database = Sqlite(folder)
    stop(start(program, folder, database)[0])
    database.fill(invented(*rows))
    asker = Asker(program, folder, database)
    asker.database = database
    return asker


def main():
    asked = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    asked.add_argument("program")
    asked.add_argument("--quick", action="store_true")
    asked.add_argument("--rounds", type=int, help="how often each page is asked for")
    asked.add_argument("--json")
    asked.add_argument("--postgres", help="a server's URL; two databases of its own are made there")
    a = asked.parse_args()
    large = (20_000, 2_000) if a.quick else (100_000, 5_000)
    rounds = a.rounds or (30 if a.quick else 80)
    found = {}
    with tempfile.TemporaryDirectory(prefix="wetside-bench-") as folder:
        both = []
        try:
            for name, rows in (("few", (1_000, 100)), ("many", large)):
                both.append(studio(a.program, folder, a.postgres, name, rows))
            for name, path in PAGES.items():
                taken, worked = ([], []), ([], [])
                for n in range(rounds + 3):
                    # By turns, so that what else the machine does falls on both alike.
                    for of, work, asker in zip(taken, worked, both):
                        before = asker.worked()
                        of.append(asker.ask(path))
                        work.append(asker.worked() - before)
                found[name] = [(min(of[3:]), statistics.median(of[3:]), min(work[3:]))
                               for of, work in zip(taken, worked)]
            whole = scans(both[1], both[1].database) if a.postgres else {}
        finally:
            for asker in both:
                stop(asker.server)
    print(f"{'':28} {'few rows':>17} {'many rows':>17}  ratio of the")
    print(f"{'page, ms':28} {'best':>8} {'median':>8} {'best':>8} {'median':>8}  best median own work")
    for name, (few, many) in found.items():
        work = f"{many[2] / few[2]:4.2f}" if few[2] and not a.postgres else ""
        print(f"{name:28} {few[0]:8.1f} {few[1]:8.1f} {many[0]:8.1f} {many[1]:8.1f}  {many[0] / few[0]:4.2f}   {many[1] / few[1]:4.2f}   {work}")
    for name, tables in whole.items():
        print(f"{name:28} {'no large table read whole' if not tables else 'READS WHOLE: ' + ', '.join(tables)}")
    if a.json:
        with open(a.json, "w") as out:
            json.dump({"rolls": large[0], "recipes": large[1], "best_median_and_own_ms": found, "read_whole": whole}, out, indent=1)


if __name__ == "__main__":
    main()
