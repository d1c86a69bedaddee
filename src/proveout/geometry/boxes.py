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
