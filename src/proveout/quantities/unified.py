"""Sizes of unified threads and how many turns an inch they have."""

from __future__ import annotations

from typing import NamedTuple


class Turns(NamedTuple):
    """Turns an inch.

    main: of the coarse and the fine thread up to 1 in, whose limits are known here.   more: of other threads of the
    size, which are read and named, no more.
    """

    main: tuple[int, ...]
    more: tuple[int, ...] = ()


# by major diameter in inches (source key unified_rules, from memory; numbered sizes are 0.060 in and 0.013 in for each
# number)
UNIFIED_TURNS: dict[float, Turns] = {
    0.060: Turns((80,)), 0.073: Turns((64, 72)), 0.086: Turns((56, 64)), 0.099: Turns((48, 56)),
    0.112: Turns((40, 48)), 0.125: Turns((40, 44)), 0.138: Turns((32, 40)), 0.164: Turns((32, 36)),
    0.190: Turns((24, 32)), 0.216: Turns((24, 28), more=(32,)), 0.25: Turns((20, 28)), 0.3125: Turns((18, 24)),
    0.375: Turns((16, 24)), 0.4375: Turns((14, 20)), 0.5: Turns((13, 20)), 0.5625: Turns((12, 18)),
    0.625: Turns((11, 18)), 0.75: Turns((10, 16)), 0.875: Turns((9, 14)),
    1.0: Turns((8, 12), more=(14, 16, 20, 28, 32)), 2.0: Turns((), more=(6, 8, 12, 16, 20)),
    3.0: Turns((), more=(4, 6, 8, 12, 16, 20)), 4.0: Turns((), more=(4, 6, 8, 12, 16)),
}  # fmt: skip
NUMBERED_LAST = 12
"""Number of the largest numbered size."""
