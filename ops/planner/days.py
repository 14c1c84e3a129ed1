#!/usr/bin/env python3
"""Makes days for the planner: `days.py SET COUNT [--first N] > days.jsonl`, one day a line.

Sets: ordinary (up to 60 rolls, 6 tanks, 3 sinks, 2 people), tight (hours, reels or hands bind),
small (at most 14 rolls, tight), odd (every key of the format in use, for the re-check),
backlog (number 0 has 100 rolls, 1 has 1,000, 2 has 10,000, to be grouped only).
The same set and number always give the same day.
"""

import argparse
import json
import random

FILMS = [("Harbour Pan 100", 0), ("Gannet 400", 1), ("Slipway 200", 2), ("Lantern 800", 3), ("Skerry 50", 4)]
OWNERS = ["ana", "ben", "cato", "dara", "eefje", "finn", "gus", "hana"]
DEVELOPERS = [
    {"id": "saltmarsh", "water_parts": 31, "min_per_roll_ml": 6.0, "cost_per_ml": 0.035, "bath": None},
    {"id": "d76", "water_parts": 1, "min_per_roll_ml": 100, "cost_per_ml": 0.004, "bath": None},
    {"id": "estuary", "water_parts": 14, "min_per_roll_ml": 10, "cost_per_ml": None, "bath": None},
    {"id": "breakwater", "water_parts": 49, "min_per_roll_ml": 4, "cost_per_ml": 0.05, "bath": None},
]
SIZES = [
    {"stack_mm": 110, "max_reels": 2, "base_ml": 10, "min_ml": 250, "max_ml": 650},
    {"stack_mm": 160, "max_reels": 3, "base_ml": 15, "min_ml": 300, "max_ml": 1000},
    {"stack_mm": 210, "max_reels": 4, "base_ml": 20, "min_ml": 300, "max_ml": 1250},
    {"stack_mm": 265, "max_reels": 5, "base_ml": 20, "min_ml": 400, "max_ml": 1600},
    {"stack_mm": 420, "max_reels": 8, "base_ml": 30, "min_ml": 600, "max_ml": 2600},
]


def clock(minutes):
    return f"{minutes // 60:02}:{minutes % 60:02}"


def room(rng, tanks, sinks, people, hours, reels):
    opening = [[clock(a), clock(b)] for a, b in hours]
    sizes = sorted(rng.choices(SIZES, k=tanks), key=lambda size: size["stack_mm"])
    return {
        "format": 1,
        "date": "2027-03-14",
        "time_zone": "Europe/Dublin",
        "open": opening,
        "rules": {
            "tolerance_percent": {"under": 5, "over": 5},
            "time_step_s": 15,
            "grid_s": 60,
            "measuring": [{"up_to_ml": 20, "step_ml": 0.5}, {"up_to_ml": 100, "step_ml": 1}, {"up_to_ml": 5000, "step_ml": 5}],
        },
        "steps": {
            "stop_s": 60, "fix_s": 300, "rinse_s": 30, "wash_aid_s": 120, "wash_s": 300, "wetting_s": 60,
            "hang_s_per_roll": 60, "sink_gap_s": 300, "tank_gap_s": 600, "ready_after_s": 9000,
        },
        "hands": {"before_pour_s": 30, "after_pour_s": 75, "before_end_s": 15, "after_fix_s": 45},
        "loading": {"places": 1, "per_tank_s": 120, "per_roll_s": {"135": 120, "120": 180}},
        "people": [{"id": name, "hours": opening, "tanks_at_once": 2} for name in ["lead", "mira", "noor"][:people]],
        "sinks": [{"id": name, "places": 1, "busy": []} for name in ["north", "south", "east"][:sinks]],
        "hanging": {"places": 90, "drying_s": 7200, "busy": []},
        "reels": [
            {"kind": "135", "height_mm": 50, "cover_ml": 290, "owned": reels[0], "drying_s": 5400, "busy": []},
            {"kind": "120", "height_mm": 70, "cover_ml": 490, "owned": reels[1], "drying_s": 5400, "busy": []},
        ],
        "formats": [{"id": "135-36", "reel": "135", "roll_equivalents": 1.0}, {"id": "120", "reel": "120", "roll_equivalents": 1.0}],
        "tanks": [{"id": chr(65 + i), **size, "busy": [], "preloaded": None} for i, size in enumerate(sizes)],
        "developers": [],
        "fixer": {"volume_ml": 6000, "remaining": 200},
        "rolls": [],
    }


