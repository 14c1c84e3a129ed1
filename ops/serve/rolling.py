#!/usr/bin/env python3
"""Two servers of one studio behind nginx under load, while one after the other is replaced.

    TEST_POSTGRES_URL=postgres://... ops/serve/rolling.py PROGRAM [SECONDS] [--former PROGRAM]

Every request must be answered, none with 5xx, and every acknowledged booking must be there. With
--former both servers are of a former release first, and the newer one migrates the database while
the other former one is at work. Without it the database gets, under load, what a newer release's
step would add, so that this release is the former one and is even started anew on it. nginx's
configuration is ops/serve/nginx.conf itself, with other ports and a certificate made for the moment.
"""

import argparse
import contextlib
import json
import os
import pathlib
import random
import re
import shutil
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "ops" / "faults"))
import studio  # noqa: E402
from studio import Acknowledged, Crowd, wait_until  # noqa: E402

from outbox import OnPostgres  # noqa: E402
from running import free_port  # noqa: E402


class Proxy:
    def __init__(self, folder, ports):
        self.folder, self.port, self.plain_port = folder, free_port(), free_port()
        self.servers = folder / "servers.conf"
        self.servers.write_text("".join(f"server 127.0.0.1:{p} max_fails=1 fail_timeout=2s;\n" for p in ports))
        subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=darkroom.example",
                        "-addext", "subjectAltName=DNS:darkroom.example,IP:127.0.0.1",
                        "-keyout", folder / "key.pem", "-out", folder / "cert.pem"], check=True, stderr=subprocess.DEVNULL)
        site = (ROOT / "ops/serve/nginx.conf").read_text()
        site = site.replace("/etc/nginx/wetside-servers.conf", str(self.servers))
        site = re.sub(r"(?m)^    listen \[::\].*\n", "", site)
        site = site.replace("listen 80;", f"listen 127.0.0.1:{self.plain_port};")
        site = site.replace("listen 443 ssl http2;", f"listen 127.0.0.1:{self.port} ssl http2;")
        site = re.sub(r"ssl_certificate .*;", f"ssl_certificate {folder}/cert.pem;", site)
        site = re.sub(r"ssl_certificate_key .*;", f"ssl_certificate_key {folder}/key.pem;", site)
        for room in ("body", "proxy", "fastcgi", "uwsgi", "scgi"):
            (folder / room).mkdir()
        rooms = "".join(f"  {name}_temp_path {folder}/{name};\n" for name in ("proxy", "fastcgi", "uwsgi", "scgi"))
        (folder / "nginx.conf").write_text(
            f"pid {folder}/nginx.pid;\nerror_log {folder}/error.log;\nworker_processes 2;\ndaemon off;\n"
            f"events {{ worker_connections 512; }}\nhttp {{\n  access_log off;\n  client_body_temp_path {folder}/body;\n{rooms}{site}}}\n")
        self.command = ["nginx", "-c", str(folder / "nginx.conf"), "-e", str(folder / "error.log")]
        subprocess.run([*self.command, "-t"], check=True, stderr=subprocess.PIPE)
        self.process = subprocess.Popen(self.command)
        self.url = f"https://127.0.0.1:{self.port}"
        trust = ssl.create_default_context(cafile=folder / "cert.pem")
        urllib.request.install_opener(urllib.request.build_opener(urllib.request.HTTPSHandler(context=trust)))

    def stop(self):
        self.process.terminate()
        self.process.wait(20)


class Behind(studio.Server):
    """A server at a port of its own, told that people reach it through the proxy."""

    def __init__(self, program, folder, settings, port):
        self.port = port
        super().__init__(program, folder, settings)

    def start(self):
        self.process = subprocess.Popen([self.program, "demo", "--json", "--port", str(self.port), "--keep", str(self.folder)],
                                        stdout=subprocess.PIPE, stderr=self.log, text=True, env=self.environment())
        line = self.process.stdout.readline()
        assert line, f"The program did not start:\n{self.said()}"
        said = json.loads(line)
        self.url, self.people = said["url"], said["people"]
        wait_until("the server is ready", lambda: self.status("/readyz") == 200, 30)


class Through(Crowd):
    """The same crowd, through the proxy, and a reader of pages beside it."""

    def start(self):
        self.threads = [threading.Thread(target=self.again_and_again, args=(self.look,), daemon=True) for _ in range(2)]
        for thread in self.threads:
            thread.start()
        return super().start()

    def look(self):
        try:
            with urllib.request.urlopen(self.server.url + random.choice(["/notes", "/readyz", "/sign-in", "/"]), timeout=60) as answer:
                answer.read()
                self.done.count(answer.status)
        except urllib.error.HTTPError as refused:
            self.done.count(refused.code)
        except OSError as fault:
            self.done.count(0, f"GET: {fault!r}")


