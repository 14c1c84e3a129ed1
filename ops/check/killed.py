#!/usr/bin/env python3
"""The program is killed with -9 while a day is published and while a run is ended, again and again.

    ops/check/killed.py PROGRAM [TIMES [POSTGRES]]

On SQLite, or on databases made one after another in the PostgreSQL cluster of that address.
Afterwards the day is published whole or not at all, and the fixer's ledger has each run once.
"""
import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.parse
import urllib.request


class Database:
    """A database of its own in a cluster, or none: then SQLite in the studio's folder."""

    def __init__(self, cluster):
        self.cluster, self.url = cluster, ""

    def __enter__(self):
        if self.cluster:
            self.name = f"killed_{os.getpid()}_{time.time_ns()}"
            self.ask(f"CREATE DATABASE {self.name}")
            self.url = urllib.parse.urlsplit(self.cluster)._replace(path=f"/{self.name}").geturl()
        return self.url

    def __exit__(self, *_):
        if self.cluster:
            self.ask(f"DROP DATABASE {self.name} WITH (FORCE)")

    def ask(self, what):
        subprocess.run(["psql", "-q", self.cluster, "-c", what], check=True)


class Server:
    def __init__(self, program, folder, database):
        self.program, self.folder, self.database = program, folder, database
        self.start()

    def start(self):
        env = dict(os.environ, DATABASE_URL=self.database)
        self.process = subprocess.Popen(
            [self.program, "demo", "--json", "--port", "0", "--keep", self.folder],
            stdout=subprocess.PIPE, text=True, env=env)
        said = json.loads(self.process.stdout.readline())
        self.url = said["url"]
        lead = next(p for p in said["people"] if p["role"] == "lead")
        self.lead = self.call("POST", "/api/v1/tokens", {
            "email": lead["email"], "password": lead["password"], "label": "killed"}, bearer=None)["token"]
        self.person = lead

    def call(self, method, path, body=None, bearer="lead"):
        headers = {"Content-Type": "application/json"}
        if bearer:
            headers["Authorization"] = f"Bearer {self.lead}"
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, data, headers, method=method)
        try:
            with urllib.request.urlopen(request, timeout=20) as answer:
                return json.load(answer)
        except urllib.error.HTTPError as refused:
            raise ValueError(f"{method} {path}: {refused.code} {refused.read().decode()}") from None

    def page(self, path, fields):
        """A form of the pages, signed in afresh."""
        pages = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        for where, what in (("/sign-in", {"email": self.person["email"], "password": self.person["password"]}),
                            (path, fields)):
            text = urllib.parse.urlencode(what).encode()
            pages.open(self.url + where, text, timeout=20).read()

    def kill_during(self, work, after):
        """Does the work in a thread and kills the program a moment after it has begun."""
        def quietly():
            try:
                work()
            except (urllib.error.URLError, OSError, ValueError):
                pass
        thread = threading.Thread(target=quietly)
        thread.start()
        time.sleep(after)
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        thread.join()
        self.start()

    def close(self):
        self.process.terminate()
        self.process.wait(timeout=30)


def whole_or_not(server, date):
    runs = server.call("GET", f"/api/v1/mix-sheets/{date}")["runs"]
    planned = {r["ticket"] for r in server.call("GET", "/api/v1/rolls?status=planned")["items"]}
    tickets = {t for r in runs for t in r["rolls"]}
    if runs and not tickets <= planned:
        return f"{date}: published, and {tickets - planned} are not planned"
    if not runs and server.call("POST", f"/api/v1/plans/{date}/publish", {})["runs"] == []:
        return f"{date}: neither published nor a draft"
    return None


def left(server):
    return sum(b["remaining"] for b in server.call("GET", "/api/v1/baths")["items"] if b["kind"] == "fixer")


def main(program, times, cluster=""):
    chance, wrong, cut, ended, window = random.Random(9), [], 0, 0, 0.12
    for n in range(times):
        # A studio of its own each time, so that its one bottle of fixer lasts.
        with tempfile.TemporaryDirectory() as folder, Database(cluster) as database:
            server = Server(program, folder, database)
            try:
                date = f"2031-05-{n % 28 + 1:02}"
                server.call("POST", "/api/v1/plans", {"date": date})
                server.kill_during(lambda: server.call("POST", f"/api/v1/plans/{date}/publish", {}),
                                   chance.uniform(window / 3, window))
                # However fast the machine is, about half of the kills come before it is done.
                before = not server.call("GET", f"/api/v1/mix-sheets/{date}")["runs"]
                window *= 1.4 if before else 0.75
                cut += before
                wrong.append(whole_or_not(server, date))
                for run in server.call("GET", f"/api/v1/mix-sheets/{date}")["runs"][:2]:
                    before = left(server)
                    server.kill_during(lambda: server.page(f"/runs/{run['id']}/end", {}),
                                       chance.uniform(0.1, 0.9))
                    server.page(f"/runs/{run['id']}/end", {})
                    ended += 1
                    if abs(before - left(server) - run["fixer"]) > 1e-6:
                        wrong.append(f"run {run['id']}: {before} before, {left(server)} after, {run['fixer']} due")
            finally:
                server.close()
    wrong = [w for w in wrong if w]
    print("\n".join(wrong))
    print(f"killed {times} times while publishing ({cut} before it was done) and {ended} times while ending, "
          f"{len(wrong)} faults")
    if wrong:
        sys.exit("Something was left half done.")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 6, *sys.argv[3:4])
