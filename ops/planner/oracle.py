#!/usr/bin/env python3
"""Plans a day with CP-SAT: a model of every rule of its own, against which the planner is held.

`oracle.py [--seconds S] [--workers N] < days.jsonl` writes a line for each day: the objectives
1 to 4 in their order, as far as they were proven in the time, and the seconds that took.
Days with preloaded tanks are not its business. With `grouping` in front, rolls are only put
into tanks (rules 1 to 4), as if the room had no end.
"""

import argparse
import itertools
import json
import sys
import time
from fractions import Fraction
from math import gcd, lcm

from ortools.sat.python import cp_model

from recheck import Day, exact

NAMES = ("left_over_weight", "late", "runs", "cost")


class Kinds:
    """Rolls that no rule of one run tells apart, and what each mixture of kinds comes to."""

    def __init__(self, day):
        self.day = d = Day(day)
        by = {}
        for roll in day["rolls"]:
            rules = day["rules"]
            owner = roll["owner"] if rules.get("max_owners_per_run") else None
            key = (
                roll["developer"], roll["temperature_c"], roll["agitation"], roll["pre_soak_s"],
                roll["time_s"], d.allowed(roll), d.reel(roll)["kind"], d.count(roll), d.equivalents(roll),
                bool(roll.get("alone")), owner,
            )
            by.setdefault(key, []).append(roll)
        self.rolls = list(by.values())
        self.families = {}
        for at, key in enumerate(by):
            self.families.setdefault(key[:4], []).append(at)

    def mixtures(self, tanks, most=10**9):
        """Every count of kinds that one of the tanks holds: (kinds, rolls, {tank: cost})."""
        for kinds in self.families.values():
            yield from self._grown(tanks, kinds, (), [], most)

    def _grown(self, tanks, kinds, counts, rolls, most):
        if rolls:
            costs = {tank["id"]: self.day.cost(rolls, tank) for tank in tanks if self.day.fits(rolls, tank)}
            if not costs:
                return
            yield counts, rolls, costs
        first = counts[-1][0] if counts else kinds[0]
        for kind in (kind for kind in kinds if kind >= first):
            used = dict(counts).get(kind, 0)
            if used < len(self.rolls[kind]) and len(rolls) < most:
                more = tuple((k, n) for k, n in counts if k != kind) + ((kind, used + 1),)
                yield from self._grown(tanks, kinds, more, rolls + [self.rolls[kind][used]], most)


def whole(costs):
    """The factor that makes exact costs whole numbers."""
    factor = lcm(*(cost.denominator for cost in costs)) if costs else 1
    shared = gcd(*(int(cost * factor) for cost in costs)) if costs else 1
    return Fraction(factor, max(shared, 1))


class Lexicographic:
    """Objectives one after another, each held where the last one was proven."""

    def __init__(self, model, objectives, seconds, workers):
        self.model, self.objectives = model, objectives
        self.until = time.monotonic() + seconds
        self.workers = workers

    def solve(self):
        found, bounds, hint = [], [], None
        for objective in self.objectives:
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = self.workers
            solver.parameters.max_time_in_seconds = max(self.until - time.monotonic(), 0.01)
            self.model.minimize(objective)
            status = solver.solve(self.model)
            if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                break
            found = [solver.value(other) for other in self.objectives]
            bounds.append(round(solver.best_objective_bound))
            if status != cp_model.OPTIMAL:
                break
            self.model.add(objective <= found[len(bounds) - 1])
            self.model.clear_hints()
            for at, variable in enumerate(self.model.proto.variables):
                self.model.add_hint(self.model.get_int_var_from_proto_index(at), solver.value(self.model.get_int_var_from_proto_index(at)))
        proven = len(bounds) == len(self.objectives) and all(b >= f for b, f in zip(bounds, found))
        return found, bounds, proven


