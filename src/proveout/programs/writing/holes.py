"""Which moves of a pass are holes that a canned cycle makes, move for move."""

from __future__ import annotations

import numpy as np

from proveout.model.moves import Moves
from proveout.model.work import PassKind

SAME_MM = 1e-9


def hole_places(kind: PassKind, moves: Moves) -> list[tuple[int, int, int]] | None:
    """Rows of R point, bottom and end of each hole, when a pass is nothing but such holes; else None.

    A hole: down by rapid to R, by feed to the bottom, straight up to the height before it: by rapid, or, tapped and
    reamed, by the same feed to R and then by rapid.  Between two holes a rapid move at that height.
    """
    if kind not in ("spot", "drill", "counterbore", "ream", "tap") or len(moves.arcs):
        return None
    points, feeds = moves.points, moves.feed_mm_per_s
    found: list[tuple[int, int, int]] = []
    at = 0
    fed_back = kind in ("tap", "ream")
    steps = 4 if fed_back else 3
    while at < len(points) - 1:
        if found and feeds[at + 1] == 0.0 and points[at + 1][2] == points[at][2]:
            at += 1  # over to the next hole
            if at + steps >= len(points) + 1:
                return None
        rows = np.arange(at, at + steps + 1)
        if rows[-1] >= len(points) or np.abs(points[rows, :2] - points[at, :2]).max() > SAME_MM:
            return None
        heights, rates = points[rows, 2], feeds[rows]
        goes_down = heights[0] > heights[1] > heights[2]
        is_drilled = (
            not fed_back and rates[1] == 0.0 and rates[2] > 0.0 and rates[3] == 0.0 and heights[3] == heights[0]
        )
        is_fed_back = (
            fed_back and rates[1] == 0.0 and rates[2] > 0.0 and rates[3] == rates[2] and rates[4] == 0.0
            and heights[3] == heights[1] and heights[4] == heights[0]
        )  # fmt: skip
        if not goes_down or not (is_drilled or is_fed_back):
            return None
        found.append((at + 1, at + 2, at + steps))
        at += steps
    return found or None
