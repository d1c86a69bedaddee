"""What every benchmark shares: a yardstick to hold seconds against, fair pairs, and the one line at the end.

A benchmark is a program of this folder with a `main()`. It times its subject and its baseline by `paired`, puts the
yardstick beside its seconds and prints the line as the last thing it prints.
"""

from __future__ import annotations

import json
import os
import platform
import statistics
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

PAIRS = 5
_SIDE = 512
_SWEEPS = 60


def is_full() -> bool:
    """Whether the run may take longer than 240 s."""
    return os.environ.get("PROVEOUT_BENCH_FULL", "") == "1"


def seconds_of(work: Callable[[], object]) -> float:
    """Wall-clock seconds of one call."""
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def _yardstick_work() -> float:
    field = np.linspace(0.0, 1.0, _SIDE * _SIDE).reshape(_SIDE, _SIDE)
    for _ in range(_SWEEPS):
        field = np.maximum(field, np.roll(field, 1, axis=0) * 0.999)
        field = np.sort(field + np.roll(field, 1, axis=1) * 1e-3, axis=1)
    total = 0
    for number in range(300_000):
        total = (total * 31 + number) % 1_000_003
    return float(field.sum()) + total


def yardstick_s() -> float:
    """Median seconds of five runs of a fixed piece of work on one core: sweeps and sorts of an array, a plain loop.

    It uses nothing of Proveout, so a figure divided by it can be compared between machines and between days.
    """
    _yardstick_work()
    return statistics.median(seconds_of(_yardstick_work) for _ in range(5))


def _array_work() -> None:
    """Sweeps and sorts of an array that stays in a core's own cache; numpy lets other threads run meanwhile."""
    field = np.linspace(0.0, 1.0, 64 * 256).reshape(64, 256)
    for _ in range(_SWEEPS * 8):
        field = np.sqrt(np.maximum(field, field[:, ::-1] * 0.999) + 1e-3)
        field = np.sort(field, axis=1)


def parallel_gain(threads: int) -> float:
    """How many times as much of a fixed work the machine does with so many threads: at best their number.

    The work is done `threads` times one after the other, then by as many threads at once.
    """
    with ThreadPoolExecutor(max_workers=threads) as pool:
        list(pool.map(lambda _: _array_work(), range(threads)))
        alone = seconds_of(lambda: [_array_work() for _ in range(threads)])
        together = seconds_of(lambda: list(pool.map(lambda _: _array_work(), range(threads))))
    return alone / together


def machine() -> dict[str, Any]:
    """Processor, cores, system and versions; no name of the machine or of a person."""
    model = platform.processor() or platform.machine()
    table = Path("/proc/cpuinfo")
    if table.is_file():
        lines = (line for line in table.read_text(encoding="utf-8").splitlines() if line.startswith("model name"))
        model = next((line.split(":", 1)[1].strip() for line in lines), model)
    return {
        "processor": model,
        "cores": os.cpu_count(),
        "system": platform.system(),
        "python": platform.python_version(),
        "numpy": np.__version__,
    }


def paired(subject: Callable[[], object], baseline: Callable[[], object], *, pairs: int = PAIRS) -> dict[str, Any]:
    """Time subject and baseline in turn, the first of a pair alternating, after one unmeasured call of each.

    Returns `ratio` (median of baseline over subject, pair by pair: above 1 the subject is faster), `spread` (least
    and greatest pair ratio), `subject_s` and `baseline_s` (medians), `repeats`.
    """
    subject()
    baseline()
    taken: list[tuple[float, float]] = []
    for number in range(pairs):
        if number % 2:
            reference = seconds_of(baseline)
            own = seconds_of(subject)
        else:
            own = seconds_of(subject)
            reference = seconds_of(baseline)
        taken.append((own, reference))
    ratios = [reference / own for own, reference in taken]
    return {
        "ratio": statistics.median(ratios),
        "spread": [min(ratios), max(ratios)],
        "subject_s": statistics.median(own for own, _ in taken),
        "baseline_s": statistics.median(reference for _, reference in taken),
        "repeats": pairs,
    }


def line(
    *,
    name: str,
    figures: Mapping[str, Any],
    ratios: Mapping[str, float] | None = None,
    targets: Mapping[str, tuple[str, float]] | None = None,
    repeats: int = 1,
    spread: Mapping[str, Sequence[float]] | None = None,
    excluded: Sequence[str] = (),
) -> str:
    """The last line of a benchmark: one JSON object.

    figures: name with its unit at its end -> number.   ratios: what `paired` found.   targets: a name of figures or
    ratios -> ("at most" | "at least", bound); whether each is met is worked out here.   excluded: what was left out
    of the timing and why, one sentence each.
    """
    found = {**figures, **(ratios or {})}
    wanted = targets or {}
    missing = sorted(set(wanted) - set(found))
    if missing:
        text = f"targets without a figure: {missing}"
        raise ValueError(text)
    met = {
        key: found[key] <= bound if sense == "at most" else found[key] >= bound
        for key, (sense, bound) in wanted.items()
    }
    return json.dumps(
        {
            "name": name,
            "figures": dict(figures),
            "ratios": dict(ratios or {}),
            "targets": {key: f"{sense} {bound:g}" for key, (sense, bound) in wanted.items()},
            "met": met,
            "repeats": repeats,
            "spread": {key: list(ends) for key, ends in (spread or {}).items()},
            "excluded": list(excluded),
            "machine": machine(),
        },
        sort_keys=True,
        allow_nan=False,
    )
