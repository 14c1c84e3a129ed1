#!/usr/bin/env python3
"""Does the time of a refused sign-in tell whether the address is known?

    ops/bench/sign_in.py PROGRAM [TRIES] [JSON-FILE]

Starts the demonstration on SQLite, copies one of its people to as many addresses as there are tries
(so that no account is throttled), and tries wrong passwords for known and unknown addresses in turn,
each from a network address of its own. Prints the medians and their ratio in three orders, and the
same between two sets of known addresses, which shows what the ratio is worth. The ratio must lie
within 5 % of one.
"""
import http.client
import json
import os
import random
import sqlite3
import statistics
import sys
import time
import urllib.parse

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "check"))
from demo import demonstration  # noqa: E402

WARM = 20


def copies(folder, count):
    """Puts `count` people with the same password; gives their addresses."""
    database = next(os.path.join(at, f) for at, _, names in os.walk(folder) for f in names
                    if f.endswith((".sqlite", ".sqlite3", ".db")))
    addresses = [f"known{n:04}@quillhaven.example" for n in range(count)]
    with sqlite3.connect(database, timeout=30) as base:
        columns = [c[1] for c in base.execute("PRAGMA table_info(members)") if c[1] != "id"]
        taken = ["?" if c in ("email", "email_key") else c for c in columns]
        statement = (f"INSERT INTO members ({', '.join(columns)}) SELECT {', '.join(taken)} FROM members "
                     "WHERE state = 'active' AND password_hash IS NOT NULL ORDER BY id LIMIT 1")
        base.executemany(statement, [(a, a) for a in addresses])
    return addresses


class Door:
    """One connection to the sign-in page."""

    def __init__(self, url):
        at = urllib.parse.urlsplit(url)
        self.line, self.tries = http.client.HTTPConnection(at.hostname, at.port, timeout=30), 0

    def wrong(self, address):
        """The seconds a refused try takes."""
        self.tries += 1
        come_from = f"10.{self.tries >> 16 & 255}.{self.tries >> 8 & 255}.{self.tries & 255}"
        body = urllib.parse.urlencode({"email": address, "password": "a wrong password, twelve"})
        headers = {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin",
                   "X-Forwarded-For": come_from}
        begun = time.perf_counter()
        self.line.request("POST", "/sign-in", body, headers)
        answer = self.line.getresponse()
        answer.read()
        took = time.perf_counter() - begun
        if answer.status != 422:
            sys.exit(f"A wrong password was answered {answer.status}, not 422")
        return took


def orders(tries):
    """Which of the two sets comes next: in turn, in mirrored turns, by chance."""
    by_chance = [False] * tries + [True] * tries
    random.Random(7).shuffle(by_chance)
    return {"in turn": [n % 2 == 1 for n in range(2 * tries)],
            "mirrored": [n % 4 in (1, 2) for n in range(2 * tries)], "by chance": by_chance}


def compare(door, first, second, order):
    """The medians of both sets in seconds."""
    took, left = ([], []), (iter(first), iter(second))
    for which in order:
        took[which].append(door.wrong(next(left[which])))
    return [statistics.median(t) for t in took]


def measure(url, folder, tries):
    known = copies(folder, 2 * tries)
    unknown = [f"nobody{n:04}@quillhaven.example" for n in range(3 * tries)]
    door = Door(url)
    for n in range(WARM):
        door.wrong(f"warm{n}@quillhaven.example")
    result = {}
    for number, (name, order) in enumerate(orders(tries).items()):
        a, b = compare(door, known[:tries], unknown[number * tries:][:tries], order)
        result[name] = {"known_ms": a * 1000, "unknown_ms": b * 1000, "ratio": b / a}
    a, b = compare(door, known[:tries], known[tries:], orders(tries)["in turn"])
    result["known against known"] = {"known_ms": a * 1000, "unknown_ms": b * 1000, "ratio": b / a}
    return result


def main(program, tries=200, into=None):
    with demonstration(program, WETSIDE_TRUSTED_PROXIES="127.0.0.0/8") as (url, _people, folder):
        result = measure(url, folder, int(tries))
    print(f"medians of {tries} tries each, ms")
    for name, row in result.items():
        print(f"{name:22} {row['known_ms']:8.2f} {row['unknown_ms']:8.2f}  ratio {row['ratio']:.3f}")
    if into:
        with open(into, "w") as file:
            json.dump(result, file, indent=1)
    return all(abs(row["ratio"] - 1) <= 0.05 for row in result.values())


if __name__ == "__main__":
    sys.exit(0 if main(*sys.argv[1:]) else "A ratio is more than 5 % from one")
