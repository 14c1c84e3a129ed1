"""The outbox table as the mail tests see it, on either database: by plain SQL."""

import os
import pathlib
import shutil
import sqlite3
import subprocess
import time

COLUMNS = (
    "kind, to_name, to_address, subject, body, optional, dedupe_key, message_id, created_s, send_after_s, attempts"
)


class OnSqlite:
    def __init__(self, path):
        self.path = path

    def rows(self, sql):
        connection = sqlite3.connect(self.path, timeout=20)
        try:
            with connection:
                return [[str(value) for value in row] for row in connection.execute(sql)]
        finally:
            connection.close()


class OnPostgres:
    def __init__(self, url):
        found = sorted(pathlib.Path("/usr/lib/postgresql").glob("*/bin/psql"))
        self.psql, self.url = str(found[-1]) if found else shutil.which("psql"), url

    def rows(self, sql):
        command = [self.psql, "-qXAt", "-F", "\x1f", "-v", "ON_ERROR_STOP=1", self.url, "-c", sql]
        answer = subprocess.run(command, check=True, text=True, stdout=subprocess.PIPE).stdout
        return [line.split("\x1f") for line in answer.splitlines() if line]

    def new_database(self):
        """A fresh, empty database on the same PostgreSQL; returns its address."""
        name = f"letters_{os.getpid()}_{time.time_ns()}"
        self.rows(f"CREATE DATABASE {name}")
        return self.url.rsplit("/", 1)[0] + "/" + name

    def drop(self, url):
        self.rows(f"DROP DATABASE {url.rsplit('/', 1)[1]} WITH (FORCE)")


class Outbox:
    """Puts letters in as the program does, and looks what became of them."""

    def __init__(self, database):
        self.rows = database.rows

    def post(self, name, to="ana@quillhaven.example", optional=False):
        now = int(time.time())
        self.rows(
            f"INSERT INTO outbox ({COLUMNS}) VALUES ('trial', 'Ana', '{to}', 'The fixer is near its limit', "
            f"'Rapid fixer A has two rolls'' worth left.', {optional}, '{name}', '{name}', {now}, {now}, 0)"
        )

    def post_many(self, count):
        """That many at once (PostgreSQL only), named letter-1, letter-2 and so on."""
        now = int(time.time())
        self.rows(
            f"INSERT INTO outbox ({COLUMNS}) SELECT 'trial', 'Ana', 'ana' || n || '@quillhaven.example', "
            f"'Your rolls are dry', 'They hang at place ' || n || '.', false, 'letter-' || n, 'letter-' || n, "
            f"{now}, {now}, 0 FROM generate_series(1, {count}) AS n"
        )

    def count(self, condition):
        return int(self.rows(f"SELECT count(*) FROM outbox WHERE {condition}")[0][0])

    def state(self, name):
        """(state, tries, what the mail server said, seconds until the next try)."""
        sent, parked, attempts, said, due = self.rows(
            "SELECT sent_s IS NOT NULL, parked_s IS NOT NULL, attempts, coalesce(last_error, ''), send_after_s "
            f"FROM outbox WHERE dedupe_key = '{name}'"
        )[0]
        state = "sent" if sent in "1t" else "parked" if parked in "1t" else "waiting"
        return state, int(attempts), said, int(due) - time.time()

    def let_time_pass(self):
        """As if the pauses of all waiting letters were over."""
        self.rows("UPDATE outbox SET send_after_s = 0 WHERE sent_s IS NULL AND parked_s IS NULL AND claimed_by IS NULL")

    def let_claims_pass(self):
        """As if the leases of a server that is gone had run out."""
        self.rows("UPDATE outbox SET claimed_until_s = 0 WHERE sent_s IS NULL AND claimed_by IS NOT NULL")
