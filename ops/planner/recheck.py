"""Checks a plan against every rule of a day, plainly and exactly, without the planner's code."""

from datetime import datetime, timedelta, timezone
from fractions import Fraction
from math import ceil, floor, isqrt
from zoneinfo import ZoneInfo
import json


def exact(text):
    """A day's file with exact numbers."""
    return json.loads(text, parse_float=Fraction, parse_int=int)


class Day:
    def __init__(self, day):
        self.day = day
        zone = ZoneInfo(day["time_zone"])
        year, month, date = map(int, day["date"].split("-"))
        self.zone = zone
        self.midnight = datetime(year, month, date, tzinfo=zone).astimezone(timezone.utc)
        after = datetime(year, month, date, tzinfo=zone) + timedelta(days=1)
        self.length = int((after.astimezone(timezone.utc) - self.midnight).total_seconds())
        self.date = (year, month, date)
        self.rolls = {roll["id"]: roll for roll in day["rolls"]}
        self.tanks = {tank["id"]: tank for tank in day["tanks"]}
        self.people = {person["id"]: person for person in day["people"]}
        self.sinks = {sink["id"]: sink for sink in day["sinks"]}
        self.reels = {reel["kind"]: reel for reel in day["reels"]}
        self.formats = {form["id"]: form for form in day["formats"]}
        self.developers = {developer["id"]: developer for developer in day["developers"]}
        self.open = self.merged([self.span(span) for span in day["open"]])

    def at(self, text):
        if text.startswith("24:00"):
            return self.length
        parts = [int(part) for part in text.split(":")] + [0]
        local = datetime(*self.date, *parts[:3], tzinfo=self.zone)
        return int((local.astimezone(timezone.utc) - self.midnight).total_seconds())

    def stamp(self, text):
        return int((datetime.fromisoformat(text) - self.midnight).total_seconds())

    def span(self, span):
        return (self.at(span[0]), self.at(span[1]))

    @staticmethod
    def merged(spans):
        merged = []
        for start, end in sorted(spans):
            if merged and start <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
            else:
                merged.append((start, end))
        return merged

    # What follows from rolls alone.
    def equivalents(self, roll):
        own = roll.get("roll_equivalents")
        return Fraction(self.formats[roll["format"]]["roll_equivalents"] if own is None else own)

    def reel(self, roll):
        return self.reels[self.formats[roll["format"]]["reel"]]

    def count(self, roll):
        return roll.get("reels") or 1

    def weight(self, roll):
        return roll.get("weight") or 1

    def factor(self, roll):
        factor = roll.get("fixer_factor")
        return Fraction(1 if factor is None else factor)

    def allowed(self, roll):
        tolerance = roll.get("tolerance_percent") or self.day["rules"]["tolerance_percent"]
        time = roll["time_s"]
        least = ceil(Fraction(time) * (100 - Fraction(tolerance["under"])) / 100)
        most = floor(Fraction(time) * (100 + Fraction(tolerance["over"])) / 100)
        return least, most

    def time(self, rolls):
        """Rule 2, by trying every second that is allowed."""
        least = max(self.allowed(roll)[0] for roll in rolls)
        most = min(self.allowed(roll)[1] for roll in rolls)
        if least > most:
            return None
        square = min(r["time_s"] for r in rolls) * max(r["time_s"] for r in rolls)
        step = self.day["rules"]["time_step_s"]
        steps = [second for second in range(least, most + 1) if second % step == 0]
        scale = 10**12
        mean = Fraction(isqrt(square * scale * scale), scale)
        exact_mean = mean if mean * mean == square else mean + Fraction(1, 10 * scale)
        mean = min(max(exact_mean, least), most)
        return min(steps or range(least, most + 1), key=lambda second: (abs(second - mean), -second))

    def volume(self, rolls, tank):
        """Rule 4: developer and concentrate, or nothing."""
        developer = self.developers[rolls[0]["developer"]]
        cover = tank["base_ml"] + sum(self.reel(roll)["cover_ml"] * self.count(roll) for roll in rolls)
        need = max(Fraction(cover), Fraction(tank["min_ml"]))
        bath = developer.get("bath")
        if bath:
            volume = ceil(need / 5) * 5
            return (volume, Fraction(0)) if volume <= min(Fraction(bath["volume_ml"]), Fraction(tank["max_ml"])) else None
        parts = 1 + Fraction(developer["water_parts"])
        need = max(need, parts * Fraction(developer["min_per_roll_ml"]) * sum(map(self.equivalents, rolls)))
        concentrate = need / parts
        tools = sorted(self.day["rules"]["measuring"], key=lambda tool: tool["up_to_ml"])
        tool = next((tool for tool in tools if concentrate <= tool["up_to_ml"]), tools[-1])
        step = Fraction(tool["step_ml"])
        rounded = ceil(concentrate / step) * step
        if rounded * parts <= tank["max_ml"]:
            return rounded * parts, rounded
        return (need, concentrate) if need <= tank["max_ml"] else None

    def cost(self, rolls, tank):
        developer = self.developers[rolls[0]["developer"]]
        if developer.get("bath"):
            return Fraction(0)
        price = developer.get("cost_per_ml")
        least = Fraction(developer["min_per_roll_ml"])
        each = Fraction(price) if price is not None else (1 / least if least else Fraction(1))
        return self.volume(rolls, tank)[1] * each

    def fits(self, rolls, tank):
        """Rules 1 to 5 of one run."""
        rules, first = self.day["rules"], rolls[0]
        same = ("developer", "temperature_c", "agitation", "pre_soak_s")
        fixer = tank["base_ml"] + sum(self.reel(roll)["cover_ml"] * self.count(roll) for roll in rolls)
        return (
            all(roll[key] == first[key] for roll in rolls for key in same)
            and self.time(rolls) is not None
            and sum(self.reel(roll)["height_mm"] * self.count(roll) for roll in rolls) <= tank["stack_mm"]
            and sum(map(self.count, rolls)) <= tank["max_reels"]
            and (len(rolls) == 1 or not any(roll.get("alone") for roll in rolls))
            and len(rolls) <= (rules.get("max_rolls_per_run") or 10**9)
            and len({roll["owner"] for roll in rolls}) <= (rules.get("max_owners_per_run") or 10**9)
            and self.volume(rolls, tank) is not None
            and (not self.day.get("fixer") or fixer <= self.day["fixer"]["volume_ml"])
        )

    def phases(self, rolls, time):
        """Moments from the start: developer in, developed, fix begins, fix ends, end; windows."""
        steps, hands = self.day["steps"], self.day["hands"]
        poured = rolls[0]["pre_soak_s"]
        developed = poured + time
        fix = developed + steps["stop_s"]
        fixed = fix + steps["fix_s"]
        washed = fixed + sum(steps[key] for key in ("rinse_s", "wash_aid_s", "wash_s", "wetting_s"))
        end = washed + steps["hang_s_per_roll"] * len(rolls)
        windows = [
            (poured - hands["before_pour_s"], poured + hands["after_pour_s"]),
            (developed - hands["before_end_s"], fix + hands["after_fix_s"]),
            (fixed - hands["before_end_s"], fixed + hands["after_fix_s"]),
            (washed, end),
        ]
        return poured, developed, fix, fixed, end, self.merged([w for w in windows if w[0] < w[1]])

    def loading(self, rolls):
        times = self.day["loading"]["per_roll_s"]
        return self.day["loading"]["per_tank_s"] + sum(times[self.reel(roll)["kind"]] * self.count(roll) for roll in rolls)


