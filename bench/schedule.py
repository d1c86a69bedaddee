"""Public job shops against the best known: found, best known, bound and seconds of each; and schedules refused.

Seconds are of the processor: the search is one thread, so they are what a machine with nothing else to do takes.
`found_s` are those until the schedule was found, which is what is asked to take no minute; `seconds` those of the whole
search, which goes on for its bound until the schedule is proved or the work limit is used up. Files are read from
PROVEOUT_DATA/jobshop. Without FULL=1 the longer ones are left out.
"""

from __future__ import annotations

import csv
import json
import os
import time
from pathlib import Path
from typing import Any

from shop_instances import FLEXIBLE, JOB_SHOPS, flexible, job_shop
from yardstick import is_full, line, yardstick_s

from proveout.solving.feasible import broken_rules, worth
from proveout.solving.job_shop import solve_shop

LIMIT_S = 60.0
WORK_LIMIT = 12.0  # deterministic; some 60 s of this machine's processor
SLOW = {"brandimarte/mk05", "kacem/k4"}


def best_known(data: Path) -> dict[str, int]:
    """Upper bounds as printed by the two collections, by instance."""
    with (data / "best_known.csv").open(encoding="utf-8") as rows:
        found = {row["name"]: int(row["upper"]) for row in csv.DictReader(rows)}
    for one in json.loads((data / "fjsp" / "instances.json").read_text("utf-8")):
        name = one["path"].removesuffix(".txt")
        found[name] = one["optimum"] if one.get("optimum") else one["bounds"]["upper"]
    return found


def solved(name: str, data: Path) -> dict[str, Any]:
    """What was found for one instance."""
    problem = flexible(data / "fjsp" / f"{name}.txt") if "/" in name else job_shop(data / "jsplib" / name)
    begun = time.process_time()
    at_s = [begun]
    found = solve_shop(
        problem, objective="makespan", work_limit=WORK_LIMIT, takes_turns=True,
        tell=lambda _: at_s.append(time.process_time()),
    )  # fmt: skip
    seconds = time.process_time() - begun
    broken = broken_rules(problem, found.slots)
    true = not broken and worth(problem, found.slots, "makespan") == found.value
    return {
        "found": found.value, "bound": found.bound, "found_s": round(at_s[-1] - begun, 2), "seconds": round(seconds, 2),
        "kept": true,
    }  # fmt: skip


def main() -> None:
    """Measure and print the line."""
    data = Path(os.environ["PROVEOUT_DATA"]) / "jobshop"
    known = best_known(data)
    names = [name for name in (*JOB_SHOPS, *FLEXIBLE) if is_full() or name not in SLOW]
    figures: dict[str, Any] = {"yardstick_s": yardstick_s()}
    for name in names:
        row = solved(name, data) | {"best_known": known[name]}
        figures[name] = row
        print(name, *(f"{key} {value}" for key, value in row.items()), flush=True)
    rows = [figures[name] for name in names]
    ratios = {
        "not_best_known": float(sum(row["found"] > row["best_known"] for row in rows)),
        "not_kept": float(sum(not row["kept"] for row in rows)),
        "bound_above_best_known": float(sum(row["bound"] > row["best_known"] for row in rows)),
        "slowest_over_a_minute": round(max(row["found_s"] for row in rows) / LIMIT_S, 3),
    }
    figures["instances_count"] = len(names)
    figures["proved_count"] = sum(row["found"] == row["bound"] for row in rows)
    print(
        line(
            name="schedule", figures=figures, ratios=ratios,
            targets={
                "not_best_known": ("at most", 0.0), "not_kept": ("at most", 0.0),
                "bound_above_best_known": ("at most", 0.0), "slowest_over_a_minute": ("at most", 1.0),
            },
            excluded=["reading the files"],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
