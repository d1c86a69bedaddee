"""Boxes along the axes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def box_corners(
    low_mm: Sequence[float] | NDArray[np.float64], high_mm: Sequence[float] | NDArray[np.float64]
) -> NDArray[np.float64]:
    """(8, 3) corners of a box; corner i is high along axis k where bit k of i is set."""
    ends = np.array([low_mm, high_mm], dtype=np.float64)
    bits = np.arange(8)[:, None] >> np.arange(3)[None] & 1
    return ends[bits, np.arange(3)[None]]


def moved_box(
    low_mm: Sequence[float], high_mm: Sequence[float], by_mm: Sequence[float]
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Low and high corner of a box that is moved."""
    low, high = ([float(v + d) for v, d in zip(end, by_mm, strict=True)] for end in (low_mm, high_mm))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])
