"""The metal that stands around the part, as points: what each way of looking can take, and how wide each level is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.target import Target
from proveout.model.work import Blank, Clamping, Tilt
from proveout.reach.reaching import BARE, height_map, widened

Array = NDArray[np.float64]

POINTS_COUNT = 60_000
"""Points in the blank: some forty a side, so that volumes are off by a few in a hundred."""
PIXELS = 2.0
"""Pixels of the height map between two points."""


class Stock:
    """What of the blank still stands, as points at the middles of equal cells."""

    def __init__(self, blank: Blank, target: Target) -> None:
        low, high = np.array(blank.low_mm), np.array(blank.high_mm)
        pitch = float(np.prod(high - low) / POINTS_COUNT) ** (1.0 / 3.0)
        counts = np.maximum(np.round((high - low) / pitch).astype(int), 4)
        steps = (high - low) / counts
        sides = [low[k] + steps[k] * (np.arange(counts[k]) + 0.5) for k in range(3)]
        self.points = np.stack([axis.ravel() for axis in np.meshgrid(*sides, indexing="ij")], axis=1)
        self.steps = steps
        self.cell_mm3 = float(np.prod(steps))
        self.pitch_mm = pitch
        self._target = target
        self._maps: dict[tuple[tuple[float, float, float], float], Array] = {}

    def look(self, clamping: Clamping, tilt: Tilt, *, widest_mm: float) -> Look:
        """The points as this tilt meets them.  widest_mm: diameter of the widest cutter that is asked for."""
        frame = tilt.frame
        seen = height_map(
            self._target.vertices_mm, self._target.triangles, frame=frame, pitch_mm=self.pitch_mm / PIXELS,
            margin_mm=2.0 * self.pitch_mm + widest_mm,
        )  # fmt: skip
        at = frame.into(self.points)
        pixel = np.floor((at[:, :2] - [seen.low_x_mm, seen.low_y_mm]) / seen.pitch_mm).astype(int)
        inside = np.all((pixel >= 0) & (pixel < seen.heights.shape), axis=1)
        pixel = np.clip(pixel, 0, np.array(seen.heights.shape) - 1)
        held = np.zeros(len(at), dtype=np.bool_)
        if clamping.holds_strip and _is_upright(clamping.frame, frame):
            # below the jaw tops the metal outside the part's outline is what the jaws hold
            bare = ~inside | (seen.heights[pixel[:, 0], pixel[:, 1]] <= BARE)
            held = bare & (clamping.frame.into(self.points)[:, 2] < clamping.jaw_top_mm)
        size = np.abs(frame.turn) @ self.steps
        return Look(
            heights=at[:, 2], places=at[:, :2], pixel=pixel, inside=np.asarray(inside, dtype=np.bool_), held=held,
            shape=seen.heights, map_pitch_mm=seen.pitch_mm, cell_mm3=self.cell_mm3, thick_mm=float(size[2]),
            wide_mm=(float(size[0]), float(size[1])),
        )  # fmt: skip

    def take(self, taken: NDArray[np.bool_]) -> None:
        """The points taken stand no more."""
        self.points = self.points[~taken]


@dataclass(frozen=True)
class Look:
    """Points of the stock seen by one tilt: heights (n,) and places (n, 2), mm, the tilt's frame.

    shape: the target's height map.  held: what the jaws hold.  thick_mm, wide_mm: a cell's size along the
    cutter, and along x and y.
    """

    heights: Array
    places: Array
    pixel: NDArray[np.int64]
    inside: NDArray[np.bool_]
    held: NDArray[np.bool_]
    shape: Array
    map_pitch_mm: float
    cell_mm3: float
    thick_mm: float
    wide_mm: tuple[float, float]

    @property
    def top_mm(self) -> float:
        """Upper end of what stands."""
        return float(self.heights.max()) + self.thick_mm / 2.0 if len(self.heights) else -math.inf

    def takes(self, *, low_mm: float, radius_mm: float) -> NDArray[np.bool_]:
        """(n,) what a cutter of this radius takes, coming down as far as target and `low_mm` let it."""
        pixels = radius_mm / self.map_pitch_mm
        closed = widened(widened(self.shape, radius_px=pixels, highest=True), radius_px=pixels, highest=False)
        floor = np.where(self.inside, closed[self.pixel[:, 0], self.pixel[:, 1]], BARE)
        return (self.heights > np.maximum(floor, low_mm)) & ~self.held

    def area_mm2(self, taken: NDArray[np.bool_], *, low_mm: float, high_mm: float) -> float:
        """Area of what is taken between two heights; no thinner a slice than the cells are."""
        half = max(high_mm - low_mm, self.thick_mm) / 2.0
        middle = (low_mm + high_mm) / 2.0
        count = int((taken & (np.abs(self.heights - middle) <= half)).sum())
        return count * self.cell_mm3 / (2.0 * half)

    def sides_mm(self, above_mm: float) -> tuple[float, float]:
        """Length and width of what stands above a height, the longer first; 0, 0 for nothing."""
        there = self.places[self.heights > above_mm]
        if len(there) == 0:
            return 0.0, 0.0
        sides = np.ptp(there, axis=0) + np.array(self.wide_mm)
        return float(sides.max()), float(sides.min())


def _is_upright(one: Frame, other: Frame) -> bool:
    return float(np.dot(one.z, other.z)) > 1.0 - 1e-9
