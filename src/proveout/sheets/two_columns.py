"""Views side by side in two columns: how tall each row of them is, and where each view and its name stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.sheets.svg import Fit

Array = NDArray[np.float64]
COLUMNS_COUNT = 2


@dataclass(frozen=True)
class Spot:
    """Where one view stands on the paper. shift_mm: (2,) from the view's own paper to the whole one, y down.

    middle_mm: of its column.   foot_mm: where its row's views end and their names begin.
    """

    shift_mm: Array
    middle_mm: float
    foot_mm: float


def row_heights(fits: Sequence[Fit], *, name_mm: float) -> list[float]:
    """Height of each row of two views with their names below them, mm; the taller of a row counts."""
    starts = range(0, len(fits), COLUMNS_COUNT)
    return [max(fit.height_mm for fit in fits[k : k + COLUMNS_COUNT]) + name_mm for k in starts]


def two_columns(
    fits: Sequence[Fit], *, column_mm: float, name_mm: float, head_mm: float = 0.0
) -> tuple[list[Spot], float]:  # fmt: skip
    """The spot of each view, row by row from the left, and where the last row ends, mm from the top.

    Args:     column_mm: width of a view.   name_mm: for the name below a view.   head_mm: clear above the first row.
    """
    spots: list[Spot] = []
    top = head_mm
    for row, height in enumerate(row_heights(fits, name_mm=name_mm)):
        foot = top + height - name_mm
        for column, fit in enumerate(fits[row * COLUMNS_COUNT : (row + 1) * COLUMNS_COUNT]):
            left = column * column_mm
            # the less tall of two views stands in the middle of its row
            shift = np.array([left, top + (foot - top - fit.height_mm) / 2.0])
            spots.append(Spot(shift_mm=shift, middle_mm=left + column_mm / 2.0, foot_mm=foot))
        top += height
    return spots, top
