"""How much torque about a rotary axis the moves of a pass are sure to make at some moment: the low end, with signs.

The frame is any in which loads, axis and places are told. d is the rotary axis, n the cutter's axis towards the
spindle, r a point of the cutter's axis seen from any point of d. A right-handed cutter turns with the clock seen from
the spindle: an edge at e (unit, square to n) goes along v = -n x e and pushes the work along v, off itself along e, and
along n by the lean of its edges, so

    M = d . ((r + R e) x (q_t v + q_r e +- q_a n))
      = q_t (c . v - R d . n) + q_r (c . e) +- q_a (c . n + R (d x e) . n)      with c = d x r,

and a drill M = F (c . -n) - T d . n. Place and forces are known as intervals alone, so M is one too; where that keeps
clear of 0 its nearer end is sure. It is linear in the place, so that the corners of its box decide.

Of a mill it is not known where about the cutter the metal lies, nor how high it stands: only which way the cutter
goes and the section of the cut. An edge at an angle t from the way takes a chip f cos t thick; at every angle the
metal may stand anything from 0 to the deepest, as long as all of it together makes up the section. The least mean
torque of all such metal is that which begins with the angles that give least for each mm2 of section. The mean over
a turn is what counts: at some moment of the turn the torque is no less.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import HIGH_AT
from proveout.model.sure_push import SureEdges, SureThrust
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
CELLS = 90
"""Angles at which metal may stand before the cutter; each is taken at its least."""


def thrust_torques_n_mm(
    sure: SureThrust, *, rotary_axis: Floats, cutter_axis: Floats, arms_low_mm: Floats, arms_high_mm: Floats
) -> Floats:  # fmt: skip
    """Torque about a rotary axis that a drill is sure to make, whichever way round.

    Formula:  least |F (d x r) . -n - T d . n| over F, T and r of their intervals; 0 where that takes both signs
    Args:     sure: F and T.   rotary_axis: (3,) d, unit.   cutter_axis: (3,) n, unit, towards the spindle.
              arms_low_mm, arms_high_mm: (k, 3) box of r, from any point of d.
    Returns:  N mm, (k,) >= 0; 0 of moves that are not in solid metal.
    Raises:   OutOfRange when the boxes have their ends swapped or there is not one for each move.
    Valid:    a right-handed drill that goes in; the weight of work and table is left out.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/grip/test_axis_torque.py
    """
    arms = _corners(arms_low_mm, arms_high_mm, len(sure.is_whole))
    lever = arms @ np.cross(-cutter_axis, rotary_axis)  # (d x r) . -n = r . (-n x d)
    tried = [
        thrust * lever - torque * float(rotary_axis @ cutter_axis)
        for thrust in (sure.thrust_low_n, sure.thrust_high_n)
        for torque in (sure.torque_low_n_mm, sure.torque_high_n_mm)
    ]
    low, high = np.min(tried, axis=0).min(axis=1), np.max(tried, axis=0).max(axis=1)
    return np.where(sure.is_whole, np.maximum(0.0, np.maximum(low, -high)), 0.0)


def edge_torques_n_mm(
    sure: SureEdges, *, rotary_axis: Floats, cutter_axis: Floats, arms_low_mm: Floats, arms_high_mm: Floats
) -> Floats:  # fmt: skip
    """Torque about a rotary axis that a mill is sure to make, whichever way round, as a mean over a turn.

    Formula:  least |int s(t) M(t) dt| / (2 pi) over 0 <= s <= a_p, S_low <= int s R cos t dt <= S_high, t from -pi/2 to
              pi/2, M as at the top of this file, over q_t from its least to its most, q_r from 0, q_a either way, r of
              its box; 0 where that takes both signs
    Args:     sure: S, a_p, R, way and the four laws.   rotary_axis: (3,) d, unit.   cutter_axis: (3,) n, unit, towards
              the spindle.   arms_low_mm, arms_high_mm: (k, 3) box of r, from any point of d.
    Returns:  N mm, (k,) >= 0.
    Raises:   OutOfRange when the boxes have their ends swapped or there is not one for each move.
    Valid:    upright edges of one radius on a straight way, turning right; the weight of work and table is left out.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/grip/test_axis_torque.py
    """
    corners = _corners(arms_low_mm, arms_high_mm, len(sure.section_low_mm2))
    found = np.zeros(len(corners))
    for row in np.flatnonzero(sure.section_low_mm2 > 0.0):
        ways = [
            _least_n_mm(sure, int(row), sign * rotary_axis, cutter_axis, corners[row]).min() for sign in (1.0, -1.0)
        ]
        found[row] = max(0.0, *ways)
    return found


def _corners(low: Floats, high: Floats, count: int) -> Floats:
    """(k, 8, 3) of boxes."""
    if low.shape != (count, 3) or high.shape != (count, 3) or not (low <= high).all():
        raise OutOfRange("There must be one box of places for each move, low <= high", value=f"{low.shape}")
    ends = np.stack([low, high], axis=1)
    return np.stack([ends[:, HIGH_AT[:, k], k] for k in range(3)], axis=2)


def _least_n_mm(sure: SureEdges, row: int, about: Floats, up: Floats, arms: Floats) -> Floats:
    """(8,) least mean torque about one sense of the axis, of all metal that makes up the section."""
    edges = np.linspace(-math.pi / 2.0, math.pi / 2.0, CELLS + 1)
    middle, half = (edges[1:] + edges[:-1]) / 2.0, (edges[1] - edges[0]) / 2.0
    front, aside = sure.way[row], np.cross(up, sure.way[row])
    at = np.outer(np.cos(middle), front) + np.outer(np.sin(middle), aside)
    radius, off = sure.radius_mm, np.cross(about, arms)
    # no such sum of a sine and a cosine moves farther than its size times the angle
    slack = half * np.linalg.norm(off, axis=1, keepdims=True)
    round_mm = off @ np.cross(-up, at).T - radius * float(about @ up) - slack
    outward_mm = off @ at.T - slack
    turned = np.cross(about, at) @ up
    along_mm = np.abs((off @ up)[:, None] + radius * turned) + half * radius
    chips = sure.turn_feed_mm[row] * np.cos(np.stack([edges[:-1], edges[1:]]))
    thin, thick = np.maximum(chips.min(axis=0), 0.0), sure.turn_feed_mm[row] * np.cos(_nearest_front(edges))
    least_n = _under(sure.chips_mm, sure.tangential_low_n_per_mm, thin)
    most_n, off_n, lean_n = (
        _over(sure.chips_mm, law, thick)
        for law in (sure.tangential_high_n_per_mm, sure.radial_high_n_per_mm, sure.axial_high_n_per_mm)
    )
    # a cell's width is in the forces, its section beside: metal 1 mm high all over it
    width = 2.0 * half / (2.0 * math.pi)
    torque = width * (
        np.minimum(least_n * round_mm, most_n * round_mm) + np.minimum(0.0, off_n * outward_mm) - lean_n * along_mm
    )
    section = radius * (np.sin(edges[1:]) - np.sin(edges[:-1]))
    return np.array([_filled(one, section, sure, row) for one in torque])


def _filled(torque: Floats, section: Floats, sure: SureEdges, row: int) -> float:
    """Least torque of metal that stands up to its deepest in cells and makes up the section: the cheapest cells first.

    Past the least section only what lowers the torque is taken, up to the greatest.
    """
    deep, needed = sure.deep_mm[row], sure.section_low_mm2[row]
    most = max(needed, sure.section_high_mm2[row])
    order = np.argsort(torque / section, kind="stable")
    areas, torques = deep * section[order], deep * torque[order]
    before = np.concatenate([[0.0], np.cumsum(areas)[:-1]])
    asked = np.where(torques < 0.0, most, needed)
    return float((np.clip((asked - before) / areas, 0.0, 1.0) * torques).sum())


def _nearest_front(edges: Floats) -> Floats:
    """Of each cell the angle with the thickest chip."""
    return np.where(
        edges[:-1] * edges[1:] <= 0.0, 0.0, np.minimum(np.abs(edges[:-1]), np.abs(edges[1:]))
    )  # fmt: skip


def _under(chips: Floats, law: Floats, asked: Floats) -> Floats:
    """A rising law between its points, never above it: at the point before."""
    at = np.searchsorted(chips, asked, side="right") - 1
    return np.where(at < 0, 0.0, law[np.maximum(at, 0)])


def _over(chips: Floats, law: Floats, asked: Floats) -> Floats:
    """Never below it: at the point after; the last point is as thick as any chip."""
    return law[np.minimum(np.searchsorted(chips, asked, side="left"), len(chips) - 1)]
