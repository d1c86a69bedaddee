"""Boxes along the axes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

HIGH_AT = np.arange(8)[:, None] >> np.arange(3)[None] & 1
"""(8, 3) which end of each side every corner of a box takes: corner i is high along axis k where bit k of i is set."""
BOX_TRIANGLES = np.array(
    [
        (0, 2, 1), (1, 2, 3), (4, 5, 6), (5, 7, 6), (0, 1, 4), (1, 5, 4), (2, 6, 3), (3, 6, 7), (0, 4, 2), (2, 4, 6),
        (1, 3, 5), (3, 7, 5),
    ],
    dtype=np.int64,
)  # fmt: skip
"""(12, 3) rows of these corners, against the clock seen from outside."""


def box_corners(
    low_mm: Sequence[float] | NDArray[np.float64], high_mm: Sequence[float] | NDArray[np.float64]
) -> NDArray[np.float64]:
    """(8, 3) corners of a box, or (8, n, 3) of n boxes given as (n, 3); corner i is high where HIGH_AT[i] is 1."""
    low, high = np.asarray(low_mm, dtype=np.float64), np.asarray(high_mm, dtype=np.float64)
    is_high = HIGH_AT.reshape(8, *(1,) * (low.ndim - 1), 3) == 1
    return np.where(is_high, high, low)


def moved_box(
    low_mm: Sequence[float], high_mm: Sequence[float], by_mm: Sequence[float]
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Low and high corner of a box that is moved."""
    low, high = ([float(v + d) for v, d in zip(end, by_mm, strict=True)] for end in (low_mm, high_mm))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])
