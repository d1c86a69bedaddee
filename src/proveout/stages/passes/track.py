"""The moves of one pass while they are being laid, rounded to what the machine resolves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.model.work import Moves

Array = NDArray[np.float64]

ABOVE_MM = 2.0
"""A rapid move ends this far above where feeding starts."""


class Track:
    """Points and feeds in the tilt's frame. Rapids are either vertical or at the clearance height."""

    def __init__(self, *, resolution_mm: float, clear_mm: float) -> None:
        self._grid = resolution_mm if resolution_mm > 0.0 else 1e-3
        self._per_mm = round(1.0 / self._grid)
        if abs(self._per_mm * self._grid - 1.0) > 1e-9:
            self._per_mm = 0
        self.clear_mm = self._whole_steps(int(np.ceil(clear_mm / self._grid)))
        self._points: list[tuple[float, float, float]] = []
        self._feeds: list[float] = []
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

    def moves(self) -> Moves:
        """The pass, ended at the clearance height."""
        here = self.here
        if here is not None:
            self._add(here[0], here[1], self.clear_mm, 0.0)
        points = np.array(self._points, dtype=np.float64).reshape(-1, 3)
        feeds = np.array(self._feeds, dtype=np.float64)
        if len(feeds):
            feeds[0] = 0.0
        return Moves(points=points, feed_mm_per_s=feeds)

    def _add(self, x_mm: float, y_mm: float, z_mm: float, feed_mm_per_s: float) -> bool:
        point = tuple(self._whole_steps(round(v / self._grid)) for v in (x_mm, y_mm, z_mm))
        if self._points and self._points[-1] == point:
            return False
        self._points.append(point)  # type: ignore[arg-type]
        self._feeds.append(feed_mm_per_s)
        return True

    def _whole_steps(self, count: int) -> float:
        """So many steps of the machine, mm: the very number that its decimal digits are read back as."""
        return (count / self._per_mm if self._per_mm else count * self._grid) + 0.0
