#!/usr/bin/env python3
"""Every volume on paper worked out again, in decimal arithmetic, for random days.

    ops/check/sheets.py PROGRAM [DAYS]

Each day some rolls are handed in, the day is planned, and every number of every run on the page,
in the API and in the sums is compared with what the recipe, the tank and the reels ask for.
"""
import html
import json
import os
import random
import re
import subprocess
import sys
import tempfile
import urllib.parse
import urllib.request
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

# What the invented studio typed from its makers' sheets and measured at its bench.
LEAST_ML = {"Saltmarsh": "6", "Fathom": "100", "Lamplight": "10", "Twinrope": "2"}
COVER_ML = {"135": 290, "120": 480}
TOOLS = [("20", "0.5"), ("100", "1"), ("5000", "5")]
ROLLS = [("135-36", "Gannet 400", 400), ("135-36", "Gannet 400", 800), ("135-36", "Harbour Pan 100", 100),
         ("120", "Harbour Pan 100", 100), ("120", "Mudlark 50", 50), ("135-24", "Gannet 400", 400),
         ("135-36", "Skerry T 400", 400), ("120", "Gannet 400", 400),
         ("135-36", "Gannet 400", 1600), ("120", "Harbour Pan 100", 400)]
DAYS_A_HOUSE = 25
# More than a day asks for, so that it is never the fixer that decides.
FIXER = {"product": "1", "volume_ml": "2000", "water_parts": "4", "label": "Fixer for the check", "place": "working",
         "material": "film", "way": "shared", "rolls_per_litre": "20", "margin": "75", "least_ml": "300",
         "minutes": "5", "keeps_days": "60"}


class House:
    """A demonstration studio of its own, with its lead and a member signed in."""

    def __init__(self, program, folder):
        env = dict(os.environ, DATABASE_URL="")
        self.server = subprocess.Popen([program, "demo", "--json", "--port", "0", "--keep", folder],
                                       stdout=subprocess.PIPE, text=True, env=env)
        try:
            self.furnish(json.loads(self.server.stdout.readline()))
        except BaseException:
            self.close()
            raise

    def furnish(self, said):
        self.url = said["url"]
        people = {p["role"]: p for p in said["people"]}
        self.lead, self.member = (self.token(people[r]) for r in ("lead", "member"))
        self.pages = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        self.form("/sign-in", email=people["lead"]["email"], password=people["lead"]["password"])
        self.form("/baths", **FIXER)

    def token(self, person):
        return self.call("POST", "/api/v1/tokens", None, {
            "email": person["email"], "password": person["password"], "label": "sheets"})["token"]

    def call(self, method, path, bearer, body=None):
        headers = {"Content-Type": "application/json"}
        if bearer:
            headers["Authorization"] = f"Bearer {bearer}"
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.url + path, data, headers, method=method)
        with urllib.request.urlopen(request) as answer:
            return json.load(answer, parse_float=Decimal)

    def form(self, path, **fields):
        with self.pages.open(self.url + path, urllib.parse.urlencode(fields).encode()) as answer:
            return answer.read().decode()

    def page(self, path):
        with self.pages.open(self.url + path) as answer:
            return answer.read().decode()

    def close(self):
        self.server.terminate()
        self.server.wait(timeout=30)


def mixed(run, tank, parts, formats):
    """Each part (or the one concentrate), water and all of it for a run, from the raw figures."""
    water, named = parts
    reels = [COVER_ML[f.split("-")[0]] for f in formats]
    least = next(Decimal(ml) for name, ml in LEAST_ML.items() if run["developer"].startswith(name))
    whole = Decimal(water) + sum(named)
    need = max(Decimal(tank["base_ml"]) + sum(reels), Decimal(tank["min_ml"]), whole * least * len(formats))
    exact = need / whole
    step = next((Decimal(s) for holds, s in TOOLS if Decimal(holds) >= exact), Decimal(TOOLS[-1][1]))
    concentrate = (exact / step).to_integral_value(ROUND_CEILING) * step
    fits = concentrate * whole <= tank["max_ml"]
    first, last = (concentrate, "0.1") if fits else (exact, "0.001")
    volumes = [first * part for part in named] + [first * Decimal(water), first * whole]
    return [v.quantize(Decimal(last), ROUND_HALF_UP) for v in volumes]


def near(one, other):
    # A measure that is taken exactly is printed to a microlitre; the last figure may be rounded.
    return abs(Decimal(one) - Decimal(other)) <= Decimal("0.001")


def on_page(page):
    """Each part, water and all of it of every run, as they stand on the page."""
    runs = {}
    for slip in re.findall(r'<section class="slip run".*?</section>', page, re.S):
        number = int(re.search(r"Run (\d+):", slip)[1])
        said = re.findall(r'<dt>(?:<bdi>)?([^<]*)(?:</bdi>)?</dt><dd><span class="quantity large">([\d.]+)', slip)
        volume = dict(said)
        poured = [ml for name, ml in said if name not in ("In all", "Water")]
        runs[number] = poured + [volume["Water"], volume["In all"]]
    return runs


