"""A body that is known by its depths, or by points of its surface, in any pose."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.removal.kernels.posing import pose_depths, pose_tops, splat
from proveout.removal.kernels.sights import close_gaps, widest_apart

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def posed_depths_mm(
    depths_mm: Floats, *, low_mm: Floats, cell_mm: float, turn: Floats, shift_mm: Floats, grid_low_mm: Floats,
    grid_cell_mm: float, shape: tuple[int, int, int],
) -> Floats:  # fmt: skip
    """(nx, ny, nz) how deep the middles of a grid's cells lie inside a posed body, below 0 outside; good to a cell.

    depths_mm: of the body in its own frame, by cells from low_mm.   A point p of the body lies at turn p + shift.
    """
    found = np.empty(shape)
    pose_depths(
        np.ascontiguousarray(depths_mm, dtype=np.float64), np.asarray(low_mm, dtype=np.float64), float(cell_mm),
        np.ascontiguousarray(turn, dtype=np.float64), np.asarray(shift_mm, dtype=np.float64),
        np.asarray(grid_low_mm, dtype=np.float64) + 0.5 * grid_cell_mm, float(grid_cell_mm), found,
    )  # fmt: skip
    return found


def posed_tops(
    is_metal: Bools, *, low_mm: Floats, cell_mm: float, turn: Floats, shift_mm: Floats, grid_low_mm: Floats,
    grid_cell_mm: float, shape: tuple[int, int, int],
) -> NDArray[np.int64]:  # fmt: skip
    """(nx, ny) the highest layer of a grid in which `posed_depths_mm` is above 0, -1 where it is nowhere.

    is_metal: the body's cells from low_mm; it has air about it.   What lies lower in a column is not looked at.
    """
    found = np.empty(shape[:2], dtype=np.int64)
    pose_tops(
        np.ascontiguousarray(is_metal), np.asarray(low_mm, dtype=np.float64), float(cell_mm),
        np.ascontiguousarray(turn, dtype=np.float64), np.asarray(shift_mm, dtype=np.float64),
        np.asarray(grid_low_mm, dtype=np.float64) + 0.5 * grid_cell_mm, float(grid_cell_mm), shape[2], found,
    )  # fmt: skip
    return found


def nearest_on_page_mm(
    points_mm: Floats, *, turn: Floats, shift_mm: Floats, above_mm: float, page: Floats, low_mm: Floats, cell_mm: float,
    shape: tuple[int, int],
) -> Floats:  # fmt: skip
    """(columns, rows) how near to the eye the nearest point of a posed body lies in each cell of a page, -inf for none.

    page: rows are unit vectors to the right, up the page and towards the eye.   Points below above_mm do not count.
    """
    near = np.full(shape, -np.inf)
    splat(
        np.ascontiguousarray(points_mm, dtype=np.float64), np.ascontiguousarray(turn, dtype=np.float64),
        np.asarray(shift_mm, dtype=np.float64), float(above_mm), np.ascontiguousarray(page, dtype=np.float64),
        np.asarray(low_mm, dtype=np.float64), float(cell_mm), near,
    )  # fmt: skip
    return near


def without_gaps(near_mm: Floats, *, nothing_mm: float) -> Floats:
    """A page as from `nearest_on_page_mm` with gaps of a cell closed, and nothing_mm for -inf."""
    found = np.empty(near_mm.shape)
    close_gaps(near_mm, nothing_mm, found)
    return found


def widest_patch(one_mm: Floats, other_mm: Floats, *, least_mm: float) -> tuple[float, tuple[int, int]]:
    """Of the cells in which two pages differ by least_mm or more, the one farthest from any other: cells, and which.

    0 where nothing differs. Beyond the page nothing does.
    """
    square, i, j = widest_apart(one_mm, other_mm, least_mm)
    return float(np.sqrt(square)), (int(i), int(j))