class Timed:
    """The whole day: runs are slots of a tank in the order of time."""

    def __init__(self, text):
        self.raw = exact(text)
        self.kinds = Kinds(self.raw)
        self.d = self.kinds.day
        if any(tank.get("preloaded") for tank in self.raw["tanks"]):
            raise SystemExit("a day with preloaded tanks")
        self.m = cp_model.CpModel()
        self.grid = self.raw["rules"].get("grid_s") or 60
        self.end = self.d.open[-1][1] if self.d.open else 0
        self.begin = self.d.open[0][0] if self.d.open else 0
        self.claims = {}
        self.slots = []
        mixtures = {tank["id"]: [] for tank in self.raw["tanks"]}
        for counts, rolls, costs in self.kinds.mixtures(self.raw["tanks"]):
            for tank, cost in costs.items():
                mixtures[tank].append((counts, rolls, cost))
        self.factor = whole([cost for all in mixtures.values() for _, _, cost in all])
        for tank in self.raw["tanks"]:
            if mixtures[tank["id"]]:
                self.fill(tank, mixtures[tank["id"]])
        self.rolls_once()
        self.supplies()

    def fill(self, tank, mixtures):
        """Slots of a tank: as many as could follow one another, each a mixture or nothing."""
        d, steps = self.d, self.raw["steps"]
        shortest = min(d.phases(rolls, d.time(rolls))[4] + d.loading(rolls) for _, rolls, _ in mixtures)
        cycle = shortest + steps["tank_gap_s"]
        count = min(len(self.raw["rolls"]), (self.end - self.begin - shortest) // cycle + 1) if self.end - self.begin >= shortest else 0
        before = None
        for _ in range(count):
            before = self.slot(tank, mixtures, before)

    def slot(self, tank, mixtures, before):
        m, d, end = self.m, self.d, self.end + 86400
        used = m.new_bool_var("")
        load, start, length = m.new_int_var(0, end, ""), m.new_int_var(0, end // self.grid, ""), m.new_int_var(0, end, "")
        kinds = sorted({kind for counts, _, _ in mixtures for kind, _ in counts})
        counts = {kind: m.new_int_var(0, len(self.kinds.rolls[kind]), "") for kind in kinds}
        reels = [reel["kind"] for reel in self.raw["reels"]]
        chosen = []
        sums = {name: [] for name in ("loading", "poured", "developed", "fix", "fixed", "length", "hung", "cost", "wet")}
        reel_sums, kind_sums, bath_of = {kind: [] for kind in reels}, {kind: [] for kind in kinds}, {}
        for mixture, rolls, cost in mixtures:
            x = m.new_bool_var("")
            chosen.append(x)
            poured, developed, fix, fixed, whole_length, _ = d.phases(rolls, d.time(rolls))
            wet = tank["base_ml"] + sum(d.reel(roll)["cover_ml"] * d.count(roll) for roll in rolls)
            values = dict(loading=d.loading(rolls), poured=poured, developed=developed, fix=fix, fixed=fixed, length=whole_length, hung=len(rolls), cost=int(cost * self.factor), wet=int(wet * 1000))
            for name, value in values.items():
                sums[name].append(value * x)
            for roll in rolls:
                reel_sums[d.reel(roll)["kind"]].append(d.count(roll) * x)
            for kind, number in mixture:
                kind_sums[kind].append(number * x)
            bath_of.setdefault(rolls[0]["developer"], []).append(x)
        m.add(sum(chosen) == used)
        for kind in kinds:
            m.add(counts[kind] == sum(kind_sums[kind]))
        slot = dict(tank=tank, used=used, load=load, start=start, counts=counts, baths=bath_of)
        for name, terms in sums.items():
            slot[name] = sum(terms) if terms else 0
        slot["reels"] = {kind: sum(terms) for kind, terms in reel_sums.items() if terms}
        m.add(length == slot["length"])
        slot["from"] = self.grid * start
        slot["end"] = m.new_int_var(0, 2 * end, "")
        m.add(slot["end"] == slot["from"] + length)
        m.add(load + slot["loading"] <= slot["from"])
        m.add(start == 0).only_enforce_if(used.negated())
        m.add(load == 0).only_enforce_if(used.negated())
        if before:
            m.add_implication(used, before["used"])
            m.add(load >= before["end"] + self.raw["steps"]["tank_gap_s"]).only_enforce_if(used)
        self.times(slot)
        self.slots.append(slot)
        return slot

    def claim(self, key, slot, start, end, amount=1, present=None):
        """Something is taken from one moment to another, if the slot is used."""
        m, present = self.m, slot["used"] if present is None else present
        a, b, size = m.new_int_var(-86400, 4 * 86400, ""), m.new_int_var(-86400, 4 * 86400, ""), m.new_int_var(0, 4 * 86400, "")
        m.add(a == start).only_enforce_if(present)
        m.add(b == end).only_enforce_if(present)
        interval = m.new_optional_interval_var(a, size, b, present, "")
        if not isinstance(amount, int):
            amount, terms = m.new_int_var(0, 10**7, ""), amount
            m.add(amount == terms)
        self.claims.setdefault(key, []).append((interval, amount))
        return interval, a, b

    def times(self, slot):
        m, raw, steps, hands = self.m, self.raw, self.raw["steps"], self.raw["hands"]
        start, load, end = slot["from"], slot["load"], slot["end"]
        loaded = load + slot["loading"]
        self.claim(("open",), slot, start, end)
        self.claim(("open load",), slot, load, loaded)
        self.claim(("tank", slot["tank"]["id"]), slot, load, end + steps["tank_gap_s"])
        self.claim(("loading",), slot, load, loaded)
        for reel in raw["reels"]:
            if reel["kind"] in slot["reels"]:
                self.claim(("reel", reel["kind"]), slot, load, end + reel["drying_s"], slot["reels"][reel["kind"]])
        if raw.get("hanging"):
            self.claim(("hanging",), slot, end, end + raw["hanging"]["drying_s"], slot["hung"])
        if raw.get("fixer"):
            self.claim(("fixer",), slot, start + slot["fix"], start + slot["fixed"], slot["wet"])
        sinks = self.one_of(slot, [sink["id"] for sink in raw["sinks"]])
        for sink, present in sinks.items():
            self.claim(("sink", sink), slot, start, end + steps["sink_gap_s"], 1, present)
        for developer in raw["developers"]:
            xs = slot["baths"].get(developer["id"])
            if developer.get("bath") and xs:
                present = m.new_bool_var("")
                m.add(sum(xs) == present)
                self.claim(("bath", developer["id"]), slot, start + slot["poured"], start + slot["developed"], 1, present)
        poured, developed, fix, fixed = (start + slot[name] for name in ("poured", "developed", "fix", "fixed"))
        windows = [
            (poured - hands["before_pour_s"], poured + hands["after_pour_s"]),
            (developed - hands["before_end_s"], fix + hands["after_fix_s"]),
            (fixed - hands["before_end_s"], fixed + hands["after_fix_s"]),
            (end - steps["hang_s_per_roll"] * slot["hung"], end),
        ]
        for person, present in self.one_of(slot, [person["id"] for person in raw["people"]]).items():
            before = None
            for a, b in windows: # what two windows of a run share counts once
                _, _, before = self.window(person, slot, a, b, before, present)
            self.claim(("developing", person), slot, poured, developed, 1, present)
        for loader, present in self.one_of(slot, [person["id"] for person in raw["people"]]).items():
            self.claim(("hands", loader), slot, load, loaded, 1, present)

    def window(self, person, slot, start, end, before, present):
        if before is None:
            return self.claim(("hands", person), slot, start, end, 1, present)
        a, b = self.m.new_int_var(-86400, 4 * 86400, ""), self.m.new_int_var(-86400, 4 * 86400, "")
        self.m.add_max_equality(a, [start, before])
        self.m.add_max_equality(b, [end, before])
        return self.claim(("hands", person), slot, a, b, 1, present)

    def one_of(self, slot, names):
        chosen = {name: self.m.new_bool_var("") for name in names}
        self.m.add(sum(chosen.values()) == slot["used"])
        return chosen

    def rolls_once(self):
        """Which rolls of a kind a slot takes matters only where they are ready or due."""
        m, self.taken, self.late = self.m, {}, {}
        for kind, rolls in enumerate(self.kinds.rolls):
            slots = [slot for slot in self.slots if kind in slot["counts"]]
            for roll in rolls:
                self.late[roll["id"]] = m.new_bool_var("")
                for at, slot in enumerate(slots):
                    y = m.new_bool_var("")
                    self.taken[roll["id"], at] = y
                    if roll.get("ready"):
                        m.add(slot["load"] >= self.d.at(roll["ready"])).only_enforce_if(y)
                    if roll.get("due"):
                        ready = slot["end"] + self.raw["steps"]["ready_after_s"]
                        m.add(ready <= self.d.at(roll["due"])).only_enforce_if(y, self.late[roll["id"]].negated())
                m.add(sum(self.taken[roll["id"], at] for at in range(len(slots))) <= 1)
            for at, slot in enumerate(slots):
                m.add(slot["counts"][kind] == sum(self.taken[roll["id"], at] for roll in rolls))
        self.served = {
            roll["id"]: sum(self.taken[roll["id"], at] for at in range(len([s for s in self.slots if kind in s["counts"]])))
            for kind, rolls in enumerate(self.kinds.rolls) for roll in rolls
        }

    def fixed(self, spans):
        return [self.m.new_fixed_size_interval_var(a, b - a, "") for a, b in spans if b > a]

    def closed(self, hours):
        """The complement of opening intervals."""
        edges = [-86400] + [moment for span in hours for moment in span] + [4 * 86400]
        return self.fixed(zip(edges[::2], edges[1::2]))

    def supplies(self):
        m, d, raw = self.m, self.d, self.raw
        for key, all in self.claims.items():
            match key[0]:
                case "open" | "open load":
                    for interval, _ in all:
                        m.add_no_overlap([interval] + self.closed(d.open))
                case "hands":
                    hours = d.merged([d.span(span) for span in d.people[key[1]]["hours"]])
                    m.add_no_overlap([interval for interval, _ in all] + self.closed(hours))
                case "tank":
                    busy = d.merged([d.span(span) for span in d.tanks[key[1]].get("busy") or []])
                    m.add_no_overlap([interval for interval, _ in all] + self.fixed(busy))
                case "bath":
                    m.add_no_overlap([interval for interval, _ in all])
                case "sink":
                    places = d.sinks[key[1]]["places"]
                    busy = d.merged([d.span(span) for span in d.sinks[key[1]].get("busy") or []])
                    self.cumulative(all, [(span, places) for span in busy], places)
                case "developing":
                    self.cumulative(all, [], d.people[key[1]]["tanks_at_once"])
                case "loading":
                    self.cumulative(all, self.counted(raw["loading"].get("busy")), raw["loading"]["places"])
                case "reel":
                    reel = d.reels[key[1]]
                    self.cumulative(all, self.counted(reel.get("busy")), reel["owned"])
                case "hanging":
                    self.cumulative(all, self.counted(raw["hanging"].get("busy")), raw["hanging"]["places"])
                case "fixer":
                    self.cumulative(all, [], int(raw["fixer"]["volume_ml"] * 1000))
        self.remaining()

    def counted(self, busy):
        return [(self.d.span(span), span[2]) for span in busy or []]

    def cumulative(self, all, busy, capacity):
        intervals = [interval for interval, _ in all] + [self.m.new_fixed_size_interval_var(a, b - a, "") for (a, b), _ in busy]
        self.m.add_cumulative(intervals, [amount for _, amount in all] + [n for _, n in busy], capacity)

    def remaining(self):
        """What the fixer and the shared baths still serve over the day."""
        d, raw = self.d, self.raw
        def held(terms, capacity):
            scale = lcm(capacity.denominator, *(amount.denominator for amount, _ in terms)) if terms else 1
            self.m.add(sum(int(amount * scale) * served for amount, served in terms) <= int(capacity * scale))
        if raw.get("fixer"):
            held([(Fraction(d.equivalents(r) * d.factor(r)), self.served[r["id"]]) for r in raw["rolls"]], Fraction(raw["fixer"]["remaining"]))
        for developer in raw["developers"]:
            if developer.get("bath"):
                own = [r for r in raw["rolls"] if r["developer"] == developer["id"]]
                held([(Fraction(d.equivalents(r)), self.served[r["id"]]) for r in own], Fraction(developer["bath"]["remaining"]))

    def objectives(self):
        left = sum(self.d.weight(roll) * (1 - self.served[roll["id"]]) for roll in self.raw["rolls"])
        late = sum(self.late.values())
        runs = sum(slot["used"] for slot in self.slots)
        cost = sum(slot["cost"] for slot in self.slots)
        return [left, late, runs, cost]


def timed(text, seconds, workers):
    began = time.monotonic()
    model = Timed(text)
    built = time.monotonic() - began
    found, bounds, proven = Lexicographic(model.m, model.objectives(), seconds, workers).solve()
    return told(found, bounds, proven, model.factor, time.monotonic() - began, built)


def grouped(text, seconds, workers):
    """The fewest and then the cheapest runs, with the rolls that some tank holds."""
    began = time.monotonic()
    raw = exact(text)
    kinds = Kinds(raw)
    mixtures = [(counts, min(costs.values())) for counts, _, costs in kinds.mixtures(raw["tanks"])]
    factor = whole([cost for _, cost in mixtures])
    m = cp_model.CpModel()
    most = [min(len(kinds.rolls[kind]) // n for kind, n in counts) for counts, _ in mixtures]
    xs = [m.new_int_var(0, n, "") for n in most]
    held = {kind for counts, _ in mixtures for kind, _ in counts}
    for kind in held:
        m.add(sum(dict(counts).get(kind, 0) * x for (counts, _), x in zip(mixtures, xs)) == len(kinds.rolls[kind]))
    cost = sum(int(cost * factor) * x for (_, cost), x in zip(mixtures, xs))
    left = sum(kinds.day.weight(roll) for kind, rolls in enumerate(kinds.rolls) if kind not in held for roll in rolls)
    built = time.monotonic() - began
    found, bounds, proven = Lexicographic(m, [sum(xs), cost], seconds, workers).solve()
    return told([left, 0, *found], [left, 0, *bounds], proven, factor, time.monotonic() - began, built)


def told(found, bounds, proven, factor, took, built):
    def shown(values):
        cost = [float(Fraction(values[3]) / factor)] if len(values) == 4 else []
        return dict(zip(NAMES, list(values[:3]) + cost))
    return {"seconds": round(took, 4), "building_s": round(built, 4), "proven": proven, "found": shown(found), "bound": shown(bounds)}


def main():
    line = argparse.ArgumentParser(description=__doc__)
    line.add_argument("mode", nargs="?", choices=["timed", "grouping"], default="timed")
    line.add_argument("--seconds", type=float, default=60)
    line.add_argument("--workers", type=int, default=2)
    asked = line.parse_args()
    for text in sys.stdin:
        plan = timed if asked.mode == "timed" else grouped
        print(json.dumps(plan(text, asked.seconds, asked.workers)), flush=True)


if __name__ == "__main__":
    main()
