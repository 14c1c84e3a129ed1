"""The invented studio as a process of its own, and people who use it all at once."""

import contextlib
import datetime
import http.client
import json
import os
import pathlib
import random
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tests" / "mail"))
from running import wait_until  # noqa: E402


class Server:
    """`wetside demo` in a folder that is kept, so that it goes on with the same studio."""

    def __init__(self, program, folder, settings):
        self.program, self.folder, self.settings = program, pathlib.Path(folder), settings
        self.log = (self.folder.parent / f"{self.folder.name}.log").open("ab")
        self.process = None
        self.start()

    def environment(self):
        kept = {k: v for k, v in os.environ.items() if not k.startswith("WETSIDE_") and k != "DATABASE_URL"}
        return kept | {"DATABASE_URL": "", "WETSIDE_LOG": "warn"} | self.settings

    def start(self):
        self.process = subprocess.Popen(
            [self.program, "demo", "--json", "--port", "0", "--keep", str(self.folder)],
            stdout=subprocess.PIPE, stderr=self.log, text=True, env=self.environment())
        line = self.process.stdout.readline()
        if not line:
            raise AssertionError(f"The program did not start; see {self.log.name}:\n{self.said()}")
        said = json.loads(line)
        self.url, self.people = said["url"], said["people"]
        wait_until("the server is ready", lambda: self.status("/readyz") == 200, 30)

    def said(self):
        return pathlib.Path(self.log.name).read_text(errors="replace")[-2000:]

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        if self.process.poll() is None:
            self.process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(20)
        if self.process.poll() is None:
            self.kill()
        self.log.close()

    def status(self, path):
        try:
            with urllib.request.urlopen(self.url + path, timeout=15) as answer:
                return answer.status
        except urllib.error.HTTPError as refused:
            return refused.code
        except OSError:
            return 0

    def token(self, role):
        person = next(p for p in self.people if p["role"] == role)
        wish = {"email": person["email"], "password": person["password"], "label": "faults"}
        status, body = call(self.url, None, "POST", "/api/v1/tokens", wish)
        assert status == 201, (status, body)
        return body["token"]


def call(url, token, method, path, body=None, timeout=60):
    """(status, body); status 0 where no answer came, and why."""
    headers = {"Content-Type": "application/json"}
    if token:
        headers["Authorization"] = f"Bearer {token}"
    data = None if body is None else json.dumps(body).encode()
    try:
        with urllib.request.urlopen(urllib.request.Request(url + path, data, headers, method=method), timeout=timeout) as answer:
            text = answer.read()
            return answer.status, json.loads(text) if text else None
    except urllib.error.HTTPError as refused:
        return refused.code, refused.read().decode(errors="replace")
    except (OSError, ValueError, http.client.HTTPException) as gone:
        return 0, f"{method} {path}: {gone!r}"


class Acknowledged:
    """What the server said is done."""

    def __init__(self):
        self.bookings, self.uses, self.published, self.statuses, self.unanswered = [], [], [], {}, []
        self.guard = threading.Lock()

    def count(self, status, why=None):
        with self.guard:
            if not status:
                self.unanswered.append(why)
            self.statuses[status] = self.statuses.get(status, 0) + 1

    def total(self):
        return len(self.bookings) + len(self.uses) + len(self.published)


class Crowd:
    """Books, uses baths and publishes days, all at once, until told to stop."""

    def __init__(self, server, done, chance=None):
        self.server, self.done, self.chance = server, done, chance or random.Random(7)
        self.stopping = threading.Event()
        self.lead = server.token("lead")
        status, sinks = call(server.url, self.lead, "GET", "/api/v1/sinks")
        assert status == 200, sinks
        self.sinks = [s["id"] for s in sinks["items"]]
        status, baths = call(server.url, self.lead, "GET", "/api/v1/baths")
        assert status == 200, baths
        self.baths = [b["id"] for b in baths["items"] if b["kind"] == "fixer"]
        self.threads = []

    def start(self):
        for work in (self.book, self.book, self.use, self.use, self.publish):
            self.threads.append(threading.Thread(target=self.again_and_again, args=(work,), daemon=True))
            self.threads[-1].start()
        return self

    def again_and_again(self, work):
        while not self.stopping.is_set():
            work()

    def stop(self):
        self.stopping.set()
        for thread in self.threads:
            thread.join()

    def book(self):
        day = datetime.date.today() + datetime.timedelta(days=self.chance.randint(2, 20))
        minutes = self.chance.randrange(18 * 60, 21 * 60, 15)
        starts = datetime.datetime.combine(day, datetime.time()) + datetime.timedelta(minutes=minutes)
        ends = starts + datetime.timedelta(minutes=30)
        wish = {"sink_id": self.chance.choice(self.sinks), "starts": starts.isoformat() + "Z", "ends": ends.isoformat() + "Z", "purpose": "fault"}
        status, body = call(self.server.url, self.lead, "POST", "/api/v1/bookings", wish)
        self.done.count(status, body)
        if status == 201:
            self.done.bookings.append(body["id"])

    def use(self):
        note = f"fault-{self.chance.getrandbits(48):012x}"
        bath = self.chance.choice(self.baths)
        status, body = call(self.server.url, self.lead, "POST", f"/api/v1/baths/{bath}/uses",
                            {"roll_equivalents": 0.001, "note": note})
        self.done.count(status, body)
        if status == 201:
            self.done.uses.append(note)

    def publish(self):
        day = (datetime.date.today() + datetime.timedelta(days=self.chance.randint(2, 300))).isoformat()
        status, body = call(self.server.url, self.lead, "POST", "/api/v1/plans", {"date": day})
        self.done.count(status, body)
        if status == 201:
            status, plan = call(self.server.url, self.lead, "POST", f"/api/v1/plans/{day}/publish", {})
            self.done.count(status, plan)
            if status in (200, 201) and plan and plan.get("runs"):
                self.done.published.append(day)
        time.sleep(0.2)
