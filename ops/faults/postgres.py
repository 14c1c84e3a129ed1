"""What can be done to a PostgreSQL from outside: a slow wire before it, a small disk under it."""

import contextlib
import os
import pathlib
import shutil
import socket
import sys
import threading
import time
import urllib.parse

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tests" / "mail"))
from outbox import OnPostgres  # noqa: E402


class SlowWire:
    """A port that hands everything on to the database and back, each piece a while late."""

    def __init__(self, url, late_s):
        self.parts, self.late_s = urllib.parse.urlsplit(url), late_s
        self.listener = socket.create_server(("127.0.0.1", 0))
        own = self.parts.netloc.rsplit(":", 1)[0] + f":{self.listener.getsockname()[1]}"
        self.url = urllib.parse.urlunsplit(self.parts._replace(netloc=own))

    def __enter__(self):
        threading.Thread(target=self.accept, daemon=True).start()
        return self

    def __exit__(self, *_):
        self.listener.close()

    def accept(self):
        with contextlib.suppress(OSError):
            while True:
                near, _ = self.listener.accept()
                far = socket.create_connection((self.parts.hostname, self.parts.port))
                for a, b in ((near, far), (far, near)):
                    threading.Thread(target=self.carry, args=(a, b), daemon=True).start()

    def carry(self, a, b):
        with contextlib.suppress(OSError):
            while piece := a.recv(65536):
                time.sleep(self.late_s)
                b.sendall(piece)
        for end in (a, b):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)


class Tablespace:
    """A database whose tables lie on a small disk. Only the superuser of a cluster of ops/postgres can
    make one; TEST_POSTGRES_FOLDER names its folder. Without it there is none."""

    def __init__(self, url, small):
        self.small, self.admin, self.name = small, None, f"small_{time.time_ns()}"
        parts = urllib.parse.urlsplit(url)
        secret = pathlib.Path(os.environ.get("TEST_POSTGRES_FOLDER", "/nowhere")) / "superuser-password"
        if os.access(secret, os.R_OK):
            own = f"keeper:{secret.read_text().strip()}@{parts.hostname}:{parts.port}"
            self.admin = OnPostgres(urllib.parse.urlunsplit(parts._replace(netloc=own, path="/postgres")))
            self.owner = parts.username
            self.url = urllib.parse.urlunsplit(parts._replace(path=f"/{self.name}"))

    def __enter__(self):
        if not self.admin:
            return None
        room = self.small / "tables"
        room.mkdir()
        shutil.chown(room, "postgres" if pathlib.Path("/etc/passwd").read_text().count("\npostgres:") else "nobody")
        self.admin.rows(f"CREATE TABLESPACE {self.name} LOCATION '{room}'")
        self.admin.rows(f"CREATE DATABASE {self.name} OWNER {self.owner} TABLESPACE {self.name}")
        return self.url

    def __exit__(self, *_):
        if self.admin:
            self.admin.rows(f"DROP DATABASE {self.name} WITH (FORCE)")
            self.admin.rows(f"DROP TABLESPACE {self.name}")