def most(claims):
    """The highest sum of claims (from, to, amount) at any moment."""
    moments = {start for start, end, _ in claims if start < end}
    return max((sum(n for start, end, n in claims if start <= at < end) for at in moments), default=0)


def inside(spans, start, end):
    return start >= end or any(a <= start and end <= b for a, b in spans)


def recheck(day, plan):
    """Everything wrong with a plan, and its objectives 1 to 4."""
    wrong, d = [], Day(day)
    seen = [roll for run in plan["runs"] for roll in run["rolls"]] + [left["roll"] for left in plan["left_over"]]
    if sorted(seen) != sorted(d.rolls):
        wrong.append("a roll is lost or stands twice")
    claims = {}
    late, cost, fixer = set(), Fraction(0), Fraction(0)
    for run in plan["runs"]:
        name = f"run {run['tank']} {run['start']}"
        rolls = [d.rolls[roll] for roll in run["rolls"]]
        tank, person = d.tanks[run["tank"]], d.people[run["person"]]
        if not d.fits(rolls, tank):
            wrong.append(f"{name}: not allowed in its tank")
            continue
        time = d.time(rolls)
        if run["time_s"] != time:
            wrong.append(f"{name}: time {run['time_s']}, not {time}")
        volume, concentrate = d.volume(rolls, tank)
        if abs(run["developer_ml"] - volume) > Fraction(1, 20) or abs(run["concentrate_ml"] - concentrate) > Fraction(1, 20):
            wrong.append(f"{name}: volumes {run['developer_ml']}, {run['concentrate_ml']}")
        cost += d.cost(rolls, tank)
        fixer += sum(d.equivalents(roll) * d.factor(roll) for roll in rolls)
        poured, developed, fix, fixed, length, windows = d.phases(rolls, time)
        start, end = d.stamp(run["start"]), d.stamp(run["end"])
        if start % (day["rules"].get("grid_s") or 60) or end != start + length:
            wrong.append(f"{name}: start off the grid or wrong end")
        if not inside(d.open, start, end):
            wrong.append(f"{name}: outside opening")
        hours = d.merged([d.span(span) for span in person["hours"]])
        for a, b in windows:
            claims.setdefault(("hands", run["person"]), []).append((start + a, start + b, 1))
            if not inside(hours, start + a, start + b):
                wrong.append(f"{name}: {run['person']} is not there")
        held = start
        preloaded = tank.get("preloaded") or []
        if run["loader"] is None:
            if sorted(preloaded) != sorted(run["rolls"]):
                wrong.append(f"{name}: not preloaded and not loaded")
        else:
            held, loaded = d.stamp(run["load_start"]), d.stamp(run["load_end"])
            if loaded - held != d.loading(rolls) or loaded > start or not inside(d.open, held, loaded):
                wrong.append(f"{name}: loading is wrong")
            loader = d.merged([d.span(span) for span in d.people[run["loader"]]["hours"]])
            if not inside(loader, held, loaded):
                wrong.append(f"{name}: the loader is not there")
            claims.setdefault(("hands", run["loader"]), []).append((held, loaded, 1))
            claims.setdefault(("loading",), []).append((held, loaded, 1))
        steps = day["steps"]
        claims.setdefault(("tank", run["tank"]), []).append((held, end + steps["tank_gap_s"], 1))
        claims.setdefault(("sink", run["sink"]), []).append((start, end + steps["sink_gap_s"], 1))
        claims.setdefault(("developing", run["person"]), []).append((start + poured, start + developed, 1))
        if d.developers[rolls[0]["developer"]].get("bath"):
            claims.setdefault(("bath", rolls[0]["developer"]), []).append((start + poured, start + developed, 1))
        wet = tank["base_ml"] + sum(d.reel(roll)["cover_ml"] * d.count(roll) for roll in rolls)
        claims.setdefault(("fixer",), []).append((start + fix, start + fixed, wet))
        for roll in rolls:
            reel = d.reel(roll)
            claims.setdefault(("reel", reel["kind"]), []).append((held, end + reel["drying_s"], d.count(roll)))
            if day.get("hanging"):
                claims.setdefault(("hanging",), []).append((end, end + day["hanging"]["drying_s"], 1))
            if roll.get("ready") and held < d.at(roll["ready"]):
                wrong.append(f"{name}: {roll['id']} is not there yet")
            if roll.get("due") and end + steps["ready_after_s"] > d.at(roll["due"]):
                late.add(roll["id"])
    for key, taken in claims.items():
        capacity, busy = supply(d, key)
        if capacity is not None and most(taken + busy) > capacity and most(taken + busy) > most(busy):
            wrong.append(f"{key} is taken more than {capacity} times")
    if day.get("fixer") and fixer > Fraction(day["fixer"]["remaining"]):
        wrong.append("the fixer is overused")
    for developer in day["developers"]:
        used = sum(d.equivalents(d.rolls[r]) for run in plan["runs"] if run["developer"] == developer["id"] for r in run["rolls"])
        if developer.get("bath") and used > Fraction(developer["bath"]["remaining"]):
            wrong.append(f"the bath of {developer['id']} is overused")
    if sorted(late) != sorted(plan["late"]):
        wrong.append(f"late rolls are {sorted(late)}")
    left = sum(d.weight(d.rolls[item["roll"]]) for item in plan["left_over"])
    found = (left, len(late), len(plan["runs"]), cost)
    totals = plan["totals"]
    told = (totals["left_over_weight"], totals["late"], totals["runs"])
    if told != found[:3] or abs(totals["cost"] - cost) > Fraction(1, 1000):
        wrong.append(f"totals {told} {totals['cost']} are not {found}")
    order = [(d.stamp(run["start"]), list(d.tanks).index(run["tank"])) for run in plan["runs"]]
    if order != sorted(order):
        wrong.append("runs are not listed by start and tank")
    return wrong, found


def supply(d, key):
    """How much there is of something, and what of it is taken anyway."""
    day, name = d.day, key[-1]
    whole = lambda spans, n: [(*d.span(span), n) for span in spans or []]
    counted = lambda spans: [(*d.span(span), span[2]) for span in spans or []]
    match key[0]:
        case "tank":
            return 1, whole(d.tanks[name].get("busy"), 1)
        case "sink":
            places = d.sinks[name]["places"]
            return places, whole(d.sinks[name].get("busy"), places)
        case "hands" | "bath":
            return 1, []
        case "developing":
            return d.people[name]["tanks_at_once"], []
        case "loading":
            return day["loading"]["places"], counted(day["loading"].get("busy"))
        case "reel":
            return d.reels[name]["owned"], counted(d.reels[name].get("busy"))
        case "hanging":
            return day["hanging"]["places"], counted(day["hanging"].get("busy"))
        case "fixer":
            return (day.get("fixer") or {}).get("volume_ml"), []
