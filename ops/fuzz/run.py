#!/usr/bin/env python3
"""Everything the program reads from outside, bent and broken at random, for as long as is wished.

    ops/fuzz/run.py PROGRAM [--seconds N] [--seed N] [--only body,form,query,chart,rule,head,plan,backup]

Seeds are what the program itself offers: its pages' forms, its API's description, its own chart as CSV, a
backup it wrote, the table of its doors; besides days of ops/planner and what lies in corpus/: pieces,
rules of RFC 5545, charts as spreadsheets write them, inputs that once were findings. A finding is an
answer of 500 or above (503, busy, only when it stays so), no answer at all, an answer that costs 5 s of
processor time, a program that ends or panics, or a restore that failed and left something else than was
there; its input is kept in found/. In the end the server must still be well, and SQLite must find its
file whole.
"""

import argparse
import contextlib
import hashlib
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
sys.path.insert(0, str(ROOT / "ops" / "planner"))
from days import make  # noqa: E402
from studio import Server  # noqa: E402

PIECES = [line.encode().replace(b"\\n", b"\n") for line in (HERE / "corpus/pieces.txt").read_text().splitlines() if line]
RULES = (HERE / "corpus/rules.txt").read_text().splitlines()
CHARTS = [file.read_bytes() for file in sorted((HERE / "corpus/charts").iterdir())]
WEIGHTS = {"body": 8, "form": 8, "query": 8, "head": 4, "rule": 4, "chart": 4, "plan": 1, "backup": 0.3}
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
        self.link = http.client.HTTPConnection(address.hostname, address.port, timeout=240)
        self.token = server.token("lead")
        lead = next(p for p in server.people if p["role"] == "lead")
        form = urllib.parse.urlencode({"email": lead["email"], "password": lead["password"]}).encode()
        status, headers, _ = self.send("POST", "/sign-in", {"content-type": "application/x-www-form-urlencoded"}, form)
        assert status == 303, status
        self.cookie = headers["set-cookie"].split(";")[0]

    def send(self, method, path, headers, body=None, again=True):
        try:
            self.link.request(method, path, body, headers)
            answer = self.link.getresponse()
            return answer.status, answer.headers, answer.read()
        except (http.client.RemoteDisconnected, ConnectionError):
            # A kept connection that rested for some seconds may have been closed meanwhile.
            self.link.close()
            if again:
                return self.send(method, path, headers, body, again=False)
            raise
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


