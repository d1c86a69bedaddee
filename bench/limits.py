"""Sizes under a coat: how often a window lets a size leave its limits, and how much room it leaves unused.

    python bench/limits.py

Each drawn size gets a kind, limits, a coat, a share that builds up and an etch at random, and is gone through at every
corner, surface by surface, by sums of its own. A size inside the window that leaves its limits counts as escaped; a
size a nanometre outside it that does not leave them counts as unused room.
"""

from __future__ import annotations

import random
import time
from itertools import product

from yardstick import line

from proveout.quantities.coat import STEP, CoatedSize, before_coat_window

DRAWS = 4_000
INSIDE = 5
NM = 1e-6
SLACK = 1e-9
SURFACES: dict[CoatedSize, tuple[float, ...]] = {
    "shaft": (1.0, 1.0), "bore": (-1.0, -1.0), "external thread": (2.0, 2.0), "internal thread": (-2.0, -2.0),
    "one face": (1.0,), "one inside face": (-1.0,), STEP: (1.0, -1.0),
}  # fmt: skip


def ends(chance: random.Random, low: float, high: float) -> tuple[float, float]:
    """Two numbers of a range, in order."""
    one, other = chance.uniform(low, high), chance.uniform(low, high)
    return min(one, other), max(one, other)


def after(machined: float, signs: tuple[float, ...], growths: list[float]) -> tuple[float, float]:
    """Least and greatest size after the coat over all corners of its surfaces."""
    found = [
        machined + sum(sign * growth for sign, growth in zip(signs, chosen, strict=True))
        for chosen in product(growths, repeat=len(signs))
    ]
    return min(found), max(found)


def main() -> None:
    """Draw, go through the corners, print the figures."""
    chance = random.Random(20260105)  # noqa: S311 - draws of sizes, not of secrets
    escaped = unused = empty = tried = 0
    begun = time.perf_counter()
    for _ in range(DRAWS):
        size = chance.choice(sorted(SURFACES))
        low = chance.uniform(1.0, 120.0)
        high = low + chance.uniform(0.005, 0.4)
        thick, share, etch = ends(chance, 0.005, 0.1), ends(chance, 0.3, 1.0), ends(chance, 0.0, 0.03)
        window = before_coat_window(
            size=size, finished_low_mm=low, finished_high_mm=high, thickness_low_mm=thick[0],
            thickness_high_mm=thick[1], share_low_ratio=share[0], share_high_ratio=share[1], etch_low_mm=etch[0],
            etch_high_mm=etch[1],
        )  # fmt: skip
        growths = [t * s - e for t, s, e in product(thick, share, etch)]
        signs = SURFACES[size]
        if after(window.low_mm - NM, signs, growths)[0] >= low or after(window.high_mm + NM, signs, growths)[1] <= high:
            unused += 1
        if window.is_empty:
            empty += 1
            continue
        for k in range(INSIDE):
            least, most = after(window.low_mm + window.width_mm * k / (INSIDE - 1), signs, growths)
            escaped += least < low - SLACK or most > high + SLACK
            tried += 1
    print(
        line(
            name="limits",
            figures={
                "draws_count": DRAWS, "empty_count": empty, "sizes_count": tried, "escaped_count": escaped,
                "unused_room_count": unused, "seconds_s": round(time.perf_counter() - begun, 2),
            },
            targets={
                "escaped_count": ("at most", 0.0), "unused_room_count": ("at most", 0.0),
                "sizes_count": ("at least", 5_000.0),
            },
            excluded=["limits of threads, fits, and how evenly a real coat comes"],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