def fill(rng, day, rolls, families, share_120=0.25):
    """Rolls of a few films and developers: a real drop box repeats itself."""
    day["developers"] = [dict(developer) for developer in rng.sample(DEVELOPERS, families)]
    times = {}
    for number in range(rolls):
        developer = rng.choices(day["developers"], weights=[8, 4, 2, 1][:families])[0]["id"]
        film = rng.choice(FILMS[: rng.randint(2, 5)])[1]
        time = times.setdefault((developer, film), 15 * rng.randint(24, 56))
        day["rolls"].append({
            "id": f"R{number + 1}", "owner": rng.choice(OWNERS), "format": "120" if rng.random() < share_120 else "135-36",
            "developer": developer, "temperature_c": 20.0, "agitation": "30s+5s/60s", "pre_soak_s": 60, "time_s": time,
        })


def with_largest_tank(day, size):
    """At least one tank that holds any single roll."""
    if day["tanks"][-1]["stack_mm"] < size["stack_mm"]:
        day["tanks"][-1] = {"id": day["tanks"][-1]["id"], **size, "busy": [], "preloaded": None}


def due_some(rng, day, share, first, last):
    for roll in day["rolls"]:
        if rng.random() < share:
            roll["due"] = clock(rng.randrange(first, last, 15))


def ordinary(rng):
    day = room(rng, rng.randint(4, 6), rng.randint(2, 3), 2, [(600, 1200)], (rng.randint(24, 40), rng.randint(10, 16)))
    with_largest_tank(day, SIZES[4])
    fill(rng, day, rng.randint(8, 60), rng.randint(2, 4))
    day["hanging"]["places"] = 90
    due_some(rng, day, 0.08, 1140, 1380)
    for roll in day["rolls"]:
        if rng.random() < 0.05:
            roll["alone"] = True
        if rng.random() < 0.1:
            roll["ready"] = clock(rng.randrange(600, 780, 15))
    return day


def tight(rng):
    kind = rng.choice(["hours", "reels", "hands"])
    hours = [(600, rng.randint(780, 900))] if kind == "hours" else [(600, 960)]
    reels = (rng.randint(3, 6), rng.randint(1, 3)) if kind == "reels" else (24, 10)
    day = room(rng, rng.randint(2, 5), 1 if kind == "hours" else rng.randint(1, 3), 1 if kind != "reels" else 2, hours, reels)
    with_largest_tank(day, SIZES[2])
    fill(rng, day, rng.randint(16, 40), rng.randint(1, 3))
    if kind == "hands":
        day["loading"]["per_roll_s"] = {"135": 300, "120": 360}
    due_some(rng, day, 0.1, 900, 1200)
    return day


def small(rng):
    day = room(rng, rng.randint(1, 3), rng.randint(1, 2), rng.randint(1, 2), [(600, rng.randint(690, 840))], (rng.randint(2, 6), rng.randint(1, 3)))
    with_largest_tank(day, SIZES[1])
    fill(rng, day, rng.randint(4, 14), rng.randint(1, 3))
    due_some(rng, day, 0.2, 780, 1020)
    for roll in day["rolls"]:
        if rng.random() < 0.1:
            roll["ready"] = clock(rng.randrange(600, 690, 15))
    day["rules"]["grid_s"] = 300
    return day