def compare(house, date, runs, page, tanks, parts, formats):
    wrong, sums, shown = [], {}, on_page(page)
    if len(shown) != len(runs):
        wrong.append(f"{date}: {len(runs)} runs and {len(shown)} on the page")
    for run in runs:
        want = mixed(run, tanks[run["tank"]], parts[run["developer"]], [formats[t] for t in run["rolls"]])
        poured = [part["ml"] for part in run["parts"]] or [run["concentrate_ml"]]
        said = poured + [run["water_ml"], run["developer_ml"]]
        for source, got in (("API", said), ("page", shown.get(run["number"], []))):
            if len(want) != len(got) or not all(near(a, b) for a, b in zip(want, got)):
                wrong.append(f"{date} run {run['number']} on the {source}: {got}, worked out {want}")
        if sum(map(Decimal, said[:-1])) != Decimal(said[-1]) or sum(map(Decimal, poured)) != Decimal(run["concentrate_ml"]):
            wrong.append(f"{date} run {run['number']}: {said} does not add up")
        drawn = [Decimal(v) for v in poured + said[-1:]]
        total = sums.setdefault(run["developer"], [Decimal(0)] * len(drawn))
        sums[run["developer"]] = [a + b for a, b in zip(total, drawn)]
    return wrong, sums


def day(house, date, chance, tanks, parts):
    # Most of what waited goes home again, so that every day groups others.
    for roll in sorted(house.call("GET", "/api/v1/rolls?status=handed_in", house.lead)["items"], key=lambda r: r["ticket"]):
        if chance.random() < 0.7:
            house.call("POST", f"/api/v1/rolls/{roll['ticket']}/state", house.lead, {"status": "withdrawn"})
    for _ in range(chance.randint(2, 5)):
        fmt, film, ei = chance.choice(ROLLS)
        house.call("POST", "/api/v1/rolls", house.member, {"format": fmt, "film": film, "ei": ei, "accept_terms": 1})
    plan = house.call("POST", "/api/v1/plans", house.lead, {"date": date})
    rolls = house.call("GET", "/api/v1/rolls?status=handed_in", house.lead)["items"]
    formats = {roll["ticket"]: roll["format"] for roll in rolls}
    wrong, _ = compare(house, date, plan["runs"], house.page(f"/days/{date}/plan"), tanks, parts, formats)
    mixed_runs = sum(bool(run["parts"]) for run in plan["runs"])
    return wrong, (len(plan["runs"]), mixed_runs), formats


def published(house, date, tanks, parts, formats):
    """The last day of a house is published: the sheet as it is printed, and its sums."""
    sheet = house.call("POST", f"/api/v1/plans/{date}/publish", house.lead, {})
    page = house.page(f"/days/{date}")
    wrong, sums = compare(house, date, sheet["runs"], page, tanks, parts, formats)
    table = re.search(r'<table id="sums".*?</table>', page, re.S)[0]
    printed = {}
    for row in re.findall(r"<tr>(.*?)</tr>", table.split("<tbody>")[1], re.S):
        name, rest = re.search(r"<bdi>(.*?)</bdi></th>(.*)", row, re.S).groups()
        printed[html.unescape(name)] = [Decimal(ml) for ml in re.findall(r"([\d.]+)&#8239;", rest)]
    if printed != sums:
        wrong.append(f"{date}: the sums on the page are {printed}, worked out {sums}")
    return wrong


def main(program, days):
    chance, wrong, runs, done, mixed_runs = random.Random(20270314), [], 0, 0, 0
    while done < days:
        with tempfile.TemporaryDirectory() as folder:
            house = House(program, folder)
            try:
                tanks = {t["name"]: t for t in house.call("GET", "/api/v1/tanks", house.member)["items"]}
                recipes = house.call("GET", "/api/v1/recipes", house.member)["items"]
                parts = {r["developer"]: (r["water_parts"], [Decimal(p["parts"]) for p in r["parts"]] or [Decimal(1)])
                         for r in recipes}
                for n in range(min(DAYS_A_HOUSE, days - done)):
                    month, date_of = divmod(chance.randint(0, 300), 28)
                    date = f"2030-{month % 12 + 1:02}-{date_of + 1:02}"
                    found, (count, of_parts), formats = day(house, date, chance, tanks, parts)
                    wrong += found
                    runs += count
                    mixed_runs += of_parts
                    done += 1
                wrong += published(house, date, tanks, parts, formats)
            finally:
                house.close()
    for line in wrong:
        print(line)
    print(f"{done} days, {runs} runs ({mixed_runs} of developers in parts), {len(wrong)} differences")
    if wrong or runs < done or mixed_runs == 0:
        sys.exit("The sheets do not agree with the arithmetic.")


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 50)