def replace(proxy, server):
    """As ops/serve/replace does it, with this process's own stopping and starting."""
    marks = proxy.folder / f"{server.port}"
    stop, start = marks.with_suffix(".stop"), marks.with_suffix(".start")
    environment = os.environ | {"NGINX_RELOAD": " ".join([*proxy.command, "-s", "reload"])}
    (proxy.folder / "hand").write_text("#!/bin/sh\ntouch $1; while [ -e $1 ]; do sleep 0.05; done\n")
    (proxy.folder / "hand").chmod(0o755)
    script = subprocess.Popen([ROOT / "ops/serve/replace", proxy.servers, str(server.port),
                               f"{proxy.folder}/hand {stop}", f"{proxy.folder}/hand {start}"], env=environment)
    wait_until("the server is out of the proxy", stop.exists, 70)
    server.process.terminate()
    server.process.wait(20)
    stop.unlink()
    wait_until("the new one may start", start.exists, 20)
    server.start()
    start.unlink()
    assert script.wait(60) == 0


# As a newer release's migration: it waits shortly for each table and comes again, as src/db/migrate.rs does.
GROWTH = ["ALTER TABLE bookings ADD COLUMN hue TEXT NOT NULL DEFAULT 'grey'", "ALTER TABLE members ADD COLUMN hue TEXT",
          "CREATE TABLE hues (id BIGINT PRIMARY KEY, word TEXT NOT NULL)", "CREATE INDEX bookings_hue ON bookings (hue)",
          "INSERT INTO __diesel_schema_migrations (version) VALUES ('90000000000001')"]


def grow(database):
    for step in GROWTH:
        for turn in range(60):
            try:
                database.rows(f"BEGIN; SET LOCAL lock_timeout = '800ms'; {step}; COMMIT")
                break
            except Exception as waited:  # noqa: BLE001
                if turn == 59:
                    raise
                print(f"A step waits for a table: {waited}")
                time.sleep(1)


def steps(database):
    return int(database.rows("SELECT count(*) FROM __diesel_schema_migrations")[0][0])


def main(program, seconds, former):
    postgres = OnPostgres(os.environ["TEST_POSTGRES_URL"])
    url = postgres.new_database()
    with contextlib.ExitStack() as stack:
        stack.callback(postgres.drop, url)
        root = pathlib.Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="wetside-rolling.")))
        root.chmod(0o755)
        ports = [free_port(), free_port()]
        (root / "proxy").mkdir()
        proxy = Proxy(root / "proxy", ports)
        stack.callback(proxy.stop)
        settings = {"DATABASE_URL": url, "WETSIDE_SECRET_KEY_FILE": str(root / "secret.key"),
                    "WETSIDE_TRUSTED_PROXIES": "127.0.0.1/32"}
        servers = []
        for number, port in enumerate(ports):
            (root / f"server{number}").mkdir()
            if servers:
                shutil.copy(servers[0].folder / "secret.key", root / f"server{number}")
            servers.append(Behind(os.path.abspath(former or program), root / f"server{number}", settings, port))
            stack.callback(servers[-1].stop)
        done = Acknowledged()
        front = type("Front", (), {"url": proxy.url, "people": servers[0].people, "token": studio.Server.token})()
        crowd = Through(front, done).start()
        began = time.monotonic()
        time.sleep(1)
        before = steps(OnPostgres(url))
        if not former:
            grow(OnPostgres(url))
        for server in servers:
            server.program = os.path.abspath(program)
            replace(proxy, server)
        taken = steps(OnPostgres(url)) - before
        if not taken:
            sys.exit("Both programs know the same schema: nothing was shown.")
        time.sleep(max(0.0, seconds - (time.monotonic() - began)))
        crowd.stop()
        there = {int(row[0]) for row in OnPostgres(url).rows("SELECT id FROM bookings")}
        lost = [b for b in done.bookings if b not in there]
        seen = dict(sorted(done.statuses.items()))
        failed = sum(n for status, n in seen.items() if status == 0 or status >= 500)
        print(f"Two servers behind nginx, each replaced under load in {time.monotonic() - began:.0f} s, the schema {taken} steps further meanwhile: "
              f"{sum(seen.values())} requests, "
              f"answers {' '.join(f'{s}:{n}' for s, n in seen.items())}; {failed} failed; "
              f"{len(done.bookings)} bookings acknowledged, {len(lost)} lost.")
        if failed or lost:
            print("\n".join(map(str, done.unanswered)))
            print((root / "proxy/error.log").read_text()[-2000:])
            sys.exit("A request failed.")


if __name__ == "__main__":
    if not shutil.which("nginx"):
        sys.exit("nginx is missing. On Debian: apt-get install nginx-light")
    wish = argparse.ArgumentParser()
    wish.add_argument("program")
    wish.add_argument("seconds", nargs="?", type=float, default=12.0)
    wish.add_argument("--former")
    wish = wish.parse_args()
    main(wish.program, wish.seconds, wish.former)
