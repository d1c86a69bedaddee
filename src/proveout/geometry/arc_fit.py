"""Chains of short chords as the arcs that they stand for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

BULGE_RATIO = 1.6
"""How far an arc may stand out beyond a chord that it takes the place of, in distances allowed to the chords' ends."""
FIT_RADII_WITHIN_MM = 0.0012
"""How much the distances of an arc's two ends from its centre, which is rounded, may differ."""


def fitted(
    points_mm: NDArray[np.float64], feeds: NDArray[np.float64], is_arc: NDArray[np.bool_], *, grid_mm: float,
    within_mm: float,
) -> tuple[NDArray[np.int64], dict[int, tuple[int, int, int]]]:  # fmt: skip
    """Finds runs of chords at one feed that lie on one arc, or on one helix about z.

    Formula:  a run is an arc when a circle through its ends, with its centre on the grid, passes its points within
              `within_mm`, z rises evenly within as much, no chord's middle lies further inside than BULGE_RATIO of
              that, and it turns one way.
    Args:     points_mm: (n, 3).   feeds: (n,) of the move to each point, 0 for a rapid one.   is_arc: (n,) moves that
              are arcs already.   grid_mm: the machine's step.   within_mm: > 0.
    Returns:  (m,) rows of the points that stay, and for the arcs among the moves to them: 1 left or -1 right, and the
              steps along x and y from its start to its centre.
    Valid:    runs of three chords or more, radii from 0.02 to 500 mm, turns from 0.05 to 3.2 rad.
    Source:   own derivation.   Departs: nothing.
    Checked:  tests/geometry/test_arc_fit.py
    """
    count = len(points_mm)
    keep = np.ones(count, dtype=bool)
    arcs: dict[int, tuple[int, int, int]] = {}
    if count < 4:
        return np.arange(count), arcs
    from proveout.geometry.kernels.arc_fit import arc_runs

    chord = (feeds[1:] > 0.0) & ~is_arc[1:]
    same = np.zeros(count, dtype=bool)  # the move to this point may go on from the move before it
    same[2:] = chord[1:] & chord[:-1] & (feeds[2:] == feeds[1:-1])
    row = 0
    while row < count - 1:
        if not chord[row]:
            row += 1
            continue
        last = row + 1
        while last < count - 1 and same[last + 1]:
            last += 1
        if last - row >= 3:
            x, y, z = (np.ascontiguousarray(points_mm[row : last + 1, k]) for k in range(3))
            runs, steps, senses = arc_runs(x, y, z, grid_mm, within_mm, BULGE_RATIO * within_mm, FIT_RADII_WITHIN_MM)
            for (first, end), (i, j), sense in zip(runs.tolist(), steps.tolist(), senses.tolist(), strict=True):
                keep[row + first + 1 : row + end] = False
                arcs[row + end] = sense, i, j
        row = last
    return np.flatnonzero(keep), arcs
