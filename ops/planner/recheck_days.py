#!/usr/bin/env python3
"""Plans days of a set and re-checks every rule: `recheck_days.py WETSIDE SET COUNT`."""

import json
import os
import subprocess
import sys
import tempfile
import time

from days import make
from recheck import exact, recheck


def planned(program, day):
    """The plan that the program makes of a day, with exact numbers, and the seconds it took."""
    with tempfile.NamedTemporaryFile("w", suffix=".json", delete=False) as file:
        json.dump(day, file)
    began = time.monotonic()
    done = subprocess.run([program, "plan", file.name], capture_output=True, text=True, timeout=300)
    took = time.monotonic() - began
    os.unlink(file.name)
    if done.returncode != 0:
        raise SystemExit(f"exit {done.returncode}: {done.stderr[:500]}")
    return exact(done.stdout), took


def main():
    program, name, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
    broken = proven = 0
    times = []
    for number in range(count):
        day = make(name, number)
        plan, took = planned(program, day)
        wrong, found = recheck(exact(json.dumps(day)), plan)
        times.append(took)
        proven += plan["optimal"]
        if not plan["optimal"] and "-v" in sys.argv:
            print(number, len(day["rolls"]), "found", [str(f) if i < 3 else float(f) for i, f in enumerate(found)], "bound", {k: v if v is None else float(v) for k, v in plan["bound"].items()}, f"{took:.2f}s")
        if wrong:
            broken += 1
            print(name, number, *wrong, sep="\n  ")
    times.sort()
    print(f"{name}: {count} days, {broken} break a rule, {proven} proven, median {times[count // 2]:.3f} s, longest {times[-1]:.3f} s")
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
