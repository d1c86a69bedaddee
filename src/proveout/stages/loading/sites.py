"""Places for a probe's touches on rightly loaded work, and by how much they tell another body beyond all doubt."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Probe
from proveout.stages.loading.readings import Shape, cells_at, from_side_mm, places_mm

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
SLOP_MM = 0.03
"""Common practice, no source: work that is wiped, pushed to the stop and tapped down lies within this of its place."""
ABOVE_JAWS_MM = 1.0
BEYOND_MM = 3.0
"""It ends so far behind, and finding nothing up to there is an alarm too."""
UNSURE_MM = 0.5
"""A place whose reading on rightly loaded work is less certain than this is not used."""
APART_MM = 1.0
SITES_MAX = 6000
MOST_MM = 20.0


@dataclass(frozen=True, kw_only=True)
class Posed:
    """A body in its pose, with the planes of it that were never cut: raw_mm (2, 3), None where there are none.

    is_square: whether those planes lie along the axes.   closer: its shape between two corners (x, y) by a pitch in mm,
    None where nobody can look closer.
    """

    shape: Shape
    raw_mm: Floats | None
    is_square: bool = True
    closer: Callable[[Floats, Floats, float], Shape] | None = None


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """How far a reading may be off on either body: of the probe, of faces that were cut, and of raw ones."""

    probe_mm: float
    cut_mm: float
    raw_mm: float

    def sure_mm(self) -> float:
        """Probe and slop of both readings."""
        return 2.0 * self.probe_mm + 2.0 * SLOP_MM

    def aside_mm(self) -> float:
        """Sideways of where it is meant to be a touch meets metal that was cut: by the slop and by what that varies."""
        return SLOP_MM + self.cut_mm

    def of(self, body: Posed, axis: int, readings_mm: Floats) -> Floats:
        """How far its own metal may vary where it is touched."""
        if body.raw_mm is None:
            return np.full(readings_mm.shape, self.cut_mm)
        if not body.is_square:
            return np.full(readings_mm.shape, max(self.cut_mm, self.raw_mm))
        near = np.minimum.reduce([np.abs(readings_mm - plane) for plane in body.raw_mm[:, axis]])
        return np.where(near <= 0.1 + body.shape.coarse_mm, max(self.cut_mm, self.raw_mm), self.cut_mm)


@dataclass(frozen=True, kw_only=True)
class Sites:
    """Places for touches of one kind, and what is read there rightly.

    axis 2: from above; sense and level_mm then mean nothing.  x_mm, y_mm: (n,).  low_mm, high_mm: (n,) times sense.
    """

    axis: int
    sense: float
    level_mm: float
    x_mm: Floats
    y_mm: Floats
    low_mm: Floats
    high_mm: Floats
    floor_mm: Floats

    def __len__(self) -> int:
        return len(self.x_mm)

    def of(self, rows: NDArray[np.int64]) -> Sites:
        """Some of them."""
        return replace(
            self, x_mm=self.x_mm[rows], y_mm=self.y_mm[rows], low_mm=self.low_mm[rows], high_mm=self.high_mm[rows],
            floor_mm=self.floor_mm[rows],
        )  # fmt: skip


def sites_above(right: Posed, probe: Probe, doubt: Doubt, jaw_top: float) -> Sites:
    """Places from above, one of each square, where rightly loaded work reads surely or is air as far down as goes."""
    shape = right.shape
    low, high = shape.above_mm(ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm())
    floor = floor_mm(shape, probe, jaw_top)
    i, j = np.nonzero(is_sure(low, high, floor))
    kept = thinned(i, j, shape)
    i, j = i[kept].astype(np.int64), j[kept].astype(np.int64)
    return Sites(
        axis=2, sense=-1.0, level_mm=0.0, x_mm=places_mm(shape, 0)[i], y_mm=places_mm(shape, 1)[j],
        low_mm=np.maximum(low, floor)[i, j], high_mm=np.maximum(high, floor)[i, j], floor_mm=floor[i, j],
    )  # fmt: skip


def is_sure(low: Floats, high: Floats, floor: Floats | float) -> Bools:
    """Where the ball, which comes straight down, surely meets metal, or surely none down to the floor."""
    return (high <= floor) | ((low >= floor) & (high <= low + UNSURE_MM))


def spare_above_mm(
    low: Floats, high: Floats, met_low: Floats, met_high: Floats, right: Posed, body: Posed, doubt: Doubt
) -> Floats:
    """By how much what a body reads from above, met_low to met_high, lies off what is right, beyond all doubt."""
    off = np.maximum(met_low - high, low - met_high)
    vary = doubt.of(right, 2, low) + doubt.of(body, 2, np.where(off > 0.0, (met_low + met_high) / 2.0, met_low))
    return np.minimum(off, MOST_MM) - doubt.sure_mm() - vary


def floor_mm(shape: Shape, probe: Probe, jaw_top: float) -> Floats:
    """(nx, ny) how far down the ball may come from above: its holder and the jaws stay clear."""
    body = highest_mm(shape, probe.body_mm / 2.0)
    return np.maximum(jaw_top + ABOVE_JAWS_MM, body - probe.stylus_mm + ABOVE_JAWS_MM)


def spare_mm(sites: Sites, right: Posed, body: Posed, probe: Probe, doubt: Doubt) -> Floats:
    """(sites,) by how much the body's reading lies farther from the right one's than all doubt together."""
    x, y = sites.x_mm, sites.y_mm
    shape = body.shape
    own = [cells_at(shape, k, at) for k, at in enumerate((x, y))]
    low, high = (v[own[0], own[1]] for v in shape.above_mm(ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm()))
    if sites.axis == 2:
        low, high = np.maximum(low, sites.floor_mm), np.maximum(high, sites.floor_mm)
        return spare_above_mm(sites.low_mm, sites.high_mm, low, high, right, body, doubt)
    sure = doubt.sure_mm()
    radius, start = probe.ball_mm / 2.0, sites.sense * (x if sites.axis == 0 else y)
    down = low - (sites.level_mm - radius)
    down_spare = np.minimum(down, MOST_MM) - sure - doubt.of(body, 2, (low + high) / 2.0)
    met_low, met_high = from_side_mm(
        shape, axis=sites.axis, sense=sites.sense, level_mm=sites.level_mm, ball_mm=probe.ball_mm,
        slop_mm=doubt.aside_mm(), i=own[0], j=own[1],
    )  # fmt: skip
    end = sites.high_mm + BEYOND_MM
    met_low, met_high = np.clip(met_low, start, end), np.clip(met_high, start, end)
    off = np.maximum(met_low - sites.high_mm, sites.low_mm - met_high)
    vary = doubt.of(right, sites.axis, sites.sense * (sites.low_mm + radius)) + doubt.of(
        body, sites.axis, sites.sense * ((met_low + met_high) / 2.0 + radius)
    )
    return np.maximum(down_spare, np.minimum(off, MOST_MM) - sure - vary)


def highest_mm(shape: Shape, radius: float) -> Floats:
    """(nx, ny) the highest metal within a radius of each place, and a cell more."""
    from scipy.ndimage import maximum_filter1d

    cell, reach = shape.cell_mm, radius + float(shape.cell_mm.max())
    steps = math.ceil(radius / float(cell[0]) + 1.0)
    rows = np.arange(len(shape.tops_mm))
    found = np.full(shape.tops_mm.shape, -np.inf)
    for i in range(steps + 1):
        room2 = reach**2 - (i * float(cell[0])) ** 2
        if room2 < 0.0:
            break
        wide = np.asarray(
            maximum_filter1d(
                shape.tops_mm, 2 * math.floor(math.sqrt(room2) / float(cell[1])) + 1, axis=1, mode="nearest"
            )
        )
        for sign in (1, -1):
            np.maximum(found, wide[np.clip(rows + sign * i, 0, len(rows) - 1)], out=found)
    return found


def thinned(i: NDArray[np.int64], j: NDArray[np.int64], shape: Shape) -> NDArray[np.int64]:
    """Which of some places are kept: of each square millimetre, or larger square, the one deepest among them."""
    from scipy.ndimage import distance_transform_edt

    if not len(i):
        return np.zeros(0, dtype=np.int64)
    cell, good = shape.cell_mm, np.zeros(shape.tops_mm.shape, dtype=bool)
    good[i, j] = True
    room = np.asarray(distance_transform_edt(np.pad(good, 1)))[1:-1, 1:-1][i, j]
    apart = APART_MM
    while True:
        squares = np.floor(i * cell[0] / apart).astype(np.int64) * (1 << 20) + np.floor(j * cell[1] / apart).astype(
            np.int64
        )
        order = np.lexsort((j, i, -np.round(room, 6), squares))
        _, first = np.unique(squares[order], return_index=True)
        if len(first) <= SITES_MAX:
            return np.sort(order[first])
        apart *= 1.5
