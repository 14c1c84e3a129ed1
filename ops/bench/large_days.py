#!/usr/bin/env python3
"""Large days by the pages: 60 rolls planned from click to page, and many planned, published and run.

    ops/bench/large_days.py PROGRAM [ROLLS]

A demonstration studio gets more tanks, reels, fixer and developer. Each day everything that waits is
planned (in the background where it is much), published, and every run is ended, until nothing waits.
For each day it prints how long each phase of the planning was seen, and what came of it.
"""
import collections
import datetime
import json
import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request

ROLLS = [("Gannet 400", 400), ("Harbour Pan 100", 100), ("Gannet 400", 800), ("Skerry T 400", 400),
         ("Gannet 400", 1600)]
TANK = {"holds": "5 of 135 or 3 of 120", "stack_mm": "250", "max_reels": "5", "base_ml": "10", "min_ml": "300",
        "max_ml": "1500", "note": ""}
FIXER = {"product": "1", "volume_ml": "40000", "water_parts": "4", "label": "Fixer for many", "place": "working",
         "material": "film", "way": "shared", "rolls_per_litre": "20", "margin": "75", "least_ml": "300",
         "minutes": "5", "keeps_days": "60"}


class Refused(Exception):
    """A form came back, with what was wrong."""


class Studio:
    def __init__(self, program, folder):
        env = dict(os.environ, DATABASE_URL="")
        self.server = subprocess.Popen([program, "demo", "--json", "--port", "0", "--keep", folder, "--starts-at",
                                        "2027-03-15T08:30:00"], stdout=subprocess.PIPE, text=True, env=env)
        said = json.loads(self.server.stdout.readline())
        self.url, people = said["url"], {p["role"]: p for p in said["people"]}
        self.tokens = {r: self.call("POST", "/tokens", None, {
            "email": people[r]["email"], "password": people[r]["password"], "label": "days"})["token"]
            for r in ("lead", "member")}
        self.pages = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        self.form("/sign-in", email=people["lead"]["email"], password=people["lead"]["password"])

    def call(self, method, path, role, body=None):
        headers = {"Content-Type": "application/json"}
        if role:
            headers["Authorization"] = f"Bearer {self.tokens[role]}"
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(f"{self.url}/api/v1{path}", data, headers, method=method)
        with urllib.request.urlopen(request) as answer:
            return json.load(answer)

    def form(self, path, **fields):
        """Where a posted form leads, and that page."""
        try:
            with self.pages.open(self.url + path, urllib.parse.urlencode(fields).encode()) as answer:
                return answer.geturl().removeprefix(self.url), answer.read().decode()
        except urllib.error.HTTPError as refused:
            faults = re.findall(r'class="fault"[^>]*>(.*?)</p>', refused.read().decode(), re.S)
            words = [re.sub(r"<[^>]+>", "", fault).strip() for fault in faults]
            raise Refused(f"{path}: {refused.code} {words}") from None

    def page(self, path):
        with self.pages.open(self.url + path) as answer:
            return answer.read().decode()

    def furnish(self):
        for n in range(6):
            self.form("/room/tanks", name=f"Bench tank {n + 1}", position=str(20 + n), **TANK)
        self.form("/room/reels", kind="Bench reels", owned="60", drying_min="60", position="9", note="",
                  formats="135: 48 mm, 290 ml\n120: 68 mm, 480 ml")
        for product, lot in (("1", "MANY-1"), ("6", "MANY-6"), ("7", "MANY-7"), ("9", "MANY-9"), ("10", "MANY-10")):
            self.form(f"/shelf/products/{product}/bottles", lot=lot, expires="2029-01-01", count="20", size="1000",
                      price="10.00")
        self.form("/baths", **FIXER)
        # Films hang in a large cabinet, so that hanging places do not decide.
        week = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
        self.form("/room/hours", version="", seen="", **{day: "07:00-23:00" for day in week})
        page = self.page("/days/figures")
        fields = dict(re.findall(r'<input[^>]*name="([a-z0-9_]+)"[^>]*value="([^"]*)"', page))
        self.form("/days/figures", **{**fields, "hanging_places": "0"})

    def hand_in(self, count):
        for n in range(count):
            film, ei = ROLLS[n % len(ROLLS)]
            self.call("POST", "/rolls", "member", {"format": "135-36", "film": film, "ei": ei, "accept_terms": 1})


def planned(studio, date):
    """Plans by the page; how long it took, and how long each phase was seen."""
    began, phases = time.monotonic(), {}
    where, page = studio.form("/days", date=date)
    while where.startswith("/days/planning/"):
        seen = json.loads(studio.page(f"{where}/state"))
        phase = phases.setdefault(seen["phase"], [time.monotonic(), 0, ""])
        phase[1], phase[2] = time.monotonic(), f"{seen['done']}/{seen['of']}"
        if seen["over"]:
            where, page = f"/days/{date}/plan", studio.page(f"/days/{date}/plan")
            break
        time.sleep(0.1)
    took = time.monotonic() - began
    told = ", ".join(f"{name} {last - first:.1f} s ({far})" for name, (first, last, far) in phases.items())
    left = re.findall(r"<strong>[2-9A-Z]{6}</strong>: <bdi>([^<]*)</bdi>", page)
    why = collections.Counter(re.sub(r"[\d.]+", "n", reason) for reason in left).most_common(1)
    return took, told + (f"; {why[0][1]} left over: {why[0][0]}" if why else ""), len(
        re.findall(r'<section class="slip run"', page))


def main(program, rolls):
    with tempfile.TemporaryDirectory() as folder:
        studio = Studio(program, folder)
        try:
            studio.furnish()
            studio.hand_in(60 - 8)
            took, _, runs = planned(studio, "2027-03-22")
            print(f"60 rolls: {took:.2f} s from the click to the page, {runs} runs", flush=True)
            studio.hand_in(rolls - 60)
            done, first = 0, datetime.date(2027, 3, 22)
            for day in range(60):
                if done >= rolls:
                    break
                date = str(first + datetime.timedelta(days=day))
                try:
                    took, told, runs = planned(studio, date)
                except Refused as refused:
                    print(refused)
                    continue
                sheet = studio.call("POST", f"/plans/{date}/publish", "lead", {})
                began = time.monotonic()
                for run in sheet["runs"]:
                    if not run["ended"]:
                        studio.call("POST", f"/runs/{run['id']}/end", "lead", {})
                count = sum(len(r["rolls"]) for r in sheet["runs"])
                done += count
                print(f"{date}: planned in {took:.1f} s [{told}], {len(sheet['runs'])} runs with {count} rolls "
                      f"published, run in {time.monotonic() - began:.1f} s", flush=True)
            waiting = studio.call("GET", "/rolls?status=handed_in", "lead")["items"]
            print(f"{done} rolls run; {len(waiting)} wait on the first page of the list")
        finally:
            studio.server.terminate()
            studio.server.wait(timeout=30)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 500)
