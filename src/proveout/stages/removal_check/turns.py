"""Whether what turns with a rotary axis can meet the cutter while it turns."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.geometry.turning import turn_of
from proveout.model.checking import CutterTable, Finding, Standing
from proveout.model.course import Modes, Turning
from proveout.model.cutter_pieces import body_pieces, cutting_pieces
from proveout.removal.fields import Fields
from proveout.stages.removal_check.bodies import Body, boxes_of

Floats = NDArray[np.float64]
STEP_RAD = math.radians(1.0)
AIR_MM = 1.0
"""Least air between cutter, holder or head and what turns; below it a turn counts as a strike."""
CELL_MM = 12.0


def turn_finding(turning: Turning, *, standing: Standing, table: CutterTable, fields: Fields) -> Finding | None:
    """What is wrong with a turn, None when cutter, holder and head stand clear of all that turns.

    Formula:  the work's box and every body divided into boxes of at most CELL_MM a side, whose corners are turned in
              steps of 1 degree and made wider by the bulge of their arcs between two steps; cutter, shank, holder and
              head as cylinders that stand still.
    Returns:  a strike where a box below a cylinder comes up to its end, or to its side; not known where the tip's place
              is not known, or where a body's is not. None at the top of Z.
    Valid:    from one step to the next a box stays within the box about its corners at both, widened by the bulge: the
              space swept is taken too large, never too small.
    """
    if turning.from_top:
        return None
    before, after = turning.before, turning.after

    def told(what: str, found: float | None = None, *, is_sure: bool = False) -> Finding:
        return Finding(
            kind="turn", line=turning.line, heading=turning.heading, what=what, found=found,
            limit=AIR_MM if found is not None else None, unit="mm" if found is not None else "", is_sure=is_sure,
        )  # fmt: skip

    number = before.cutter
    cylinders = None if number is None else _cylinders(number, table)
    if number is None or not cylinders:
        return told("a rotary axis turns below the top of Z, and what stands in the spindle is not known")
    if turning.moves_too:
        return told("X, Y or Z moves while a rotary axis turns: what lies between is not followed")
    if None in before.turned_rad or None in after.turned_rad:
        return told("from where to where a rotary axis turns is not known")
    centre, zero = standing.centre_mm, standing.zero_mm
    nose = _nose(turning, before)
    if centre is None or None in zero or nose is None:
        return told("a rotary axis turns before Z is at its top, and where the rotary centre lies is not known")
    tip = nose - np.array([0.0, 0.0, table.gauge_mm.get(number, 0.0)])
    at = np.array([float(v or 0.0) for v in zero]) - np.array(centre)
    turns = _turns(before, after)
    worst: tuple[float, bool, str] = (math.inf, True, "")
    for name, is_sure, low, high in _turning_boxes(standing, fields):
        air = min(
            _air_mm(low + at, high + at, both, tip - np.array(centre), cylinders) for both in pairwise(turns)
        )  # fmt: skip
        worst = min(worst, (air, is_sure, name), key=lambda one: (one[0] >= AIR_MM, not one[1], one[0]))
    air, is_sure, name = worst
    if air >= AIR_MM:
        return None
    return told(
        f"a rotary axis turns while {'head' if number == 0 else 'cutter, holder or head'} is not clear of the {name}",
        round(air, 3), is_sure=is_sure,
    )  # fmt: skip


def _turns(before: Modes, after: Modes) -> list[Floats]:
    """The turn at every step from one end to the other."""
    (a_from, _, c_from), (a_to, _, c_to) = before.turned_rad, after.turned_rad
    a_by, c_by = (float(to or 0.0) - float(since or 0.0) for to, since in ((a_to, a_from), (c_to, c_from)))
    count = max(1, math.ceil(max(abs(a_by), abs(c_by)) / STEP_RAD))
    return [
        turn_of(a_rad=float(a_from or 0.0) + share * a_by, c_rad=float(c_from or 0.0) + share * c_by)
        for share in np.linspace(0.0, 1.0, count + 1).tolist()
    ]


def _cylinders(number: int, table: CutterTable) -> list[tuple[float, float]]:
    """Radius and lower end above the tip of everything in the spindle and of the head; without end upwards."""
    cutter = table.cutters.get(number)
    if cutter is None and number != 0:
        return []
    pieces = list(table.head_pieces(number))
    if cutter is not None:
        pieces += [*cutting_pieces(cutter), *body_pieces(cutter)]
    return [(max(piece.r_low_mm, piece.r_high_mm), piece.z_low_mm) for piece in pieces]


def _air_mm(
    low: Floats, high: Floats, turns: tuple[Floats, Floats], tip: Floats, cylinders: list[tuple[float, float]]
) -> float:
    """Least height of a cylinder's end above the boxes (n, 3) below it from one turn to the next, from the centre."""
    corners = box_corners(low, high)
    # both axes together turn by at most two steps from one look to the next: half of that bulges
    bulge = float(np.linalg.norm(corners, axis=2).max()) * (1.0 - math.cos(STEP_RAD))
    turned = np.concatenate([corners @ turn.T for turn in turns])
    first, last = turned.min(axis=0) - bulge, turned.max(axis=0) + bulge
    aside = np.maximum(np.maximum(first - tip, tip - last), 0.0)
    away = np.hypot(aside[:, 0], aside[:, 1])
    air = math.inf
    for radius, end in cylinders:
        below = away <= radius + AIR_MM
        if below.any():
            air = min(air, float(tip[2] + end - last[below, 2].max()))
    return air


def _nose(turning: Turning, modes: Modes) -> Floats | None:
    """Machine coordinates of the spindle's nose."""
    parts = [*zip(turning.start, modes.origin_mm, strict=True)]
    if any(a is None or b is None for a, b in parts) or modes.length_mm is None:
        return None
    place = np.array([float(a or 0.0) + float(b or 0.0) for a, b in parts])
    return place + np.array([0.0, 0.0, modes.length_mm])


def _turning_boxes(standing: Standing, fields: Fields) -> Iterator[tuple[str, bool, Floats, Floats]]:
    """Name, whether it surely stands there, and boxes (n, 3) of the work and of every body, in the work's frame."""
    corners = standing.frame.into(box_corners(fields.low_mm, fields.high_mm))
    yield "work", True, *boxes_of(corners.min(axis=0), corners.max(axis=0), CELL_MM)
    for obstacle in standing.obstacles:
        yield obstacle.name, obstacle.is_sure, *Body(obstacle).cells(CELL_MM)
