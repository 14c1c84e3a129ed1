"""What CP-SAT answered to the days of a set, kept in a file: a day a line, found and bound of objectives 1 to 4."""

import csv

OBJECTIVES = ("left_over_weight", "late", "runs", "cost")
COLUMNS = ["day", "seconds", "proven", *OBJECTIVES, *(f"{name}_bound" for name in OBJECTIVES)]


def read(path):
    """The answers by the number of their day, as oracle.py tells them."""
    def told(row, more=""):
        return {name: float(row[name + more]) for name in OBJECTIVES if row[name + more]}

    with open(path, newline="") as file:
        return {
            int(row["day"]): {"seconds": float(row["seconds"]), "proven": row["proven"] == "yes", "found": told(row), "bound": told(row, "_bound")}
            for row in csv.DictReader(file)
        }


def write(path, answers):
    """Writes answers by the number of their day."""
    with open(path, "w", newline="") as file:
        out = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        out.writeheader()
        for day, said in sorted(answers.items()):
            found = {name: f"{value:g}" for name, value in said["found"].items()}
            bound = {f"{name}_bound": f"{value:g}" for name, value in said["bound"].items()}
            out.writerow({"day": day, "seconds": f"{said['seconds']:.2f}", "proven": "yes" if said["proven"] else "no", **found, **bound})