def leaves(value, way=()):
    """The ways to all values of a JSON document, the branches too."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [way] * bool(way) + [w for key, v in inside for w in leaves(v, (*way, key))]


def bend_json(chance, text):
    """One to three values replaced, left out or doubled; what comes out is JSON still."""
    value = json.loads(text)
    for _ in range(chance.randint(1, 3)):
        ways = leaves(value)
        if not ways:
            break
        *way, last = chance.choice(ways)
        at = value
        for key in way:
            at = at[key]
        kind = chance.randrange(5)
        if kind == 0:
            del at[last]
        elif kind == 1:
            at[last] = chance.choice(PIECES).decode()
        elif kind == 2:
            at[last] = chance.choice((0, -1, 1, 0.5, 1e300, 2**31, 2**53 + 1, 2**63 - 1, -(2**63), 2**64, None, True, [], {}, "", [[]]))
        elif kind == 3:
            at[last] = [at[last]] * chance.choice((1, 2, 300))
        elif isinstance(at[last], (int, float)) and not isinstance(at[last], bool):
            at[last] = at[last] * chance.choice((-1, 10, 1000, 1_000_000)) + chance.choice((-1, 0, 1))
        else:
            at[last] = bend(chance, str(at[last]).encode()).decode(errors="replace")
    return json.dumps(value, ensure_ascii=chance.random() < 0.5).encode()


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
        self.program, self.folder, self.seed, self.chance = program, folder, seed, random.Random(seed)
        self.server = Server(program, folder / "studio", {})
        self.client = Client(self.server)
        self.forms, self.queries = crawl(self.client)
        self.bodies = bodies(self.client)
        _, _, chart = self.client.page("/chart/recipes.csv")
        self.charts = [chart[:20_000], *CHARTS]
        self.days = [(ROOT / "tests/planner/example.json").read_bytes()]
        self.days += [json.dumps(make(name, n)).encode() for name in ("small", "ordinary") for n in range(3)]
        _, _, text = self.client.page("/series")
        page = Forms()
        page.feed(text.decode())
        self.series = next(f for m, a, f in page.forms if m == "post" and "rule" in f)
        self.doors = [line.split(" ") for line in (ROOT / "tests/doors.txt").read_text().splitlines()]
        self.settings = self.server.environment() | {"WETSIDE_DATA_DIR": str(folder / "restored")}
        (folder / "restored").mkdir()
        self.backed_up()
        self.tried, self.answers, self.found = {}, {}, []

    def body(self):
        path, text = self.chance.choice(self.bodies)
        parts = [p if not p.startswith("{") else self.chance.choice((b"1", b"2027-03-16", *PIECES)).decode() for p in path.split("/")]
        path = "/".join(urllib.parse.quote(p, safe="") for p in parts)
        headers = {"authorization": f"Bearer {self.client.token}", "content-type": "application/json"}
        return "POST", path, headers, bend_json(self.chance, text) if self.chance.random() < 0.6 else bend(self.chance, text)

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
        text = bend(self.chance, self.chance.choice(self.charts))
        if self.chance.random() < 0.5:
            # As a browser sends a file (RFC 7578), its frame bent as well.
            headers["content-type"] = "multipart/form-data; boundary=cut"
            text = (b'--cut\r\nContent-Disposition: form-data; name="once_key"\r\n\r\nfuzz\r\n--cut\r\nContent-Disposition: form-data; '
                    b'name="file"; filename="chart.csv"\r\nContent-Type: text/csv\r\n\r\n' + text + b"\r\n--cut--\r\n")
            if self.chance.random() < 0.5:
                text = bend(self.chance, text[:400]) + text[400:]
        return "POST", "/chart/bring-in", headers, text

    def rule(self):
        """A rule of RFC 5545 of somebody's own, with dates to leave out."""
        rule = self.chance.choice(RULES)
        if self.chance.random() < 0.7:
            pieces = rule.split(";") + self.chance.choice(RULES).split(";")
            rule = ";".join(self.chance.sample(pieces, self.chance.randint(1, min(6, len(pieces)))))
        if self.chance.random() < 0.5:
            rule = bend(self.chance, rule.encode()).decode(errors="replace")
        date = f"20{self.chance.randint(27, 30)}-{self.chance.randint(1, 12):02}-{self.chance.randint(1, 28):02}"
        fields = self.series | {"often": "", "rule": rule, "title": "Fuzz", "date": date, "from": "18:00", "to": "19:00", "times": ""}
        fields["except"] = self.chance.choice(("", "", date, bend(self.chance, b"2027-12-24, 2027-12-31").decode(errors="replace")))
        headers = {"cookie": self.client.cookie, "content-type": "application/x-www-form-urlencoded"}
        return "POST", "/series", headers, urllib.parse.urlencode(fields).encode()

    def head(self):
        """Any door that only shows, with something else in its address, its cookie and its headers."""
        path = self.chance.choice([path for _, method, path in self.doors if method == "GET" and not path.endswith(("/live", "live/board"))])
        while "{" in path:
            before, _, rest = path.partition("{")
            piece = self.chance.choice((b"1", b"2", b"2027-03-28", b"opening", *PIECES))
            path = before + urllib.parse.quote(bend(self.chance, piece)[:200], safe="") + rest.partition("}")[2]
        headers = {"cookie": self.client.cookie if self.chance.random() < 0.7 else self.odd(f"{self.client.cookie}; wetside_look=dark")}
        for name, usual in (("accept-language", "en;q=0.8, de"), ("accept", "text/html, */*;q=0.1"), ("accept-encoding", "gzip, br;q=0"),
                            ("if-none-match", '"abc", W/"1"'), ("x-forwarded-for", "10.0.0.1, ::1"), ("authorization", f"Bearer {self.client.token}"),
                            ("range", "bytes=0-10"), ("host", "localhost:1"), ("sec-fetch-site", "same-origin")):
            if self.chance.random() < 0.3:
                headers[name] = self.odd(usual)
        return "GET", path, headers, None

    def odd(self, usual):
        """Bent text as it may stand in a header; line ends would end the header."""
        text = bend(self.chance, usual.encode())[:2000].decode("latin-1")
        return "".join(c for c in text if c >= " " and c != "\x7f")

    def one(self, target):
        self.tried[target] = self.tried.get(target, 0) + 1
        if target in ("plan", "backup"):
            return self.plan() if target == "plan" else self.restore()
        makers = {"body": self.body, "form": self.form, "query": self.query, "chart": self.sheet, "rule": self.rule, "head": self.head}
        method, path, headers, text = makers[target]()
        began, fault = self.spent(), None
        try:
            for again in (1, 2, 4, 0):
                status, _, answer = self.client.send(method, path, headers, text)
                self.answers[status] = self.answers.get(status, 0) + 1
                if status != 503:
                    break
                time.sleep(again)
            if status >= 500:
                fault = f"answered {status}"
        except Exception as gone:  # noqa: BLE001
            fault = f"no answer ({gone!r})"
        if self.spent() - began > 5:
            fault = fault or "cost more than 5 s of processor time"
        if fault:
            self.keep(target, fault, f"{method} {path} {json.dumps(headers)}\n".encode() + (text or b""))

    def spent(self):
        """Processor seconds of the server; the time on the wall tells more of what else goes on."""
        try:
            fields = pathlib.Path(f"/proc/{self.server.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        except OSError:
            return 0
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def run(self, *words, settings=None):
        return subprocess.run([self.program, *map(str, words)], capture_output=True, timeout=600, env=settings or self.settings)

    def backed_up(self):
        """A backup of this studio, restored once: what a failed restore must leave as it is."""
        file = self.folder / "whole.wetside"
        own = self.server.environment() | {"WETSIDE_DATA_DIR": str(self.folder / "studio")}
        assert self.run("backup", file, settings=own).returncode == 0
        self.backup = file.read_bytes().splitlines()
        assert self.run("restore", file).returncode == 0

    def held(self):
        """What the restored studio holds: its own backup without the lines that tell the time it was made."""
        file = self.folder / "held.wetside"
        done = self.run("backup", file)
        return file.read_bytes().splitlines()[1:-1] if done.returncode == 0 else done.stderr

    def restore(self):
        lines = list(self.backup)
        for _ in range(self.chance.randint(1, 3)):
            at = self.chance.randrange(len(lines) - 1)
            kind = self.chance.randrange(5)
            if kind == 0:
                lines[at] = bend(self.chance, lines[at]).replace(b"\n", b" ")
            elif kind <= 2:
                with contextlib.suppress(ValueError):
                    lines[at] = bend_json(self.chance, lines[at])
            elif kind == 3:
                del lines[at]
            else:
                lines.insert(at, self.chance.choice(lines))
        if self.chance.random() < 0.9:
            # With counts and a sum that fit, so that what lies behind them is reached.
            lines, heading, rows = lines[:-1], None, 0
            for at, line in enumerate(lines):
                if line.startswith(b'{"table"'):
                    heading = at
                    rows, table = 0, line.partition(b',"rows"')[0]
                elif heading is not None:
                    rows += 1
                    lines[heading] = table + b',"rows":%d}' % rows
            whole = sum(not line.startswith((b'{"table"', b'{"wetside_backup"')) for line in lines)
            digest = hashlib.sha256(b"".join(line + b"\n" for line in lines)).hexdigest()
            lines.append(json.dumps({"rows": whole, "sha256": digest}, separators=(",", ":")).encode())
        file = self.folder / "bent.wetside"
        file.write_bytes(b"\n".join(lines) + b"\n")
        before = self.held()
        try:
            done = self.run("restore", file)
            self.answers[f"restore {done.returncode}"] = self.answers.get(f"restore {done.returncode}", 0) + 1
            if done.returncode not in (0, 1, 2) or b"panicked" in done.stderr:
                self.keep("backup", f"ended with {done.returncode}: {done.stderr[-200:]!r}", file.read_bytes())
            elif done.returncode and self.held() != before:
                self.keep("backup", "was refused, yet changed what was there", file.read_bytes())
        except subprocess.TimeoutExpired:
            self.keep("backup", "took more than 600 s", file.read_bytes())
        for old in (self.folder / "restored").glob("before-restore-*"):
            old.unlink()

    def plan(self):
        file = self.folder / "day.json"
        day = self.chance.choice(self.days)
        file.write_bytes(bend_json(self.chance, day) if self.chance.random() < 0.6 else bend(self.chance, day))
        try:
            done = subprocess.run([self.program, "plan", str(file)], capture_output=True, timeout=600)
            self.answers[f"plan {done.returncode}"] = self.answers.get(f"plan {done.returncode}", 0) + 1
            if done.returncode not in (0, 1, 2) or b"panicked" in done.stderr:
                self.keep("plan", f"ended with {done.returncode}", file.read_bytes())
        except subprocess.TimeoutExpired:
            self.keep("plan", "took more than 600 s", file.read_bytes())

    def keep(self, target, fault, text):
        place = HERE / "found"
        place.mkdir(exist_ok=True)
        name = place / f"{target}-{self.seed}-{len(self.found):04}"
        name.write_bytes(text)
        self.found.append(f"{target}: {fault}; see {name.relative_to(ROOT)}")
        print(self.found[-1], flush=True)
        if target != "log" and self.server.process.poll() is not None:
            self.server.start()
            self.client = Client(self.server)


def main():
    wish = argparse.ArgumentParser()
    wish.add_argument("program")
    wish.add_argument("--seconds", type=float, default=60)
    wish.add_argument("--seed", type=int, default=int(time.time()))
    wish.add_argument("--only", default=",".join(WEIGHTS))
    wish = wish.parse_args()
    with tempfile.TemporaryDirectory(prefix="wetside-fuzz.") as folder:
        hunt = Hunt(os.path.abspath(wish.program), pathlib.Path(folder), wish.seed)
        targets = wish.only.split(",")
        weights = [WEIGHTS[t] for t in targets]
        print(f"Seeds: {len(hunt.bodies)} bodies of the API, {len(hunt.forms)} forms, {len(hunt.queries)} queries, "
              f"{len(hunt.doors)} doors, {len(RULES)} rules, {len(hunt.charts)} charts, {len(hunt.days)} days, a backup of {len(hunt.backup)} lines; "
              f"seed number {wish.seed}.", flush=True)
        began = time.monotonic()
        while time.monotonic() - began < wish.seconds and len(hunt.found) < 50:
            hunt.one(hunt.chance.choices(targets, weights)[0])
        well = hunt.server.status("/healthz") == 200
        hunt.server.stop()
        if "panicked" in (said := hunt.server.said()):
            hunt.keep("log", "the program said that it panicked", said.encode())
        whole = sqlite3.connect(pathlib.Path(folder) / "studio/wetside.db").execute("PRAGMA integrity_check").fetchone()[0]
        took = time.monotonic() - began
        print(f"{sum(hunt.tried.values())} inputs in {took:.0f} s ({', '.join(f'{t} {n}' for t, n in sorted(hunt.tried.items()))}); "
              f"answers {', '.join(f'{a}: {n}' for a, n in sorted(hunt.answers.items(), key=str))}; database {whole}; {len(hunt.found)} findings.")
        if hunt.found or not well or whole != "ok":
            sys.exit("Something was found.")


if __name__ == "__main__":
    main()
