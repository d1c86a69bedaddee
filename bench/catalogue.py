"""A folder of six small parts planned by one process, by two, and by a cluster of two workers, one of them lost.

    python bench/catalogue.py

The parts are plates with a pocket and two holes, each a little thinner than the one before; nothing stored is used, and
a warm-up plan first compiles what is not compiled yet. The bytes of all three must be the same.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.append(str(Path(__file__).resolve().parent.parent / "tests"))

from flows.small import SHOP, write_plates  # pyright: ignore[reportMissingImports]
from two_workers import lost_when, two_workers
from yardstick import line

from proveout.jobs.catalogue import CatalogueOutcome, plan_all
from proveout.model.run import Run

PARTS = 6
TWO_AT_LEAST = 1.6


def bytes_of(folder: Path) -> str:
    """sha256 over every file of a catalogue with its name."""
    whole = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            whole.update(path.relative_to(folder).as_posix().encode() + hashlib.sha256(path.read_bytes()).digest())
    return whole.hexdigest()


def timed(work: Callable[[], CatalogueOutcome]) -> tuple[float, CatalogueOutcome]:
    """Seconds by the clock, and what came of it."""
    begin = time.perf_counter()
    outcome = work()
    return time.perf_counter() - begin, outcome


def on_cluster(parts: Path, out: Path) -> tuple[float, CatalogueOutcome, int]:
    """Two workers of one thread each; one is killed once both are at work.

    Returns:  seconds, the outcome, and how many workers were lost: without one nothing is shown of losing it.
    """
    with (
        two_workers() as (address, pids),
        lost_when(lambda: len(list((out / ".tries").glob("*"))) == 2, pids[0]) as lost,
    ):
        seconds, outcome = timed(
            lambda: plan_all(parts, shop_path=SHOP, out=out, workers_count=1, cluster=address, run=Run())
        )
        return seconds, outcome, int(lost.is_set())


def main() -> None:
    """Print the seconds, the speed-up and whether the bytes agree."""
    os.environ["PROVEOUT_STORE"] = "off"
    with tempfile.TemporaryDirectory(prefix="proveout-catalogue-") as place:
        folder = Path(place)
        plan_all(write_plates(folder / "warm", 1), shop_path=SHOP, out=folder / "w", workers_count=1, run=Run())
        parts = write_plates(folder / "parts", PARTS)
        seconds, ready, made = {}, {}, {}
        for name, workers in (("one", 1), ("two", 2)):
            seconds[name], outcome = timed(
                lambda out=folder / name, n=workers: plan_all(
                    parts, shop_path=SHOP, out=out, workers_count=n, run=Run()
                )
            )  # fmt: skip
            ready[name], made[name] = outcome.catalogue.ready, bytes_of(folder / name)
        seconds["cluster"], outcome, lost_count = on_cluster(parts, folder / "cluster")
        ready["cluster"], made["cluster"] = outcome.catalogue.ready, bytes_of(folder / "cluster")
    print(f"{PARTS} parts: " + ", ".join(f"{name} {s:.1f} s" for name, s in seconds.items()))
    print(
        line(
            name="catalogue",
            figures={f"{name}_s": round(s, 2) for name, s in seconds.items()}
            | {
                "ways_count": len(set(made.values())), "ready_count": sum(ready.values()), "lost_count": lost_count,
                "load": round(os.getloadavg()[0], 1),
            },
            ratios={
                "two_over_one": round(seconds["one"] / seconds["two"], 3),
                "cluster_over_one": round(seconds["one"] / seconds["cluster"], 3),
            },
            targets={
                "two_over_one": ("at least", TWO_AT_LEAST), "ways_count": ("at most", 1),
                "ready_count": ("at least", 3), "lost_count": ("at least", 1),
            },
            excluded=("the cluster's own start",),
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
