"""Which moves can meet metal at all, so that only those are asked of the fields; never a move too few."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.model.cutter import Piece
from proveout.removal.fields import Fields

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
BLOCK_MM = 2.0
NOTHING = -1.0e9
ALONG_RATIO = 1.0 - 1e-12


class Skyline:
    """The highest metal seen along a cutter axis, over blocks of rays; from the fields as they are when it is made.

    Cutting only ever lowers it, so it serves for all moves that follow at the same axis.
    """

    def __init__(self, fields: Fields, axis: Floats) -> None:
        self._axis = axis
        lows, highs = _metal_box(fields)
        self._is_empty = bool(np.any(lows > highs))
        self._top = NOTHING if self._is_empty else float(np.maximum(axis * lows, axis * highs).sum())
        k = int(np.argmax(np.abs(axis)))
        self._k: int | None = k if abs(float(axis[k])) > ALONG_RATIO and not self._is_empty else None
        if self._k is not None:
            self._sign = 1.0 if axis[k] > 0.0 else -1.0
            self._grid = fields.grid_mm(k)
            self._block = max(1, round(BLOCK_MM / float(max(self._grid[1], self._grid[3]))))
            self._blocks = _block_highest(_tops(fields, k, self._sign), fields.rays_uv(k), self._block)

    def near(self, pieces: Sequence[Piece], starts_mm: Floats, ends_mm: Floats) -> Bools:
        """(n,) moves whose sweep of any of the pieces may meet metal; starts_mm, ends_mm (n, 3) part frame."""
        found = np.zeros(len(starts_mm), dtype=bool)
        if self._is_empty:
            return found
        lowest = np.minimum(starts_mm @ self._axis, ends_mm @ self._axis)
        for piece in pieces:
            below = lowest + piece.z_low_mm < self._top
            if self._k is not None and below.any():
                rows = np.flatnonzero(below)
                radius = max(piece.r_low_mm, piece.r_high_mm)
                below[rows] = lowest[rows] + piece.z_low_mm < self._highest(radius, starts_mm[rows], ends_mm[rows])
            found |= below
        return found

    def deep_mm(self, radius_mm: float, starts_mm: Floats, ends_mm: Floats) -> Floats:
        """(n,) how far metal can stand above the lowest place of the tip under a cutter of a radius; at least 0."""
        lowest = np.minimum(starts_mm @ self._axis, ends_mm @ self._axis)
        if self._is_empty:
            return np.zeros(len(starts_mm))
        top = self._top if self._k is None else self._highest(radius_mm, starts_mm, ends_mm)
        return np.maximum(top - lowest, 0.0)

    def _highest(self, radius_mm: float, starts_mm: Floats, ends_mm: Floats) -> Floats:
        """(n,) highest metal under the box of each move widened by a radius; long moves take the highest of all."""
        assert self._k is not None
        u_axis, v_axis = (self._k + 1) % 3, (self._k + 2) % 3
        size_u, size_v = self._grid[1] * self._block, self._grid[3] * self._block
        # one block for the rounding of the place, one for the end of a short move, one for rays off the middle
        steps_u, steps_v = (int(np.ceil(radius_mm / size)) + 3 for size in (size_u, size_v))
        wide = np.pad(self._blocks, ((steps_u + 1,) * 2, (steps_v + 1,) * 2), constant_values=NOTHING)
        wide = _widened(_widened(wide, steps_u, 0), steps_v, 1)
        u = (starts_mm[:, u_axis] - self._grid[0]) / size_u
        v = (starts_mm[:, v_axis] - self._grid[2]) / size_v
        long = (np.abs(ends_mm[:, u_axis] - starts_mm[:, u_axis]) > size_u) | (
            np.abs(ends_mm[:, v_axis] - starts_mm[:, v_axis]) > size_v
        )
        i = np.clip(np.floor(u).astype(int) + steps_u + 1, 0, wide.shape[0] - 1)
        j = np.clip(np.floor(v).astype(int) + steps_v + 1, 0, wide.shape[1] - 1)
        return np.where(long, self._top, wide[i, j])


def _metal_box(fields: Fields) -> tuple[Floats, Floats]:
    """Low and high corner (3,) of all metal, part frame; low above high when there is none."""
    lows, highs = np.full(3, np.inf), np.full(3, -np.inf)
    for k in range(3):
        held = fields.counts[k] > 0
        if held.any():
            rows = np.flatnonzero(held)
            lows[k] = float(fields.spans[k][rows, 0, 0].min())
            highs[k] = float(fields.spans[k][rows, fields.counts[k][rows] - 1, 1].max())
    return lows, highs


def _tops(fields: Fields, k: int, sign: float) -> Floats:
    """(rays,) end of the metal towards `sign` on each ray of field k, measured along the sign."""
    counts, spans = fields.counts[k], fields.spans[k]
    ends = spans[np.arange(len(counts)), np.maximum(counts - 1, 0), 1] if sign > 0.0 else -spans[:, 0, 0]
    return np.where(counts > 0, ends, NOTHING)


def _block_highest(tops: Floats, rays_uv: tuple[int, int], block: int) -> Floats:
    nu, nv = rays_uv
    bu, bv = -(-nu // block), -(-nv // block)
    padded = np.full((bu * block, bv * block), NOTHING)
    padded[:nu, :nv] = tops.reshape(nu, nv)
    return padded.reshape(bu, block, bv, block).max(axis=(1, 3))


def _widened(heights: Floats, steps: int, along: int) -> Floats:
    """The highest within so many steps either way along one axis of the map; the map grows by nothing."""
    out = heights.copy()
    length = heights.shape[along]
    for step in range(1, min(steps, length - 1) + 1):
        ahead = [slice(None), slice(None)]
        behind = [slice(None), slice(None)]
        ahead[along], behind[along] = slice(step, None), slice(None, length - step)
        a, b = tuple(ahead), tuple(behind)
        out[a] = np.maximum(out[a], heights[b])
        out[b] = np.maximum(out[b], heights[a])
    return out


def may_meet(
    pieces: Sequence[Piece],
    axis: Floats,
    starts_mm: Floats,
    ends_mm: Floats,
    low_mm: Floats,
    high_mm: Floats,
) -> Bools:
    """(n,) moves for which the box about the sweep of any piece touches the box low_mm to high_mm."""
    found = np.zeros(len(starts_mm), dtype=bool)
    first, last = np.minimum(starts_mm, ends_mm), np.maximum(starts_mm, ends_mm)
    aside = np.sqrt(np.maximum(1.0 - axis**2, 0.0))
    for piece in pieces:
        radius = max(piece.r_low_mm, piece.r_high_mm)
        ends = np.array([axis * piece.z_low_mm, axis * piece.z_high_mm])
        # a ball reaches its radius in every direction, a frustum only square to the axis
        wide = radius if piece.kind == "ball" else radius * aside
        touches = (first + ends.min(axis=0) - wide < high_mm) & (last + ends.max(axis=0) + wide > low_mm)
        found |= touches.all(axis=1)
    return found
