"""Which moves of a pass are holes that a canned cycle makes, move for move."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import msgspec
import numpy as np

from proveout.model.moves import Moves
from proveout.model.program_style import ProgramStyle
from proveout.model.work import Pass, PassKind

SAME_MM = 1e-9


class Pecked(msgspec.Struct, frozen=True, kw_only=True):
    """A hole that the control's own cycle pecks. r_row, bottom_row: of the R point and the bottom; peck_mm: each."""

    r_row: int
    bottom_row: int
    peck_mm: float


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


def pecked_hole(kind: PassKind, moves: Moves, *, back_mm: float | None) -> Pecked | None:
    """The hole of a pass that is nothing but one pecked hole, as the control's own cycle makes it; else None.

    Down by rapid to R; then, as often as it takes, by feed one peck deeper, by rapid up to R and down again to
    `back_mm` above; from the bottom by rapid to R and to the height before.  back_mm: the control's own, None where
    nobody wrote it.
    """
    points, feeds = moves.points, moves.feed_mm_per_s
    if kind != "peck" or back_mm is None or len(moves.arcs) or len(points) < 7:
        return None
    if np.abs(points[:, :2] - points[0, :2]).max() > SAME_MM:
        return None
    near, heights = float(points[1, 2]), points[:, 2]
    peck = near - float(heights[2])
    rows = list(range(2, len(points) - 2, 3))  # ends of the pecks
    if rows[-1] != len(points) - 3 or peck <= 0.0:
        return None
    wanted, rates = [float(heights[0]), near], [0.0, 0.0]
    for count, row in enumerate(rows, start=1):
        depth = max(near - count * peck, float(heights[rows[-1]]))
        wanted += [depth, near]
        rates += [float(feeds[2]), 0.0]
        if row != rows[-1]:
            wanted.append(min(depth + back_mm, near))
            rates.append(0.0)
    wanted.append(float(heights[0]))
    rates.append(0.0)
    is_same = np.abs(heights - np.array(wanted)).max() < SAME_MM and np.array_equal(feeds, np.array(rates))
    return Pecked(r_row=1, bottom_row=rows[-1], peck_mm=peck) if is_same else None


def pecks_said(style: ProgramStyle, passes: Iterable[Pass], moves: Mapping[str, Moves]) -> tuple[str, ...]:
    """What the head of a program says of the control's own cycle of pecks; nothing where no pass is written as such.

    How far that cycle backs off is a setting of the control, which others can change.
    """
    back_mm = style.peck_back_mm
    if back_mm is None or not style.has_cycles:
        return ()
    is_used = any(pecked_hole(one.kind, moves[one.moves_digest], back_mm=back_mm) is not None for one in passes)
    return (f"G83 BACKS OFF {back_mm:g} MM: CHECK THE SETTING OF THE CONTROL",) if is_used else ()
