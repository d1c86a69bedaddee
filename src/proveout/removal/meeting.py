"""How far inside a solid box or cylinder a cutter comes on its moves, whatever its shape and tilt."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from proveout.model.cutter import Piece
from proveout.removal.kernels.meeting import BOX, CYLINDER, inside_rows
from proveout.removal.running import straight_sweeps


def inside_mm(
    *, pieces: Sequence[Piece], axis: np.ndarray, starts_mm: np.ndarray, ends_mm: np.ndarray, low_mm: np.ndarray,
    high_mm: np.ndarray, is_round: bool = False, least_mm: float,
) -> np.ndarray:  # fmt: skip
    """How far below the surface of a body any piece comes on each straight move.

    Formula:  the largest t for which the sweep of a piece and the body less a skin of thickness t have a point in
              common; both are convex, and found apart when a plane lies between them.
    Args:     pieces: the cutter's outline, tip at z = 0.   axis: (3,) unit vector from tip to shank.   starts_mm,
              ends_mm: (n, 3) positions of the tip.   low_mm, high_mm: corners (3,) of the body's box, low < high.
              is_round: the body is the cylinder along z that the box holds, else the whole box.   least_mm: > 0; what
              comes less deep counts as touching and gives 0.   All in one frame, mm.
    Returns:  (n,) mm, 0 or from least_mm up to half the body's smallest size.
    Raises:   BadInput when shapes are wrong or a number is not finite; OutOfRange when axis has no unit length.
    Valid:    any axis and any place; a point however sharp is found, there is no grid. What neither meets nor keeps
              clear by the last digits counts as met.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/removal/test_meeting.py
    """
    sweeps = straight_sweeps(pieces=pieces, axis=axis, starts_mm=starts_mm, ends_mm=ends_mm)
    found = np.zeros(len(sweeps.starts))
    low, high = np.asarray(low_mm, dtype=np.float64), np.asarray(high_mm, dtype=np.float64)
    shape = CYLINDER if is_round else BOX
    inside_rows(sweeps.pieces, sweeps.axis, sweeps.starts, sweeps.ends, low, high, shape, least_mm, found)
    return found
