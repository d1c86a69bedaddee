"""Cutting stock: 80 published instances and one example, bars used, bound and seconds beside first fit, longest first.

The instances are Falkenauer's uniform classes as kept in the OR-Library, each with the best number of bars known to
whoever wrote its file; without PROVEOUT_DATA only the example and our own orders are done. Seconds are of the one
process, wall clock and processor; libraries are imported before. Our own orders, drawn from a fixed seed, have kerf,
trim, tail, two bar lengths with prices, up to five remnants and a saw that takes four bars.
"""

from __future__ import annotations

import os
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import numpy as np
from yardstick import line, paired

from proveout.solving.cutting_stock import BarPlan, solve_bars
from proveout.solving.patterns import first_fit_patterns

FILES = ("binpack1.txt", "binpack2.txt", "binpack3.txt", "binpack4.txt")
SAW = {"kerf_mm": 1.8, "trim_mm": 6.0, "tail_mm": 65.0}
OWN_COUNT = 20
LIMIT_S = 1.0
EXAMPLE = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12, 2100: 14, 2140: 16,
    2150: 18, 2200: 20,
}  # fmt: skip


class Instance(NamedTuple):
    """Pieces to pack into bars of one length, and the fewest bars that the file knows."""

    name: str
    length: int
    pieces: Counter[int]
    best_known: int


class Solved(NamedTuple):
    """A plan with what it took, and the bars of first fit."""

    plan: BarPlan
    wall_s: float
    cpu_s: float
    by_hand: int


def instances(folder: Path) -> list[Instance]:
    """All instances of the folder's files."""
    found: list[Instance] = []
    for name in FILES:
        words = (folder / name).read_text("ascii").split()
        at = 1
        for _ in range(int(words[0])):
            title, length, count, best = words[at], int(words[at + 1]), int(words[at + 2]), int(words[at + 3])
            pieces = Counter(int(word) for word in words[at + 4 : at + 4 + count])
            found.append(Instance(title, length, pieces, best))
            at += 4 + count
    return found


def by_first_fit(length: int, pieces: Counter[int]) -> int:
    """Bars when each piece, longest first, goes into the first bar that has room."""
    sizes = sorted(pieces, reverse=True)
    return len(first_fit_patterns(lengths=sizes, room=length, demand=[pieces[size] for size in sizes]))


def solved(length: int, pieces: Counter[int]) -> Solved:
    """Fewest bars for one instance."""
    wall, cpu = time.perf_counter(), time.process_time()
    plan = solve_bars(
        demand={float(size): count for size, count in pieces.items()}, stock=[(float(length), 1.0, None)],
        kerf_mm=0.0, trim_mm=0.0, tail_mm=0.0, bundle_max=1,
    )  # fmt: skip
    return Solved(plan, time.perf_counter() - wall, time.process_time() - cpu, by_first_fit(length, pieces))


def own_orders() -> list[tuple[dict[float, int], list[tuple[float, float, int | None]]]]:
    """Orders as a shop has them, with whole bars and remnants."""
    draw = np.random.default_rng(7)
    found: list[tuple[dict[float, int], list[tuple[float, float, int | None]]]] = []
    for _ in range(OWN_COUNT):
        demand = {
            round(float(draw.uniform(20.0, 160.0)), 1): int(draw.integers(10, 80))
            for _ in range(int(draw.integers(1, 11)))
        }
        stock: list[tuple[float, float, int | None]] = [(3000.0, 60.0, None), (5000.0, 95.0, None)]
        stock += [
            (round(float(draw.uniform(300.0, 1500.0))), round(float(draw.uniform(1.0, 5.0)), 2), 1)
            for _ in range(int(draw.integers(0, 6)))
        ]
        found.append((demand, stock))
    return found


def own_figures() -> dict[str, float]:
    """Our own orders: how many are proved, the widest gap, the longest seconds."""
    gaps: list[float] = []
    seconds: list[float] = []
    for demand, stock in own_orders():
        begin = time.process_time()
        plan = solve_bars(demand=demand, stock=stock, bundle_max=4, **SAW)
        seconds.append(time.process_time() - begin)
        gaps.append(plan.gap_ratio)
    return {
        "own_orders_count": float(OWN_COUNT), "own_proved_count": float(sum(gap == 0.0 for gap in gaps)),
        "own_gap_most_ratio": max(gaps), "own_most_s": max(seconds),
    }  # fmt: skip


def main() -> int:
    """Print the table and the line."""
    named = os.environ.get("PROVEOUT_DATA", "")
    folder = Path(named) / "cutting-stock" / "orlib"
    rows = [(one, solved(one.length, one.pieces)) for one in (instances(folder) if named and folder.is_dir() else [])]
    print(f"{'instance':12} pieces first-fit  file  bars  bound  wall s  cpu s")
    for one, found in rows:
        print(
            f"{one.name:12} {sum(one.pieces.values()):6} {found.by_hand:9} {one.best_known:5} "
            f"{found.plan.bars_count:5} {found.plan.lower_bound:6g} {found.wall_s:7.2f} {found.cpu_s:6.2f}  "
            f"{found.plan.status}"
        )
    example = Counter(EXAMPLE)
    pair = paired(lambda: solved(5600, example), lambda: by_first_fit(5600, example))
    figures = {
        "example_bars": float(solved(5600, example).plan.bars_count),
        "example_first_fit_bars": float(by_first_fit(5600, example)), "example_s": pair["subject_s"], **own_figures(),
    }  # fmt: skip
    targets: dict[str, tuple[str, float]] = {
        "example_bars": ("at most", 73.0), "own_proved_count": ("at least", float(OWN_COUNT)),
    }  # fmt: skip
    if rows:
        within = sum(found.cpu_s <= LIMIT_S for _, found in rows) / len(rows)
        figures |= {
            "instances_count": float(len(rows)),
            "at_most_best_known_count": float(sum(f.plan.bars_count <= one.best_known for one, f in rows)),
            "below_best_known_count": float(sum(f.plan.bars_count < one.best_known for one, f in rows)),
            "proved_count": float(sum(f.plan.status == "proved" for _, f in rows)),
            "bars_count": float(sum(f.plan.bars_count for _, f in rows)),
            "first_fit_bars_count": float(sum(f.by_hand for _, f in rows)),
            "within_1_s_ratio": within, "within_1_s_wall_ratio": sum(f.wall_s <= LIMIT_S for _, f in rows) / len(rows),
            "most_s": max(f.cpu_s for _, f in rows), "most_wall_s": max(f.wall_s for _, f in rows),
        }  # fmt: skip
        targets |= {"at_most_best_known_count": ("at least", 80.0), "within_1_s_ratio": ("at least", 0.95)}
    print(
        line(
            name="cutting_stock",
            figures=figures,
            ratios={"example_seconds_ratio": pair["ratio"]},
            targets=targets,
            repeats=int(pair["repeats"]),
            spread={"example_seconds_ratio": pair["spread"]},
            excluded=("Importing the solvers.",) if rows else ("Instances: PROVEOUT_DATA has none.",),
        )
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
