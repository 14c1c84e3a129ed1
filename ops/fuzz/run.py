#!/usr/bin/env python3
"""Everything the program reads from outside, bent and broken at random, for as long as is wished.

    ops/fuzz/run.py PROGRAM [--seconds N] [--seed N] [--only body,form,query,chart,plan]

Seeds are what the program itself offers: its pages' forms, its API's description, its own chart as CSV;
besides tests/planner/example.json and the pieces in corpus/. A finding is an answer of 500, no answer at
all, an answer that takes 20 s, or a program that ends; its input is kept in found/. After every round the
server must still be well, and SQLite must find its file whole.
"""

import argparse
import html.parser
import http.client
import json
import os
import pathlib
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.parse

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(ROOT / "ops" / "faults"))
from studio import Server  # noqa: E402

PIECES = [line.encode().replace(b"\\n", b"\n") for line in (HERE / "corpus/pieces.txt").read_text().splitlines() if line]
# These end the session that the others need, or wait on purpose.
SPARED = ("/sign-out", "/sign-out-everywhere", "/me/leave", "/me/password", "/me/second-factor", "/me/sessions", "/me/tokens", "/look", "/studio/keeping")


class Forms(html.parser.HTMLParser):
    """The forms of a page: where each goes, and what stands in its fields; and the page's links."""

    def __init__(self):
        super().__init__()
        self.forms, self.links = [], []

    def handle_starttag(self, tag, attrs):
        a = dict(attrs)
        if tag == "a" and (a.get("href") or "").startswith("/"):
            self.links.append(a["href"].split("#")[0])
        elif tag == "form":
            self.forms.append(((a.get("method") or "get").lower(), a.get("action") or "", {}))
        elif tag in ("input", "textarea", "select", "button") and a.get("name") and self.forms:
            self.forms[-1][2].setdefault(a["name"], a.get("value") or "")
        elif tag == "option" and self.forms and self.forms[-1][2]:
            name = list(self.forms[-1][2])[-1]
            if a.get("value") and not self.forms[-1][2][name]:
                self.forms[-1][2][name] = a["value"]


class Client:
    def __init__(self, server):
        address = urllib.parse.urlsplit(server.url)
        self.link = http.client.HTTPConnection(address.hostname, address.port, timeout=25)
        self.token = server.token("lead")
        lead = next(p for p in server.people if p["role"] == "lead")
        form = urllib.parse.urlencode({"email": lead["email"], "password": lead["password"]}).encode()
        status, headers, _ = self.send("POST", "/sign-in", {"content-type": "application/x-www-form-urlencoded"}, form)
        assert status == 303, status
        self.cookie = headers["set-cookie"].split(";")[0]

    def send(self, method, path, headers, body=None):
        try:
            self.link.request(method, path, body, headers)
            answer = self.link.getresponse()
            return answer.status, answer.headers, answer.read()
        except (http.client.HTTPException, OSError):
            self.link.close()
            raise

    def page(self, path):
        return self.send("GET", path, {"cookie": self.cookie})


def crawl(client, most=150):
    """Forms that a lead is offered, and addresses with a question mark."""
    seen, waiting, forms, queries = set(), ["/"], {}, set()
    while waiting and len(seen) < most:
        path = waiting.pop(0)
        plain = urllib.parse.urlsplit(path).path
        if path in seen or plain.startswith(("/static", "/demo")):
            continue
        seen.add(path)
        status, headers, text = client.page(path)
        if status != 200 or "html" not in headers.get("content-type", ""):
            continue
        page = Forms()
        page.feed(text.decode())
        waiting += [link for link in page.links if link not in seen]
        queries |= {link for link in page.links if "?" in link}
        for method, action, fields in page.forms:
            action = action or plain
            if method == "post" and not action.startswith(SPARED):
                forms[(action, tuple(sorted(fields)))] = (action, fields)
            elif method == "get":
                queries.add(action + "?" + urllib.parse.urlencode(fields))
    return list(forms.values()), sorted(queries)


