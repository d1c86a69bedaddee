"""The one or two touches of a probe that tell the most wrong loads from the right one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import triple
from proveout.model.loading import Touch
from proveout.model.shop import Probe
from proveout.stages.loading.readings import ALONG, Shape, from_side_mm, places_mm

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
SLOP_MM = 0.03
"""Common practice, no source: work that is wiped, pushed to the stop and tapped down lies within this of its place."""
ABOVE_JAWS_MM = 1.0
FREE_MM = 0.5
START_MM = (1.0, 3.0)
"""A touch from the side begins so far from where the ball is to touch."""
BEYOND_MM = 3.0
"""It ends so far behind, and finding nothing up to there is an alarm too."""
UNSURE_MM = 0.5
"""A place whose reading on rightly loaded work is less certain than this is not used."""
APART_MM = 1.0
LEVELS_COUNT = 5
KEPT_MAX, EACH_MAX = 40, 4
"""Touches from the side that are tried on every body: the best of all, and of each that is hard to tell."""
SITES_MAX = 6000
PAIRS_MAX = 2500
UNSEEN_WEIGHT = 1000.0
STEM_RATIO = 0.75
"""A stylus is no thicker than this share of its ball."""
MOST_MM = 20.0


@dataclass(frozen=True, kw_only=True)
class Posed:
    """A body in its pose, with the planes of it that were never cut: raw_mm (2, 3), None where there are none.

    is_square: whether those planes lie along the axes.
    """

    shape: Shape
    raw_mm: Floats | None
    is_square: bool = True


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
class _Sites:
    """Places for touches of one kind: rows and columns in the right body's grid, what is read there rightly.

    axis 2: from above; sense and level_mm then mean nothing.  low_mm, high_mm: (n,) times sense.
    """

    axis: int
    sense: float
    level_mm: float
    i: NDArray[np.int64]
    j: NDArray[np.int64]
    low_mm: Floats
    high_mm: Floats
    floor_mm: Floats

    def __len__(self) -> int:
        return len(self.i)

    def of(self, rows: NDArray[np.int64]) -> _Sites:
        """Some of them."""
        return replace(
            self, i=self.i[rows], j=self.j[rows], low_mm=self.low_mm[rows], high_mm=self.high_mm[rows],
            floor_mm=self.floor_mm[rows],
        )  # fmt: skip


def plan_touches(
    right: Posed, wrong: Sequence[Posed], *, is_seen: Bools, probe: Probe, doubt: Doubt, jaw_top_mm: float
) -> tuple[tuple[Touch, ...], Floats]:
    """At most two touches that tell as many of the wrong bodies from the right one as any two of the places tried.

    is_seen: (wrong,) what the operator sees anyway; the others come first.
    Returns:  the touches, and (wrong,) how far their readings lie off at least beyond all doubt: above 0 it is told.
    """
    if not wrong:
        return (), np.zeros(0)
    groups = [_sites_above(right, probe, doubt, jaw_top_mm)]
    spare = np.vstack([_spare_mm(groups[0], right, body, probe, doubt) for body in wrong])
    best = int((spare > 0.0).sum(axis=0).max(initial=0))
    if best < len(wrong):
        hard = [
            k for k, body in enumerate(wrong) if body.shape.coarse_mm == 0.0 or not bool((spare[k] > 0.0).any())
        ]  # fmt: skip
        beside = _best_beside(right, [wrong[k] for k in hard], probe, doubt, jaw_top_mm)
        for sites in beside:
            groups.append(sites)
            spare = np.hstack([spare, np.vstack([_spare_mm(sites, right, body, probe, doubt) for body in wrong])])
    chosen = _choose(spare, np.where(is_seen, 1.0, UNSEEN_WEIGHT))
    told = spare[:, chosen].max(axis=1) if chosen else np.full(len(wrong), -np.inf)
    starts = np.cumsum([0, *(len(g) for g in groups)])
    touches = []
    for column in chosen:
        group = int(np.searchsorted(starts, column, side="right")) - 1
        own = spare[:, column]
        touches.append(
            _touch(groups[group], column - int(starts[group]), right, probe, doubt, int((own > 0.0).sum()),
                   float(own[own > 0.0].min(initial=MOST_MM)))
        )  # fmt: skip
    return tuple(touches), told


def _best_beside(right: Posed, hard: Sequence[Posed], probe: Probe, doubt: Doubt, jaw_top: float) -> list[_Sites]:
    """Of all touches from the side those that tell the most of the bodies that are hard to tell, by level and sense."""
    if not hard:
        return []
    found: list[tuple[_Sites, Floats]] = []
    for axis, sense in ALONG:
        found.extend(
            (sites, np.vstack([_spare_mm(sites, right, body, probe, doubt) for body in hard]))
            for sites in _sites_beside(right, probe, doubt, jaw_top, axis, sense)
            if len(sites)
        )
    if not found:
        return []
    spare = np.hstack([own for _, own in found])
    told = spare > 0.0
    least = np.where(told, spare, MOST_MM).min(axis=0)
    order = np.lexsort((-np.round(least, 4), -told.sum(axis=0)))[:KEPT_MAX]
    kept = {int(k) for k in order if told[:, k].any()}
    for row in spare:
        kept |= {int(k) for k in np.argsort(-row, kind="stable")[:EACH_MAX] if row[k] > 0.0}
    starts = np.cumsum([0, *(len(sites) for sites, _ in found)])
    result = []
    for number, (sites, _) in enumerate(found):
        own = np.array(sorted(k - int(starts[number]) for k in kept if starts[number] <= k < starts[number + 1]))
        if len(own):
            result.append(sites.of(own.astype(np.int64)))
    return result


def _choose(spare: Floats, weights: Floats) -> list[int]:
    """Columns of the one or two places that tell the most rows, then with the largest least spare."""
    told = spare > 0.0
    if not told.any():
        return []
    _, first, where = np.unique(np.packbits(told, axis=0), axis=1, return_index=True, return_inverse=True)
    least = np.where(told, spare, MOST_MM).min(axis=0)
    order = np.lexsort((np.arange(len(least)), -np.round(least, 4)))
    best = np.full(len(first), -1, dtype=np.int64)
    for column in order[::-1]:
        best[where.reshape(-1)[column]] = column
    counts = weights @ told[:, best]
    rank = np.lexsort((best, -np.round(least[best], 4), -counts))
    best = best[rank][:PAIRS_MAX]
    one = [int(best[0])]
    if int(told[:, one[0]].sum()) == len(told):
        return one
    marks = told[:, best].astype(np.float64)
    own = weights @ marks
    both = own[:, None] + own[None, :] - marks.T @ (weights[:, None] * marks)
    most = float(both.max())
    if most <= float(own[0]) + 0.5:
        return one
    pairs = np.argwhere(np.triu(both >= most - 0.5, 1))[:2000]

    def least_of(pair: NDArray[np.int64]) -> float:
        found = np.maximum(spare[:, best[pair[0]]], spare[:, best[pair[1]]])
        return float(found[found > 0.0].min())

    chosen = max(pairs, key=lambda pair: (round(least_of(pair), 4), -int(pair[0]), -int(pair[1])))
    return [int(best[k]) for k in chosen]


def _sites_above(right: Posed, probe: Probe, doubt: Doubt, jaw_top: float) -> _Sites:
    shape = right.shape
    low, high = shape.above_mm(ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm())
    floor = np.maximum(jaw_top + ABOVE_JAWS_MM, _highest(shape, probe.body_mm / 2.0) - probe.stylus_mm + ABOVE_JAWS_MM)
    is_air = high <= floor
    good = is_air | ((low >= floor) & (high <= low + UNSURE_MM))
    # the ball comes straight down: what is air down to the floor ends there
    i, j = np.nonzero(good)
    kept = _thinned(i, j, shape)
    i, j = i[kept].astype(np.int64), j[kept].astype(np.int64)
    return _Sites(
        axis=2, sense=-1.0, level_mm=0.0, i=i, j=j, low_mm=np.maximum(low, floor)[i, j],
        high_mm=np.maximum(high, floor)[i, j], floor_mm=floor[i, j],
    )  # fmt: skip


def _sites_beside(
    right: Posed, probe: Probe, doubt: Doubt, jaw_top: float, axis: int, sense: float
) -> list[_Sites]:  # fmt: skip
    shape, radius = right.shape, probe.ball_mm / 2.0
    top = float(shape.tops_mm.max())
    lowest, highest = jaw_top + ABOVE_JAWS_MM + radius, top - radius / 2.0
    if highest < lowest:
        return []
    around, stem = _highest(shape, radius + FREE_MM), _highest(shape, STEM_RATIO * radius)
    body = _highest(shape, probe.body_mm / 2.0 + START_MM[1])
    starts = sense * places_mm(shape, axis)
    found: list[_Sites] = []
    for level in np.linspace(lowest, highest, LEVELS_COUNT):
        clear = (around < level - radius - FREE_MM / 2.0) & (body <= level + probe.stylus_mm - ABOVE_JAWS_MM)
        i, j = (rows.astype(np.int64) for rows in np.nonzero(clear))
        low, high = from_side_mm(
            shape, axis=axis, sense=sense, level_mm=float(level), ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm(),
            i=i, j=j,
        )  # fmt: skip
        ahead = low - starts[(i, j)[axis]]
        near = (ahead >= START_MM[0]) & (ahead <= START_MM[1]) & (high <= low + UNSURE_MM)
        kept = _thinned(i[near], j[near], shape)
        i, j = i[near][kept], j[near][kept]
        low, high, ahead = (values[near][kept] for values in (low, high, ahead))
        # the stem above the ball stays clear where the ball touches
        end = [i, j]
        step = np.rint(np.maximum(ahead - FREE_MM / 2.0, 0.0) / shape.cell_mm[axis]).astype(np.int64)
        end[axis] = np.clip(end[axis] + (step if sense > 0.0 else -step), 0, shape.tops_mm.shape[axis] - 1)
        free = stem[end[0], end[1]] < level
        found.append(
            _Sites(
                axis=axis, sense=sense, level_mm=float(level), i=i[free], j=j[free], low_mm=low[free],
                high_mm=high[free], floor_mm=np.zeros(int(free.sum())),
            )
        )  # fmt: skip
    return found


def _spare_mm(sites: _Sites, right: Posed, body: Posed, probe: Probe, doubt: Doubt) -> Floats:
    """(sites,) by how much the body's reading lies farther from the right one's than all doubt together."""
    x, y = (places_mm(right.shape, k)[index] for k, index in enumerate((sites.i, sites.j)))
    shape = body.shape
    own = [
        np.clip(np.floor((at - shape.low_mm[k]) / shape.cell_mm[k]).astype(np.int64), 0, shape.tops_mm.shape[k] - 1)
        for k, at in enumerate((x, y))
    ]
    low, high = (v[own[0], own[1]] for v in shape.above_mm(ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm()))
    sure = doubt.sure_mm()
    if sites.axis == 2:
        low, high = np.maximum(low, sites.floor_mm), np.maximum(high, sites.floor_mm)
        off = np.maximum(low - sites.high_mm, sites.low_mm - high)
        vary = doubt.of(right, 2, sites.low_mm) + doubt.of(body, 2, np.where(off > 0.0, (low + high) / 2.0, low))
        return np.minimum(off, MOST_MM) - sure - vary
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


def _touch(sites: _Sites, at: int, right: Posed, probe: Probe, doubt: Doubt, count: int, spare: float) -> Touch:
    x, y = (float(places_mm(right.shape, k)[index[at]]) for k, index in enumerate((sites.i, sites.j)))
    low, high = float(sites.low_mm[at]), float(sites.high_mm[at])
    radius = probe.ball_mm / 2.0
    vary = float(doubt.of(right, sites.axis, np.array([sites.sense * (low + radius) if sites.axis < 2 else low]))[0])
    alarm = doubt.probe_mm + SLOP_MM + vary
    if sites.axis == 2:
        is_air = bool(high <= float(sites.floor_mm[at]) + 1e-9)
        above = float(np.max(right.shape.tops_mm)) + 5.0
        return Touch(
            from_mm=triple(np.round([x, y, above], 3)), direction=(0.0, 0.0, -1.0), expect_low_mm=round(low, 3),
            expect_high_mm=round(high, 3), is_air=is_air, alarm_mm=round(alarm, 3), catches_count=count,
            least_mm=round(spare, 3),
        )  # fmt: skip
    ends = sorted((sites.sense * low, sites.sense * high))
    direction = [0.0, 0.0, 0.0]
    direction[sites.axis] = sites.sense
    return Touch(
        from_mm=triple(np.round([x, y, sites.level_mm], 3)), direction=triple(direction),
        expect_low_mm=round(ends[0], 3), expect_high_mm=round(ends[1], 3), is_air=False, alarm_mm=round(alarm, 3),
        catches_count=count, least_mm=round(spare, 3),
    )  # fmt: skip


def _highest(shape: Shape, radius: float) -> Floats:
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


def _thinned(i: NDArray[np.int64], j: NDArray[np.int64], shape: Shape) -> NDArray[np.int64]:
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
