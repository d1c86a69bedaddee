"""Cutting the work as it stands by straight moves, and measuring what a move would strike without cutting."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from proveout.model.cutter import Piece
from proveout.removal.fields import Fields
from proveout.removal.running import run_sweeps, straight_sweeps


def cut(
    fields: Fields,
    *,
    pieces: Sequence[Piece],
    axis: np.ndarray,
    starts_mm: np.ndarray,
    ends_mm: np.ndarray,
    threads_count: int | None = None,
    along: tuple[int, ...] = (0, 1, 2),
) -> np.ndarray:
    """Takes the sweeps of a cutter out of the fields, move by move, in place.

    Formula:  per ray, interval := interval minus {s : p + s r in start + t (end - start) + piece, 0 <= t <= 1};
              removed = sum of the lengths taken times the area of a cell.
    Args:     pieces: the cutter's outline, tip at z = 0.   axis: (3,) unit vector from tip to shank, part frame.
              starts_mm, ends_mm: (n, 3) positions of the tip, part frame, not modified.
              fields: cut in place.   threads_count: threads to use, >= 1; None takes the machine's.
              along: axes of the fields that are cut, the others stay as they are.
    Returns:  (n, 3) mm3, removed by each move in the fields along x, y, z; >= 0, and 0 in a field that is not cut.
    Raises:   BadInput when shapes are wrong or a number is not finite; OutOfRange when axis has no unit length.
    Valid:    any axis, also with moves along it, of no length, and with rays along it. The result does not depend
              on threads_count. Metal shorter than 1e-9 mm along a ray is taken away and counted as removed. Ends are
              closed forms, of a round corner at a slant roots within 1e-9 mm (see removal/kernels/rounds.py).
    Source:   own derivation, written out in removal/kernels/sweep.py, upright.py and rounds.py.   Departs: nothing.
    Checked:  tests/removal/test_sweeping.py
    """
    sweeps = straight_sweeps(pieces=pieces, axis=axis, starts_mm=starts_mm, ends_mm=ends_mm)
    return run_sweeps(fields, sweeps, threads_count, cuts=True, along=along)[0]


def overlap_mm(
    fields: Fields,
    *,
    pieces: Sequence[Piece],
    axis: np.ndarray,
    starts_mm: np.ndarray,
    ends_mm: np.ndarray,
    threads_count: int | None = None,
) -> np.ndarray:
    """The most metal, by length, that any one ray has inside the sweep of any one piece, move by move.

    Formula:  max over fields, rays and pieces of |metal on the ray within the piece's sweep|
    Args:     as for cut; here the fields stay as they are, also between the moves.
    Returns:  (n,) mm, >= 0; exactly 0 when no ray meets metal. A shank that rubs along a wall at a depth d shows the
              chord of that depth, about sqrt(8 r d), which is longer than d: it errs towards a strike.
    Raises:   BadInput when shapes are wrong or a number is not finite; OutOfRange when axis has no unit length.
    Valid:    metal thinner than a cell in two directions can lie between the rays and be missed.
    Source:   own derivation, written out in removal/kernels/sweep.py, upright.py and rounds.py.   Departs: nothing.
    Checked:  tests/removal/test_sweeping.py
    """
    sweeps = straight_sweeps(pieces=pieces, axis=axis, starts_mm=starts_mm, ends_mm=ends_mm)
    return run_sweeps(fields, sweeps, threads_count, cuts=False)[0].max(axis=1)
