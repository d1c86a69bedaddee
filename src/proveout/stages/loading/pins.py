"""A pin beside rightly loaded work that refuses wrongly loaded work."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.model.loading import Pin
from proveout.stages.loading.bodies import Cuts
from proveout.stages.loading.judging import Judged, Laid

Floats = NDArray[np.float64]
PIN_MM = 6.0
AIR_MM = 0.5
BLOCK_MM = 1.5
"""Common practice, no source: work that would have to pass a pin by so much does not go in."""
RISES_MM = (3.0, 6.0, 10.0)
"""Heights of the pin above the jaw tops that are tried; the least that refuses the most is taken."""


def find_pin(judged: Judged, escaping: Sequence[Laid], cuts: Sequence[Cuts], *, jaw_top_mm: float) -> Pin | None:
    """The place of an upright pin that touches neither rightly loaded work nor a cutter and refuses the most.

    None where no pin refuses any.
    """
    low, high = judged.low_mm[:2] - PIN_MM, judged.high_mm[:2] + PIN_MM
    step = 0.5
    nx, ny = (int(np.ceil((high[k] - low[k]) / step)) for k in range(2))
    best: tuple[int, float, Pin] | None = None
    for rise in RISES_MM:
        top = jaw_top_mm + rise
        room = _room(judged.right_points_mm, top, low, step, (nx, ny))
        free = (room >= PIN_MM / 2.0 + AIR_MM) & (
            _room_of_cuts(cuts, top, low, step, (nx, ny)) >= PIN_MM / 2.0 + AIR_MM
        )
        if not free.any():
            continue
        blocked = np.zeros((nx, ny), dtype=np.int64)
        least = np.full((nx, ny), np.inf)
        for one in escaping:
            points = one.points_mm @ one.turn.T + one.shift_mm
            deep = PIN_MM / 2.0 - _room(points, top, low, step, (nx, ny))
            blocked += deep >= BLOCK_MM
            least = np.where(deep >= BLOCK_MM, np.minimum(least, deep), least)
        blocked = np.where(free, blocked, 0)
        most = int(blocked.max())
        if most and (best is None or most > best[0]):
            at = int(np.argmax(np.where(blocked == most, least, -1.0)))
            i, j = divmod(at, ny)
            place = (round(float(low[0] + (i + 0.5) * step), 1), round(float(low[1] + (j + 0.5) * step), 1))
            best = (most, rise, Pin(at_mm=place, diameter_mm=PIN_MM, top_mm=round(top, 3), blocks_count=most))
    return None if best is None else best[2]


def _room(points: Floats, top: float, low: Floats, step: float, shape: tuple[int, int]) -> Floats:
    """(nx, ny) how far each place lies from the surface below a height, seen from above."""
    return _distance(points[points[:, 2] <= top][:, :2], low, step, shape)


def _room_of_cuts(cuts: Sequence[Cuts], top: float, low: Floats, step: float, shape: tuple[int, int]) -> Floats:
    """(nx, ny) how far each place lies from the sweep of any cutter whose tip comes below a height."""
    found = np.full(shape, np.inf)
    for one in cuts:
        radius = max(max(piece.r_low_mm, piece.r_high_mm) for piece in one.pieces)
        near = np.minimum(one.starts_mm[:, 2], one.ends_mm[:, 2]) <= top + AIR_MM
        if not near.any():
            continue
        starts = one.starts_mm[near]
        ways = one.ends_mm[near] - starts
        counts = np.clip(np.ceil(np.linalg.norm(ways, axis=1) / step).astype(np.int64) + 1, 2, 400)
        row = np.repeat(np.arange(len(ways)), counts)
        place = np.arange(len(row)) - np.repeat(np.cumsum(counts) - counts, counts)
        places = (starts[row] + (place / (counts[row] - 1))[:, None] * ways[row])[:, :2]
        found = np.minimum(found, _distance(places, low, step, shape) - radius)
    return found


def _distance(places: Floats, low: Floats, step: float, shape: tuple[int, int]) -> Floats:
    from scipy.ndimage import distance_transform_edt

    index = np.floor((places - low) / step).astype(np.int64)
    inside = ((index >= 0) & (index < shape)).all(axis=1)
    empty = np.ones(shape, dtype=bool)
    empty[index[inside, 0], index[inside, 1]] = False
    return np.full(shape, np.inf) if empty.all() else np.asarray(distance_transform_edt(empty)) * step
