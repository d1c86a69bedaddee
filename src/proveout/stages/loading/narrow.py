"""Touches from above that need a closer look: on strips narrower than the cells in which bodies are known elsewhere.

Where two holes lie half a millimetre apart the ball falls into the one alone on a strip as narrow as that. Both bodies
are then looked at anew in a small window, with cells that leave room on such a strip for slop and what varies.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Probe
from proveout.stages.loading.readings import Shape, cells_at, places_mm, undersides_mm
from proveout.stages.loading.sites import Doubt, Posed, Sites, floor_mm, is_sure, spare_above_mm

Floats = NDArray[np.float64]
WINDOWS_MAX = 4
HALF_MM, PITCH_MM = 1.0, 0.05
"""Places of a window lie so far from its middle, in cells of this size."""


def narrow_sites(right: Posed, bodies: Sequence[Posed], *, probe: Probe, doubt: Doubt, jaw_top_mm: float) -> Sites:
    """The best place for each of some bodies in each of its most promising windows; none where nobody can look."""
    found: set[tuple[float, ...]] = set()
    floor = floor_mm(right.shape, probe, jaw_top_mm)
    reach = _reach_mm(probe, doubt)
    for body in bodies:
        if right.closer is None or body.closer is None:
            continue
        for middle in _promising(right.shape, body.shape, floor, probe, doubt):
            low, high = middle - HALF_MM - reach, middle + HALF_MM + reach
            near = right.closer(low, high, PITCH_MM), body.closer(low, high, PITCH_MM)
            lowest = _highest_of(floor, right.shape, low, high)
            place = _best(near, (right, body), probe, doubt, lowest, reach)
            if place is not None:
                found.add((*place, lowest))
    columns = np.array(sorted(found)).reshape(-1, 5)
    return Sites(
        axis=2, sense=-1.0, level_mm=0.0, x_mm=columns[:, 0], y_mm=columns[:, 1], low_mm=columns[:, 2],
        high_mm=columns[:, 3], floor_mm=columns[:, 4],
    )  # fmt: skip


def spare_nearby_mm(sites: Sites, right: Posed, body: Posed, probe: Probe, doubt: Doubt) -> Floats:
    """(sites,) as spare_mm, with the body looked at anew about each place."""
    if body.closer is None:
        return np.full(len(sites), -np.inf)
    reach = _reach_mm(probe, doubt)
    met_low, met_high = np.zeros(len(sites)), np.zeros(len(sites))
    for at, middle in enumerate(np.column_stack([sites.x_mm, sites.y_mm])):
        near = body.closer(middle - reach, middle + reach, PITCH_MM)
        i, j = (int(cells_at(near, k, middle[k : k + 1])[0]) for k in range(2))
        low, high = near.above_mm(ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm())
        met_low[at], met_high[at] = low[i, j], high[i, j]
    met_low, met_high = np.maximum(met_low, sites.floor_mm), np.maximum(met_high, sites.floor_mm)
    return spare_above_mm(sites.low_mm, sites.high_mm, met_low, met_high, right, body, doubt)


def _reach_mm(probe: Probe, doubt: Doubt) -> float:
    """How far from a place metal may lie that the ball meets there."""
    return probe.ball_mm / 2.0 + doubt.aside_mm() + 3.0 * PITCH_MM


def _promising(right: Shape, body: Shape, floor: Floats, probe: Probe, doubt: Doubt) -> list[Floats]:
    """(2,) middles of the widest patches on which the ball reads the two bodies differently, slop left aside."""
    from scipy.ndimage import distance_transform_edt, label

    own = np.maximum(undersides_mm(right, ball_mm=probe.ball_mm), floor)
    other = undersides_mm(body, ball_mm=probe.ball_mm)
    x, y = (places_mm(right, k) for k in range(2))
    rows, columns = (cells_at(body, k, at) for k, at in enumerate((x, y)))
    apart = np.abs(np.maximum(other[np.ix_(rows, columns)], floor) - own) > doubt.sure_mm() + 2.0 * doubt.cut_mm
    room = np.asarray(distance_transform_edt(np.pad(apart, 1)))[1:-1, 1:-1]
    found: Any = label(apart, structure=np.ones((3, 3)))
    patches, count = found
    best: list[tuple[float, int, int]] = []
    for patch in range(1, int(count) + 1):
        inside = np.where(patches == patch, room, 0.0)
        i, j = np.unravel_index(int(np.argmax(inside)), inside.shape)
        best.append((-round(float(inside[i, j]), 6), int(i), int(j)))
    return [np.array([x[i], y[j]]) for _, i, j in sorted(best)[:WINDOWS_MAX]]


def _highest_of(floor: Floats, shape: Shape, low: Floats, high: Floats) -> float:
    """The highest floor anywhere in a window."""
    ends = [cells_at(shape, k, np.array([low[k], high[k]])) for k in range(2)]
    rows, columns = (slice(int(first), int(last) + 1) for first, last in ends)
    return float(floor[rows, columns].max())


def _best(
    near: tuple[Shape, Shape], posed: tuple[Posed, Posed], probe: Probe, doubt: Doubt, floor: float, reach: float
) -> tuple[float, ...] | None:
    """x, y and what is read rightly at least and at most, of the place that tells the body best.

    near, posed: the right body and the other one.
    """
    from scipy.ndimage import distance_transform_edt

    reads, met = (one.above_mm(ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm()) for one in near)
    low, high, met_low, met_high = (np.maximum(v, floor) for v in (*reads, *met))
    spare = spare_above_mm(low, high, met_low, met_high, *posed, doubt)
    cells = math.ceil(reach / PITCH_MM)
    told = np.zeros(spare.shape, dtype=bool)
    within = (slice(cells, -cells), slice(cells, -cells))
    told[within] = ((spare > 0.0) & is_sure(*reads, floor))[within]
    if not told.any():
        return None
    # in the middle of what tells it a little more slop tells it still
    room = np.asarray(distance_transform_edt(np.pad(told, 1)))[1:-1, 1:-1]
    i, j = np.unravel_index(int(np.argmax(np.round(room, 6))), room.shape)
    place = (places_mm(near[0], 0)[i], places_mm(near[0], 1)[j], low[i, j], high[i, j])
    return tuple(float(v) for v in place)
