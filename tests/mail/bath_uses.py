#!/usr/bin/env python3
"""Fifty members record a use of one bath at the same instant, up to its limit and past it.

    TEST_POSTGRES_URL=postgres://... bath_uses.py PROGRAM [ROUNDS [sqlite|postgres]]

Two servers over one database, SQLite and PostgreSQL in turn; the mail server is down all the while and comes
back at the end. Every round: each use counted once, one letter about nearness, one about the limit.
"""

import collections
import contextlib
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request

from outbox import OnPostgres, OnSqlite, Outbox
from running import MailServer, Wetside, wait_until

MEMBERS, SERVERS = 50, 2
EACH, LIMIT = 0.5, 15.0
busy = []


def put_people(database):
    now = int(time.time())
    people = [("maren", "lead")] + [(f"member{n}", "member") for n in range(MEMBERS)]
    for name, role in people:
        address = f"{name}@quillhaven.example"
        database.rows(
            "INSERT INTO members (name, email, email_key, role, state, verified_s, day_order, hours_24, "
            f"us_units, note, created_s, version) VALUES ('{name}', '{address}', '{address}', '{role}', "
            f"'active', {now}, 'day_month', true, false, '', {now}, 1)"
        )
    return [f"{name}@quillhaven.example" for name, role in people if role == "member"]


def token(program, address, settings):
    kept = {k: v for k, v in os.environ.items() if not k.startswith("WETSIDE_") and k != "DATABASE_URL"}
    command = [program, "token", address, "--label", "crowd"]
    return subprocess.run(command, env=kept | settings, check=True, text=True, stdout=subprocess.PIPE).stdout.strip()


def call(url, bearer, path, body=None):
    headers = {"Authorization": f"Bearer {bearer}", "Content-Type": "application/json", "Idempotency-Key": "once"}
    data = None if body is None else json.dumps(body).encode()
    for again in range(10):
        try:
            with urllib.request.urlopen(urllib.request.Request(url + path, data, headers), timeout=60) as answer:
                return json.load(answer)
        except urllib.error.HTTPError as fault:
            # Busy: "try again" is the answer, with the same key, which must still count once.
            if fault.code != 503 or again == 9:
                raise
            busy.append(path)
            time.sleep(float(fault.headers.get("Retry-After", 1)))


def one_round(servers, tokens, bath):
    """Every member twice, as a double tap would: the second must change nothing."""
    start, failed = threading.Barrier(len(tokens)), []

    def use(place, bearer):
        try:
            start.wait()
            for _ in range(2):
                call(servers[place % len(servers)].url, bearer, f"/api/v1/baths/{bath}/uses", {"roll_equivalents": EACH})
        except Exception as fault:
            failed.append(fault)

    crowd = [threading.Thread(target=use, args=pair) for pair in enumerate(tokens)]
    for one in crowd:
        one.start()
    for one in crowd:
        one.join()
    assert not failed, failed
    found = [b for b in call(servers[0].url, tokens[0], "/api/v1/baths")["items"] if b["id"] == bath]
    assert found[0]["remaining"] == LIMIT - MEMBERS * EACH, found
    assert found[0]["state"] == "at_limit", found


def story(servers, database, mail, program, settings, rounds):
    mail.tell("mode refuse")
    tokens = [token(program, address, settings) for address in put_people(database)]
    for number in range(1, rounds + 1):
        database.rows(
            "INSERT INTO baths (kind, label, volume_ul, capacity_milli, fix_s, mixed_s, keeps_days, number) "
            f"VALUES ('fixer', 'Round {number}', 1000000, {int(LIMIT * 1000)}, 300, {int(time.time())}, 60, {number})"
        )
        bath = int(database.rows(f"SELECT id FROM baths WHERE label = 'Round {number}'")[0][0])
        one_round(servers, tokens, bath)
        database.rows(f"UPDATE baths SET retired_s = {int(time.time())} WHERE id = {bath}")
    outbox = Outbox(database)
    mail.tell("mode accept")
    outbox.let_time_pass()
    wait_until("all letters arrived", lambda: outbox.count("sent_s IS NULL") == 0, 180)
    subjects = collections.Counter(dict(letter["headers"])["Subject"] for letter in mail.letters())
    wanted = collections.Counter()
    for number in range(1, rounds + 1):
        wanted[f"Round {number}: near its limit"] = 1
        wanted[f"Round {number}: at its limit, do not use it"] = 1
    assert subjects == wanted, subjects - wanted or wanted - subjects


def on_one_engine(name, program, rounds, folder, settings, database):
    with contextlib.ExitStack() as running:
        mail = MailServer(folder / "mail")
        running.callback(mail.stop)
        settings = settings | {
            "WETSIDE_SMTP_URL": f"smtp://127.0.0.1:{mail.port}",
            "WETSIDE_SECRET_KEY_FILE": str(folder / "secret.key"),
        }
        started = []
        for number in range(SERVERS):
            started.append(Wetside(program, folder / f"server{number}", **settings))
            running.callback(started[-1].stop)
        own = settings | {"WETSIDE_DATA_DIR": str(folder / "server0")}
        began = time.monotonic()
        try:
            story(started, database, mail, program, own, rounds)
        except BaseException:
            for server in started:
                print(server.log(), file=sys.stderr)
            raise
        uses = rounds * MEMBERS
        print(f"{name}, {SERVERS} servers: {uses} uses in {rounds} rounds counted exactly, "
              f"{2 * rounds} letters each once, {len(busy)} told to try again, {time.monotonic() - began:.0f} s.", flush=True)
        busy.clear()


def main(program, rounds=100, *engines):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        if not engines or "sqlite" in engines:
            path = folder / "studio.db"
            on_one_engine("SQLite", program, rounds, folder / "sqlite", {"DATABASE_URL": f"sqlite:{path}"}, OnSqlite(path))
        if not engines or "postgres" in engines:
            postgres = OnPostgres(os.environ["TEST_POSTGRES_URL"])
            url = postgres.new_database()
            try:
                on_one_engine("PostgreSQL", program, rounds, folder / "postgres", {"DATABASE_URL": url}, OnPostgres(url))
            finally:
                postgres.drop(url)


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:3]), *sys.argv[3:])