def sample(schema, parts, depth=0):
    """A value that fits a schema of the API's description."""
    while "$ref" in schema:
        schema = parts[schema["$ref"].rsplit("/", 1)[1]]
    for one in ("oneOf", "anyOf", "allOf"):
        if one in schema:
            return sample(next((s for s in schema[one] if s.get("type") != "null"), schema[one][0]), parts, depth)
    kind = schema.get("type")
    kind = next((k for k in kind if k != "null"), None) if isinstance(kind, list) else kind
    if "enum" in schema:
        return schema["enum"][0]
    if kind == "object" and depth < 6:
        return {k: sample(v, parts, depth + 1) for k, v in schema.get("properties", {}).items()}
    return {"array": [sample(schema.get("items", {}), parts, depth + 1)] if depth < 6 else [], "integer": 1, "number": 1.5,
            "boolean": True, "object": {}}.get(kind, "2027-03-16T18:00:00Z")


def bodies(client):
    _, _, text = client.send("GET", "/api/v1/openapi.json", {})
    described = json.loads(text)
    parts, found = described["components"]["schemas"], []
    for path, methods in described["paths"].items():
        for method, door in methods.items():
            if "requestBody" in door and method == "post" and path != "/api/v1/tokens":
                schema = next(iter(door["requestBody"]["content"].values()))["schema"]
                found.append((path, json.dumps(sample(schema, parts)).encode()))
    return found


def bend(chance, text):
    """A few random changes: bytes, pieces, halves, repetitions."""
    text = bytearray(text)
    for _ in range(chance.choice((0, 1, 1, 2, 3, 8))):
        at = chance.randint(0, len(text))
        kind = chance.randrange(7)
        if kind == 0 and text:
            text[at % len(text)] = chance.randrange(256)
        elif kind == 1:
            text[at:at] = chance.choice(PIECES)
        elif kind == 2:
            del text[at : at + chance.randint(1, 20)]
        elif kind == 3:
            end = chance.randint(at, min(len(text), at + 40))
            text[at:end] = chance.choice(PIECES)
        elif kind == 4:
            text[at:at] = text[at : at + 30] * chance.choice((2, 50))
        elif kind == 5:
            text = text[:at]
        else:
            text[at:at] = bytes(chance.randrange(256) for _ in range(chance.randint(1, 12)))
    return bytes(text[:200_000])


def bend_values(chance, fields):
    """One or two fields with something else in them; sometimes one twice, one missing."""
    pairs = list(fields.items())
    for _ in range(chance.randint(1, 3)):
        if not pairs:
            break
        at = chance.randrange(len(pairs))
        name, value = pairs[at]
        whole = chance.choice(PIECES) if chance.random() < 0.5 else bend(chance, str(value).encode())
        pairs[at] = (name, whole)
        if chance.random() < 0.1:
            pairs.append((name, chance.choice(PIECES)))
        if chance.random() < 0.1:
            del pairs[at]
    return urllib.parse.urlencode(pairs).encode()