def odd(rng):
    day = room(rng, rng.randint(1, 5), rng.randint(1, 3), rng.randint(1, 3), [(540, 720), (rng.choice([720, 765]), 1110)], (rng.randint(2, 12), rng.randint(1, 6)))
    with_largest_tank(day, SIZES[rng.randint(1, 4)])
    fill(rng, day, rng.randint(1, 30), rng.randint(1, 4), 0.4)
    if rng.random() < 0.3:
        day["date"] = rng.choice(["2027-03-28", "2027-10-31"])
    day["rules"].update(time_step_s=rng.choice([1, 15, 30]), grid_s=rng.choice([30, 60, 300, 7]), max_rolls_per_run=rng.choice([None, 2, 4]), max_owners_per_run=rng.choice([None, 1, 2]))
    day["hanging"] = rng.choice([None, {"places": rng.randint(3, 20), "drying_s": 3600, "busy": [["10:00", "12:00", 2]]}])
    day["fixer"] = rng.choice([None, {"volume_ml": rng.randint(700, 3000), "remaining": rng.randint(3, 25) + 0.5}])
    for developer in day["developers"]:
        if rng.random() < 0.25:
            developer["bath"] = {"volume_ml": rng.randint(600, 3000), "remaining": rng.randint(2, 20)}
        developer["water_parts"] = rng.choice([developer["water_parts"], 0, 1.5, 25])
        developer["min_per_roll_ml"] = rng.choice([developer["min_per_roll_ml"], 0, 3.3])
    for thing in day["sinks"] + day["tanks"]:
        if rng.random() < 0.3:
            at = rng.randrange(540, 1000, 7)
            thing["busy"] = [[clock(at), clock(at + rng.randint(5, 100))]]
    for person in day["people"]:
        at = rng.randrange(540, 700, 10)
        person["hours"] = [[clock(at), clock(at + rng.randint(60, 200))], [clock(at + 200), "24:00"]]
        person["tanks_at_once"] = rng.randint(1, 3)
    day["reels"][0]["busy"] = [["09:30", "10:30", rng.randint(1, 3)]]
    for roll in day["rolls"]:
        roll.update(weight=rng.choice([1, 1, 1, 2, 5]), alone=rng.random() < 0.1, fixer_factor=rng.choice([1, 1, 1.5]), pre_soak_s=rng.choice([60, 60, 0]))
        if rng.random() < 0.15:
            roll["reels"] = 2
        if rng.random() < 0.2:
            roll["ready"] = clock(rng.randrange(540, 900, 5))
        if rng.random() < 0.3:
            roll["due"] = clock(rng.randrange(800, 1300, 5))
        if rng.random() < 0.3:
            roll["tolerance_percent"] = {"under": rng.choice([0, 2.5, 10]), "over": rng.choice([0, 3, 10])}
        if rng.random() < 0.1:
            roll["roll_equivalents"] = rng.choice([0, 0.25, 2])
    if rng.random() < 0.3 and day["tanks"]:
        day["tanks"][-1]["preloaded"] = [roll["id"] for roll in day["rolls"][: rng.randint(1, 2)]]
    return day


def backlog(rng, rolls):
    """A backlog of many kinds: ten films, four formats of tank, two tolerances."""
    day = room(rng, 6, 3, 2, [(600, 1200)], (40, 16))
    with_largest_tank(day, SIZES[4])
    day["hanging"], day["fixer"] = None, None
    day["developers"] = [dict(developer) for developer in DEVELOPERS]
    for developer in day["developers"]:
        developer["cost_per_ml"] = 0.03
    times = {(developer["id"], film): 15 * rng.randint(24, 56) for developer in DEVELOPERS for film in range(10)}
    for number in range(rolls):
        developer = rng.choices(day["developers"], weights=[8, 4, 2, 1])[0]["id"]
        day["rolls"].append({
            "id": f"R{number + 1}", "owner": rng.choice(OWNERS), "format": "120" if rng.random() < 0.25 else "135-36",
            "developer": developer, "temperature_c": 20.0, "agitation": "30s+5s/60s", "pre_soak_s": 60,
            "time_s": times[developer, rng.randrange(10)],
            "tolerance_percent": {"under": 3, "over": 3} if rng.random() < 0.1 else None,
        })
    return day


SETS = {"ordinary": ordinary, "tight": tight, "small": small, "odd": odd}


def make(name, number):
    if name == "backlog":
        return backlog(random.Random(f"wetside {name} {number}"), 100 * 10**number)
    return SETS[name](random.Random(f"wetside {name} {number}"))


def main():
    line = argparse.ArgumentParser(description=__doc__)
    line.add_argument("set", choices=sorted([*SETS, "backlog"]))
    line.add_argument("count", type=int)
    line.add_argument("--first", type=int, default=0)
    asked = line.parse_args()
    for number in range(asked.first, asked.first + asked.count):
        print(json.dumps(make(asked.set, number)))


if __name__ == "__main__":
    main()
