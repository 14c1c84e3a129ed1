#!/usr/bin/env python3
"""What the program weighs: at rest, when it starts, and on the wire.

    ops/bench/footprint.py PROGRAM [--quick] [--json FILE]

Start: from `wetside serve` on a migrated database to the first answer, the median of ten. Memory: what is
resident once the server has answered and rested. Wire: for every page that a lead is led to, the HTML
and all styles, scripts and pictures it names, compressed as a browser asks for them; and every address in
them that leaves the studio's own server.
"""
import argparse, gzip, html.parser, json, os, pathlib, re, statistics, subprocess, sys, tempfile, time
import urllib.error, urllib.parse, urllib.request

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "check"))
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "tests" / "mail"))
from demo import demonstration  # noqa: E402
from running import free_port  # noqa: E402
from years import resident, session  # noqa: E402


def start(program, turns):
    """(seconds to the first answer, MiB after a rest) of a studio that was migrated before."""
    times, memory = [], []
    with tempfile.TemporaryDirectory() as folder:
        port = free_port()
        env = dict(os.environ, DATABASE_URL="", WETSIDE_DATA_DIR=folder, WETSIDE_LISTEN=f"127.0.0.1:{port}", WETSIDE_LOG="warn")
        subprocess.run([program, "migrate"], env=env, check=True, stdout=subprocess.DEVNULL)
        for turn in range(turns):
            began = time.perf_counter()
            server = subprocess.Popen([program, "serve"], env=env, stdout=subprocess.DEVNULL)
            while not answers(f"http://127.0.0.1:{port}/healthz"):
                time.sleep(0.002)
            times.append(time.perf_counter() - began)
            if turn == 0:
                time.sleep(3)
                memory.append(resident(server.pid))
            server.terminate()
            server.wait()
    return statistics.median(times), memory[0]


def answers(url):
    try:
        return urllib.request.urlopen(url, timeout=5).status == 200
    except OSError:
        return False


class Links(html.parser.HTMLParser):
    """Pages a page leads to, and what a browser fetches with it."""

    def __init__(self):
        super().__init__()
        self.pages, self.parts = [], []

    def handle_starttag(self, tag, attributes):
        a = dict(attributes)
        if tag == "a" and a.get("href"):
            self.pages.append(a["href"].split("#")[0])
        elif tag == "link" and re.search(r"stylesheet|icon|preload|manifest", a.get("rel") or ""):
            self.parts.append(a["href"])
        elif a.get("src"):
            self.parts.append(a["src"])


class Wire:
    """A browser's cache, emptied for every page: what each address weighs, packed and unpacked."""

    def __init__(self, url, cookie):
        self.url, self.cookie, self.known, self.strangers = url, cookie, {}, set()

    def get(self, path):
        if path not in self.known:
            headers = {"cookie": self.cookie, "accept-encoding": "gzip", "accept": "text/html"}
            try:
                with urllib.request.urlopen(urllib.request.Request(self.url + path, headers=headers)) as answer:
                    packed, kind = answer.read(), answer.headers.get("content-type", "")
                    plain = gzip.decompress(packed) if answer.headers.get("content-encoding") == "gzip" else packed
                    self.known[path] = (len(packed) + len(str(answer.headers)), plain, kind)
            except urllib.error.HTTPError:
                self.known[path] = (0, b"", "")
        return self.known[path]

    def own(self, addresses):
        """Those of our own server; what leaves it is remembered."""
        own = []
        for address in addresses:
            parts = urllib.parse.urlsplit(address)
            if parts.scheme in ("http", "https") and not address.startswith(self.url):
                self.strangers.add(address)
            elif not parts.scheme and address.startswith("/"):
                own.append(address)
        return own

    def page(self, path):
        """(octets packed, unpacked, pages it leads to) of a page with all its parts; None for what is no page."""
        packed, plain, kind = self.get(path)
        if "text/html" not in kind:
            return None
        links = Links()
        links.feed(plain.decode())
        unpacked = len(plain)
        waiting, seen = self.own(links.parts), set()
        while waiting:
            part = waiting.pop()
            if part in seen:
                continue
            seen.add(part)
            size, text, kind = self.get(part)
            packed, unpacked = packed + size, unpacked + len(text)
            base = part.rsplit("/", 1)[0]
            named = re.findall(rb"url\(['\"]?([^'\")]+)", text) if "css" in kind else []
            named += re.findall(rb"(?:from|import)\s*\(?['\"]([^'\"]+)", text) if "javascript" in kind else []
            waiting += self.own(urllib.parse.urljoin(base + "/", n.decode()) for n in named if not n.startswith(b"data:"))
        return packed, unpacked, [p for p in links.pages if p.startswith("/")]


def wire(program, most):
    with demonstration(program) as (url, people, _):
        wire = Wire(url, session({"url": url, "people": people}))
        seen, shapes, waiting, rows = set(), {}, ["/"], []
        while waiting and len(rows) < most:
            path = waiting.pop(0)
            # Of pages that differ only by number or date, three.
            shape = re.sub(r"\d[\d-]*|=[^&]*", "#", path)
            if path in seen or shapes.get(shape, 0) >= 3 or path.startswith(("/static", "/demo")):
                continue
            seen.add(path)
            shapes[shape] = shapes.get(shape, 0) + 1
            if found := wire.page(path):
                rows.append((found[0], found[1], path))
                waiting += found[2]
    return rows, sorted(wire.strangers)


def main():
    wish = argparse.ArgumentParser()
    wish.add_argument("program")
    wish.add_argument("--quick", action="store_true")
    wish.add_argument("--json")
    wish = wish.parse_args()
    program = os.path.abspath(wish.program)
    took, memory = start(program, 3 if wish.quick else 10)
    rows, strangers = wire(program, 60 if wish.quick else 400)
    found = {"binary_mib": os.path.getsize(program) / 2**20, "start_s": took, "idle_mib": memory, "pages": len(rows),
             "heaviest_kib": max(rows)[0] / 1024, "heaviest": max(rows)[2], "unpacked_kib": max(r[1] for r in rows) / 1024,
             "leaves_the_server": strangers}
    for name, value in found.items():
        print(f"{name:<20}{value:.2f}" if isinstance(value, float) else f"{name:<20}{value}")
    if wish.json:
        pathlib.Path(wish.json).write_text(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
