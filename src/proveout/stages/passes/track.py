"""The moves of one pass while they are being laid, rounded to what the machine resolves."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.arc_fit import fitted
from proveout.model.moves import LEFT, RIGHT, STRAIGHT, Moves

Array = NDArray[np.float64]

ABOVE_MM = 2.0
"""A rapid move ends this far above where feeding starts."""
FIT_MM = 0.003
"""How far the ends of chords may lie from the arc that takes their place, on faces that are finished."""
LOOSE_FIT_MM = 0.01
"""The same where an allowance is left."""
WRITTEN_RADII_WITHIN_MM = 0.0015
"""How much an arc's radii at both ends may differ by rounding: fitted ones within 0.0012, readers allow 0.002."""
CHORD_MM = 1e-3
"""Chords of an arc that the machine's steps are too coarse for."""


class Track:
    """Points and feeds in the tilt's frame. Rapids are either vertical or at the clearance height.

    Level chords that are one arc in truth become that arc when the pass is ended; fit_mm: how far they may lie from it.
    """

    def __init__(self, *, resolution_mm: float, clear_mm: float, fit_mm: float = FIT_MM) -> None:
        self._fit_mm = fit_mm
        self._grid = resolution_mm if resolution_mm > 0.0 else 1e-3
        self._per_mm = round(1.0 / self._grid)
        if abs(self._per_mm * self._grid - 1.0) > 1e-9:
            self._per_mm = 0
        self.clear_mm = self._whole_steps(int(np.ceil(clear_mm / self._grid)))
        self._points: list[tuple[float, float, float]] = []
        self._feeds: list[float] = []
        self._arcs: dict[int, tuple[int, int, int]] = {}
        self.cut_mm = 0.0

    @property
    def is_empty(self) -> bool:
        """Nothing was cut."""
        return self.cut_mm <= 0.0

    @property
    def here(self) -> tuple[float, float, float] | None:
        """Where the tip stands, None before the first point."""
        return self._points[-1] if self._points else None

    def enter(
        self, *, x_mm: float, y_mm: float, z_mm: float, feed_mm_per_s: float, from_mm: float | None = None
    ) -> None:
        """Goes over a place at clearance height, down by rapid to `from_mm` (2 mm above by default), then by feed."""
        here = self.here
        if here is not None:
            self._add(here[0], here[1], self.clear_mm, 0.0)
        self._add(x_mm, y_mm, self.clear_mm, 0.0)
        start = min(self.clear_mm, z_mm + ABOVE_MM if from_mm is None else from_mm)
        self._add(x_mm, y_mm, max(start, z_mm), 0.0)
        self.feed(x_mm, y_mm, z_mm, feed_mm_per_s)

    def whole_mm(self, length_mm: float) -> float:
        """A length or a height rounded to the machine's steps."""
        return self._whole_steps(round(length_mm / self._grid))

    def feed(self, x_mm: float, y_mm: float, z_mm: float, feed_mm_per_s: float) -> None:
        """One straight feed move."""
        before = self.here
        if self._add(x_mm, y_mm, z_mm, feed_mm_per_s) and before is not None:
            self.cut_mm += float(np.linalg.norm(np.subtract(self._points[-1], before)))

    def rapid_z(self, z_mm: float) -> None:
        """A vertical rapid move."""
        here = self.here
        if here is not None:
            self._add(here[0], here[1], z_mm, 0.0)

    def along(self, line: Array, *, z_mm: float | None, feed_mm_per_s: float) -> None:
        """Feeds along a polyline (n, 2) at one height or (n, 3)."""
        for row in line:
            self.feed(float(row[0]), float(row[1]), float(row[2]) if z_mm is None else z_mm, feed_mm_per_s)

    def arc(
        self, *, end: tuple[float, float, float], centre: tuple[float, float], turns_left: bool, feed_mm_per_s: float
    ) -> None:
        """One arc about a centre to an end, z rising evenly; over its own start it is a whole turn.

        By chords where the machine's steps leave both ends at too different distances from the centre.
        """
        here = self.here
        if here is None:
            return
        goal = self._whole(end)
        i, j = (round((centre[k] - here[k]) / self._grid) for k in range(2))
        middle = here[0] + self._whole_steps(i), here[1] + self._whole_steps(j)
        radius = math.hypot(here[0] - middle[0], here[1] - middle[1])
        if radius <= 0.0:
            return
        sense = LEFT if turns_left else RIGHT
        arc = Moves(
            points=np.array([here, goal]), feed_mm_per_s=np.zeros(2),
            arcs=np.array([[STRAIGHT, 0.0, 0.0], [sense, middle[0] - here[0], middle[1] - here[1]]]),
        )  # fmt: skip
        if abs(math.hypot(goal[0] - middle[0], goal[1] - middle[1]) - radius) > WRITTEN_RADII_WITHIN_MM:
            self.along(arc.straight(within_mm=CHORD_MM).points[1:], z_mm=None, feed_mm_per_s=feed_mm_per_s)
            return
        self._points.append(goal)
        self._feeds.append(feed_mm_per_s)
        self._arcs[len(self._points) - 1] = sense, i, j
        self.cut_mm += float(arc.lengths_mm[0])

    def moves(self) -> Moves:
        """The pass, ended at the clearance height."""
        here = self.here
        if here is not None:
            self._add(here[0], here[1], self.clear_mm, 0.0)
        points = np.array(self._points, dtype=np.float64).reshape(-1, 3)
        feeds = np.array(self._feeds, dtype=np.float64)
        if len(feeds):
            feeds[0] = 0.0
        arcs = np.zeros((len(points), 3))
        for row, (sense, i, j) in self._arcs.items():
            arcs[row] = sense, self._whole_steps(i), self._whole_steps(j)
        kept, found = fitted(points, feeds, arcs[:, 0] != STRAIGHT, grid_mm=self._grid, within_mm=self._fit_mm)
        for row, (sense, i, j) in found.items():
            arcs[row] = sense, self._whole_steps(i), self._whole_steps(j)
        arcs = arcs[kept]
        return Moves(
            points=points[kept], feed_mm_per_s=feeds[kept], arcs=arcs if arcs[:, 0].any() else np.zeros((0, 3))
        )

    def _add(self, x_mm: float, y_mm: float, z_mm: float, feed_mm_per_s: float) -> bool:
        point = self._whole((x_mm, y_mm, z_mm))
        if self._points and self._points[-1] == point:
            return False
        self._points.append(point)
        self._feeds.append(feed_mm_per_s)
        return True

    def _whole(self, point: tuple[float, float, float]) -> tuple[float, float, float]:
        """A point rounded to the machine's steps."""
        x, y, z = (self._whole_steps(round(v / self._grid)) for v in point)
        return x, y, z

    def _whole_steps(self, count: int) -> float:
        """So many steps of the machine, mm: the very number that its decimal digits are read back as."""
        return (count / self._per_mm if self._per_mm else count * self._grid) + 0.0
