#!/usr/bin/env python3
"""Holds the planner against CP-SAT: `against_cpsat.py PROGRAM SET COUNT [--first N] [--seconds S]`.

PROGRAM is `wetside` or the example `plan_days`, which also tells its times. Each day is planned by
both in the same run, our plan is re-checked, and objectives 1 to 4 are compared. It fails where
either proves something that the other one's plan contradicts, and with `--all-proven` also where
ours proves less than CP-SAT. `--grouping` compares only runs and cost of days without late or
left-over rolls with the grouping that CP-SAT proves. `--json FILE` writes all figures. `--keep FILE`
writes CP-SAT's answers, `--kept FILE` takes them from there instead of asking it again.
"""

import argparse
import json
import math
import os
import subprocess
import sys

import answers
from days import make
from recheck import exact, recheck
from recheck_days import planned


class Ours:
    """The program that plans, kept running where it can be."""

    def __init__(self, program):
        self.program, self.running = program, None
        if os.path.basename(program).startswith("plan_days"):
            self.running = subprocess.Popen([program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def plan(self, day):
        if not self.running:
            return planned(self.program, day)
        self.running.stdin.write(json.dumps(day) + "\n")
        self.running.stdin.flush()
        line = exact(self.running.stdout.readline())
        return line["plan"], float(line["seconds"])


def rounded(values):
    """Costs are told to a thousandth."""
    return tuple(values[:3]) + tuple(round(float(cost), 3) for cost in values[3:])


def below_bound(ours, theirs):
    """Whether our plan is better than CP-SAT says that any can be; each bound is of plans like its own in what stands before."""
    for our, found, bound in zip(ours, theirs["found"].values(), theirs["bound"].values()):
        if our < bound - 0.0011:
            return True
        if abs(our - found) > 0.0011:
            return False
    return False


def verdict(ours, proven, theirs):
    """What the comparison of a day came to, and whether that is a fault."""
    if below_bound(ours, theirs):
        return "ours below their bound", True
    found = rounded(list(theirs["found"].values()))
    if len(found) < 4:
        return "only ours", False
    close = ours[:3] == found[:3] and abs(ours[3] - found[3]) <= 0.0011
    if close:
        return ("both proven, equal" if proven and theirs["proven"] else "ours proven, equal" if proven else "equal, theirs proven" if theirs["proven"] else "equal, none proven"), False
    if ours < found:
        return "ours better", theirs["proven"]
    return "theirs better", proven


def ask(day, asked):
    """CP-SAT's own answer; not imported where all answers are kept."""
    import oracle

    solve = oracle.grouped if asked.grouping else oracle.timed
    return solve(json.dumps(day), asked.seconds, asked.workers)


def main():
    line = argparse.ArgumentParser(description=__doc__)
    line.add_argument("program")
    line.add_argument("set")
    line.add_argument("count", type=int)
    line.add_argument("--first", type=int, default=0)
    line.add_argument("--seconds", type=float, default=60)
    line.add_argument("--workers", type=int, default=2)
    line.add_argument("--grouping", action="store_true")
    line.add_argument("--all-proven", action="store_true")
    line.add_argument("--json")
    line.add_argument("--keep")
    line.add_argument("--kept")
    asked = line.parse_args()
    program, days, sums, ratios, faults = Ours(asked.program), [], {}, [], 0
    kept = answers.read(asked.kept) if asked.kept else {}
    for number in range(asked.first, asked.first + asked.count):
        day = make(asked.set, number)
        plan, took = program.plan(day)
        wrong, found = recheck(exact(json.dumps(day)), plan)
        ours, proven = rounded(found), bool(plan["optimal"])
        if asked.grouping and (ours[0] or ours[1]):
            sums["room binds, not compared"] = sums.get("room binds, not compared", 0) + 1
            continue
        theirs = kept.get(number) or ask(day, asked)
        said, fault = verdict(ours, proven, theirs)
        if asked.grouping and said == "theirs better":
            fault = False  # without the room it may be
        fault = fault or bool(wrong) or (asked.all_proven and not proven)
        faults += fault
        sums[said] = sums.get(said, 0) + 1
        if theirs["proven"]:
            ratios.append(theirs["seconds"] / max(took, 1e-6))
        days.append({"day": number, "ours": ours, "proven": proven, "seconds": took, "theirs": theirs, "verdict": said, "wrong": wrong})
        if fault or asked.json:
            print(number, said, ours, "proven" if proven else "not proven", f"{took:.3f} s", theirs, *wrong, flush=True)
    mean = math.exp(sum(map(math.log, ratios)) / len(ratios)) if ratios else None
    times = sorted(day["seconds"] for day in days)
    print(f"{asked.set}: {asked.count} days, {faults} faults, {sums}")
    if times:
        print(f"  ours: {sum(day['proven'] for day in days)} proven, median {times[len(times) // 2]:.3f} s, longest {times[-1]:.3f} s; CP-SAT: {len(ratios)} proven, {'' if mean is None else f'{mean:.0f}x our time'}")
    if asked.keep:
        answers.write(asked.keep, {day["day"]: day["theirs"] for day in days})
    if asked.json:
        with open(asked.json, "w") as file:
            json.dump({"set": asked.set, "verdicts": sums, "faults": faults, "ratio": mean, "days": days}, file, indent=1)
    sys.exit(1 if faults else 0)


if __name__ == "__main__":
    main()
