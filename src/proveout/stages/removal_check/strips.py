"""What the jaws press on while metal goes away: the work's sections from jaw to jaw, before and after every pass."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.grip.strip import weakest_moments_mm4
from proveout.model.strip_left import StripLeft
from proveout.model.work import Clamping
from proveout.removal.fields import Fields

Floats = NDArray[np.float64]
ROWS = 40
"""Places from jaw to jaw; at each the weakest section of all that lie nearest to it counts."""
SQUARE = 1.0 - 1e-9


def strip_left(fields: Fields, clamping: Clamping, pass_id: str) -> StripLeft:
    """The strip at this moment; empty where the work lies askew in the fields, or nothing of it between the jaws.

    least_mm4: I = sum of dx t^3 / 12 over the pieces of metal at every place along the jaws that lie, with any of their
    height, between seat and jaw tops: a plate above a slot that is higher than the jaws is not pressed at all.
    most_mm4: of all pieces above each other, about one axis for all, with what each piece lies off it.
    """
    unseen = StripLeft(clamping_id=clamping.id, pass_id=pass_id, least_mm4=(), most_mm4=())
    turn = clamping.frame.turn
    axes = [int(np.argmax(np.abs(row))) for row in turn]
    if any(abs(turn[i, axis]) < SQUARE for i, axis in enumerate(axes)):
        return unseen
    along, across, up = axes
    starts, ends = _pieces(fields, up)
    is_turned = (up + 1) % 3 == across
    if is_turned:
        starts, ends = starts.swapaxes(0, 1), ends.swapaxes(0, 1)
    cells = fields.low_mm[across] + fields.pitch_mm[across] * (np.arange(starts.shape[1]) + 0.5)
    y = turn[1, across] * (cells - clamping.frame.origin_mm[across])
    steps = -clamping.gap_mm + clamping.gap_mm * (np.arange(ROWS) + 0.5) / ROWS
    near = np.abs(y[:, None] - steps[None, :])
    within = near.min(axis=1) <= clamping.gap_mm / (2.0 * ROWS) + 1e-9
    if not within.any():
        return unseen
    cell = float(fields.pitch_mm[along])
    thick = np.where(_pressed(starts, ends, clamping, up), ends - starts, 0.0)
    pressed = max(1, min(len(thick), int(clamping.patch_length_mm.low / cell)))
    least = weakest_moments_mm4(thick, pressed_count=pressed, cell_mm=cell)
    most = _whole_moments_mm4(starts, ends, cell)
    owner = near.argmin(axis=1)
    return StripLeft(
        clamping_id=clamping.id, pass_id=pass_id, least_mm4=_by_row(least, owner, within, near),
        most_mm4=_by_row(most, owner, within, near),
    )  # fmt: skip


def _pieces(fields: Fields, up: int) -> tuple[Floats, Floats]:
    """(u, v, n) ends of the pieces of metal on every ray along an axis; both 0 where there are no more."""
    spans, counts = fields.spans[up], fields.counts[up]
    most = max(1, int(counts.max(initial=0)))
    used = np.arange(most)[None, :] < counts[:, None]
    shape = (*fields.rays_uv(up), most)
    starts, ends = (np.where(used, spans[:, :most, k], 0.0).reshape(shape) for k in range(2))
    return starts, ends


def _pressed(starts: Floats, ends: Floats, clamping: Clamping, up: int) -> NDArray[np.bool_]:
    """Which pieces share any height with the jaws, from the seat to the jaw tops."""
    turn, origin = clamping.frame.turn[2, up], clamping.frame.origin_mm[up]
    one, other = turn * (starts - origin), turn * (ends - origin)
    return np.asarray((np.maximum(one, other) > 0.0) & (np.minimum(one, other) < clamping.jaw_top_mm))


def _whole_moments_mm4(starts: Floats, ends: Floats, cell_mm: float) -> Floats:
    area = (ends - starts).sum(axis=(0, 2))
    first = (ends**2 - starts**2).sum(axis=(0, 2)) / 2.0
    second = (ends * ends * ends - starts * starts * starts).sum(axis=(0, 2)) / 3.0
    middle = np.divide(first, area, out=np.zeros_like(first), where=area > 0.0)
    return np.maximum(0.0, second - area * middle**2) * cell_mm


def _by_row(values: Floats, owner: NDArray[np.int64], within: NDArray[np.bool_], near: Floats) -> tuple[float, ...]:
    """The least of each row's own cells, of the nearest cell where a row has none."""
    found = np.full(ROWS, np.inf)
    np.minimum.at(found, owner[within], values[within])
    lone = ~np.isfinite(found)
    found[lone] = values[near[:, lone].argmin(axis=0)]
    return tuple(float(v) for v in np.round(found, 6))