class Hunt:
    def __init__(self, program, folder, seed):
        self.program, self.folder, self.chance = program, folder, random.Random(seed)
        self.server = Server(program, folder / "studio", {})
        self.client = Client(self.server)
        self.forms, self.queries = crawl(self.client)
        self.bodies = bodies(self.client)
        _, _, self.chart = self.client.page("/chart/recipes.csv")
        self.day = (ROOT / "tests/planner/example.json").read_bytes()
        self.tried, self.answers, self.found = {}, {}, []

    def body(self):
        path, text = self.chance.choice(self.bodies)
        parts = [p if not p.startswith("{") else self.chance.choice((b"1", b"2027-03-16", *PIECES)).decode() for p in path.split("/")]
        path = "/".join(urllib.parse.quote(p, safe="") for p in parts)
        headers = {"authorization": f"Bearer {self.client.token}", "content-type": "application/json"}
        return "POST", path, headers, bend(self.chance, text)

    def form(self):
        action, fields = self.chance.choice(self.forms)
        headers = {"cookie": self.client.cookie, "content-type": "application/x-www-form-urlencoded"}
        text = bend_values(self.chance, fields)
        return "POST", action, headers, text if self.chance.random() < 0.8 else bend(self.chance, text)

    def query(self):
        parts = urllib.parse.urlsplit(self.chance.choice(self.queries))
        asked = bend_values(self.chance, dict(urllib.parse.parse_qsl(parts.query, keep_blank_values=True)))
        return "GET", parts.path + "?" + asked.decode(), {"cookie": self.client.cookie}, None

    def sheet(self):
        headers = {"cookie": self.client.cookie, "content-type": "text/csv"}
        return "POST", "/chart/bring-in", headers, bend(self.chance, self.chart[:20_000])

    def one(self, target):
        self.tried[target] = self.tried.get(target, 0) + 1
        if target == "plan":
            return self.plan()
        method, path, headers, text = {"body": self.body, "form": self.form, "query": self.query, "chart": self.sheet}[target]()
        began, fault = time.monotonic(), None
        try:
            status, _, answer = self.client.send(method, path, headers, text)
            self.answers[status] = self.answers.get(status, 0) + 1
            if status >= 500:
                fault = f"answered {status}"
        except Exception as gone:  # noqa: BLE001
            fault = f"no answer ({gone!r})"
        if time.monotonic() - began > 20:
            fault = fault or "took more than 20 s"
        if fault:
            self.keep(target, fault, f"{method} {path}\n".encode() + (text or b""))

    def plan(self):
        file = self.folder / "day.json"
        file.write_bytes(bend(self.chance, self.day))
        try:
            done = subprocess.run([self.program, "plan", str(file)], capture_output=True, timeout=60)
            self.answers[f"plan {done.returncode}"] = self.answers.get(f"plan {done.returncode}", 0) + 1
            if done.returncode not in (0, 1, 2) or b"panicked" in done.stderr:
                self.keep("plan", f"ended with {done.returncode}", file.read_bytes())
        except subprocess.TimeoutExpired:
            self.keep("plan", "took more than 60 s", file.read_bytes())

    def keep(self, target, fault, text):
        place = HERE / "found"
        place.mkdir(exist_ok=True)
        name = place / f"{target}-{len(self.found):04}"
        name.write_bytes(text)
        self.found.append(f"{target}: {fault}; see {name.relative_to(ROOT)}")
        print(self.found[-1], flush=True)
        if self.server.process.poll() is not None:
            self.server.start()
            self.client = Client(self.server)


def main():
    wish = argparse.ArgumentParser()
    wish.add_argument("program")
    wish.add_argument("--seconds", type=float, default=60)
    wish.add_argument("--seed", type=int, default=int(time.time()))
    wish.add_argument("--only", default="body,form,query,chart,plan")
    wish = wish.parse_args()
    with tempfile.TemporaryDirectory(prefix="wetside-fuzz.") as folder:
        hunt = Hunt(os.path.abspath(wish.program), pathlib.Path(folder), wish.seed)
        targets = wish.only.split(",")
        weights = [1 if t == "plan" else 8 if t != "chart" else 3 for t in targets]
        print(f"Seeds: {len(hunt.bodies)} bodies of the API, {len(hunt.forms)} forms, {len(hunt.queries)} queries, a chart, a day; "
              f"seed number {wish.seed}.", flush=True)
        began = time.monotonic()
        while time.monotonic() - began < wish.seconds and len(hunt.found) < 50:
            hunt.one(hunt.chance.choices(targets, weights)[0])
        well = hunt.server.status("/healthz") == 200
        hunt.server.stop()

        whole = sqlite3.connect(pathlib.Path(folder) / "studio/wetside.db").execute("PRAGMA integrity_check").fetchone()[0]
        took = time.monotonic() - began
        print(f"{sum(hunt.tried.values())} inputs in {took:.0f} s ({', '.join(f'{t} {n}' for t, n in sorted(hunt.tried.items()))}); "
              f"answers {', '.join(f'{a}: {n}' for a, n in sorted(hunt.answers.items(), key=str))}; database {whole}; {len(hunt.found)} findings.")
        if hunt.found or not well or whole != "ok":
            sys.exit("Something was found.")


if __name__ == "__main__":
    main()
