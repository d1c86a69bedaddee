"""Whether what turns with a rotary axis can meet the cutter while it turns."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.turning import turn_of
from proveout.model.checking import CutterTable, Finding, Standing
from proveout.model.course import Modes, Turning
from proveout.removal.fields import Fields

Floats = NDArray[np.float64]
STEP_RAD = math.radians(1.0)
AIR_MM = 1.0
"""Least air between cutter or holder and what turns; below it a turn counts as a strike."""


def turn_finding(turning: Turning, *, standing: Standing, table: CutterTable, fields: Fields) -> Finding | None:
    """What is wrong with a turn, None when the cutter stands clear of all that turns.

    Formula:  corners of the work's box and of every obstacle turned in steps of 1 degree, made wider by the bulge of
              their arcs between two steps; the cutter with its holder as a cylinder that stands still.
    Returns:  a strike where the highest of what turns below the cylinder comes up to its end; not known where the tip's
              place is not known. None at the top of Z.
    Valid:    convex boxes: a box turned lies within the hull of its corners.
    """
    if turning.from_top:
        return None
    before, after = turning.before, turning.after

    def told(what: str, found: float | None = None, *, is_sure: bool = False) -> Finding:
        return Finding(
            kind="turn", line=turning.line, heading=turning.heading, what=what, found=found,
            limit=AIR_MM if found is not None else None, unit="mm" if found is not None else "", is_sure=is_sure,
        )  # fmt: skip

    cutter = table.cutters.get(before.cutter or 0)
    if cutter is None:
        return told("a rotary axis turns below the top of Z, and what stands in the spindle is not known")
    if turning.moves_too:
        return told("X, Y or Z moves while a rotary axis turns: what lies between is not followed")
    if None in before.turned_rad or None in after.turned_rad:
        return told("from where to where a rotary axis turns is not known")
    centre, zero = standing.centre_mm, standing.zero_mm
    nose = _nose(turning, before)
    if centre is None or None in zero or nose is None:
        return told("a rotary axis turns before Z is at its top, and where the rotary centre lies is not known")
    radius = max(cutter.diameter_mm, cutter.shank_diameter_mm, cutter.holder_diameter_mm) / 2.0
    tip = nose - np.array([0.0, 0.0, table.gauge_mm[before.cutter or 0]])
    corners = _corners(standing, fields)
    at = np.array([float(v or 0.0) for v in zero]) - np.array(centre)
    air = math.inf
    (a_from, _, c_from), (a_to, _, c_to) = before.turned_rad, after.turned_rad
    swing = max(abs(float(a_to or 0.0) - float(a_from or 0.0)), abs(float(c_to or 0.0) - float(c_from or 0.0)))
    count = max(1, math.ceil(swing / STEP_RAD))
    for share in np.linspace(0.0, 1.0, count + 1):
        a = float(a_from or 0.0) + share * (float(a_to or 0.0) - float(a_from or 0.0))
        c = float(c_from or 0.0) + share * (float(c_to or 0.0) - float(c_from or 0.0))
        turned = (corners + at) @ turn_of(a_rad=a, c_rad=c).T + np.array(centre)
        bulge = float(np.linalg.norm(corners + at, axis=1).max()) * (1.0 - math.cos(0.5 * STEP_RAD))
        low, high = turned.min(axis=0) - bulge, turned.max(axis=0) + bulge
        beside = max(low[0] - tip[0], tip[0] - high[0], low[1] - tip[1], tip[1] - high[1])
        if beside > radius:
            continue
        air = min(air, float(tip[2] - high[2]))
    if air >= AIR_MM:
        return None
    return told("a rotary axis turns while the tip is not clear of what turns", round(air, 3), is_sure=True)


def _nose(turning: Turning, modes: Modes) -> Floats | None:
    """Machine coordinates of the spindle's nose."""
    parts = [*zip(turning.start, modes.origin_mm, strict=True)]
    if any(a is None or b is None for a, b in parts) or modes.length_mm is None:
        return None
    place = np.array([float(a or 0.0) + float(b or 0.0) for a, b in parts])
    return place + np.array([0.0, 0.0, modes.length_mm])


def _corners(standing: Standing, fields: Fields) -> Floats:
    """Corners of the work and of every obstacle, in the work's frame."""
    boxes = [(np.array(o.low_mm), np.array(o.high_mm)) for o in standing.obstacles]
    found = [_box(low, high) for low, high in boxes]
    found.append(standing.frame.into(_box(fields.low_mm, fields.high_mm)))
    return np.concatenate(found)


def _box(low: Floats, high: Floats) -> Floats:
    return np.array(
        [[(low, high)[i][0], (low, high)[j][1], (low, high)[k][2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    )
