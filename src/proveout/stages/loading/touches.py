"""The touches of a probe, three at most, that tell the most wrong loads from the right one."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import triple
from proveout.model.loading import Touch
from proveout.model.shop import Probe
from proveout.stages.loading.narrow import narrow_sites, spare_nearby_mm
from proveout.stages.loading.readings import ALONG, from_side_mm, places_mm
from proveout.stages.loading.sites import (
    ABOVE_JAWS_MM,
    MOST_MM,
    SLOP_MM,
    UNSURE_MM,
    Doubt,
    Posed,
    Sites,
    highest_mm,
    sites_above,
    spare_mm,
    thinned,
)

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
FREE_MM = 0.5
START_MM = (1.0, 3.0)
"""A touch from the side begins so far from where the ball is to touch."""
LEVELS_COUNT = 5
KEPT_MAX, EACH_MAX = 40, 4
"""Touches from the side that are tried on every body: the best of all, and of each that is hard to tell."""
PAIRS_MAX = 2500
UNSEEN_WEIGHT = 1000.0
STEM_RATIO = 0.75
"""A stylus is no thicker than this share of its ball."""


def plan_touches(
    right: Posed, wrong: Sequence[Posed], *, is_seen: Bools, probe: Probe, doubt: Doubt, jaw_top_mm: float
) -> tuple[tuple[Touch, ...], Floats]:
    """One or two touches that tell as many of the wrong bodies from the right one as any two of the places tried.

    A third is added where it tells what those two leave.

    is_seen: (wrong,) what the operator sees anyway; the others come first.
    Returns:  the touches, and (wrong,) how far their readings lie off at least beyond all doubt: above 0 it is told.
    """
    if not wrong:
        return (), np.zeros(0)
    groups = [sites_above(right, probe, doubt, jaw_top_mm)]
    spare = np.vstack([spare_mm(groups[0], right, body, probe, doubt) for body in wrong])
    untold = ~((spare > 0.0).any(axis=1) | is_seen)
    narrow = narrow_sites(
        right, [wrong[int(k)] for k in np.flatnonzero(untold)], probe=probe, doubt=doubt, jaw_top_mm=jaw_top_mm
    )  # fmt: skip
    if len(narrow):
        groups.append(narrow)
        more = [
            (spare_nearby_mm if untold[k] else spare_mm)(narrow, right, body, probe, doubt)
            for k, body in enumerate(wrong)
        ]
        spare = np.hstack([spare, np.vstack(more)])
    if not (spare > 0.0).all(axis=0).any():
        hard = [
            k for k, body in enumerate(wrong) if body.shape.coarse_mm == 0.0 or not bool((spare[k] > 0.0).any())
        ]  # fmt: skip
        beside = _best_beside(right, [wrong[k] for k in hard], probe, doubt, jaw_top_mm)
        for sites in beside:
            groups.append(sites)
            spare = np.hstack([spare, np.vstack([spare_mm(sites, right, body, probe, doubt) for body in wrong])])
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


def _best_beside(right: Posed, hard: Sequence[Posed], probe: Probe, doubt: Doubt, jaw_top: float) -> list[Sites]:
    """Of all touches from the side those that tell the most of the bodies that are hard to tell, by level and sense."""
    if not hard:
        return []
    found: list[tuple[Sites, Floats]] = []
    for axis, sense in ALONG:
        found.extend(
            (sites, np.vstack([spare_mm(sites, right, body, probe, doubt) for body in hard]))
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
    """Columns of one or two places that tell the most rows, then with the largest least spare; perhaps of a third."""
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
    two = [int(best[k]) for k in chosen]
    left = ~told[:, two].any(axis=1)
    more = (weights * left) @ told[:, best]
    # a third touch where two leave something that it tells
    return [*two, int(best[int(np.argmax(more))])] if float(more.max()) > 0.0 else two


def _sites_beside(
    right: Posed, probe: Probe, doubt: Doubt, jaw_top: float, axis: int, sense: float
) -> list[Sites]:  # fmt: skip
    shape, radius = right.shape, probe.ball_mm / 2.0
    top = float(shape.tops_mm.max())
    lowest, highest = jaw_top + ABOVE_JAWS_MM + radius, top - radius / 2.0
    if highest < lowest:
        return []
    around, stem = highest_mm(shape, radius + FREE_MM), highest_mm(shape, STEM_RATIO * radius)
    body = highest_mm(shape, probe.body_mm / 2.0 + START_MM[1])
    starts = sense * places_mm(shape, axis)
    found: list[Sites] = []
    for level in np.linspace(lowest, highest, LEVELS_COUNT):
        clear = (around < level - radius - FREE_MM / 2.0) & (body <= level + probe.stylus_mm - ABOVE_JAWS_MM)
        i, j = (rows.astype(np.int64) for rows in np.nonzero(clear))
        low, high = from_side_mm(
            shape, axis=axis, sense=sense, level_mm=float(level), ball_mm=probe.ball_mm, slop_mm=doubt.aside_mm(),
            i=i, j=j,
        )  # fmt: skip
        ahead = low - starts[(i, j)[axis]]
        near = (ahead >= START_MM[0]) & (ahead <= START_MM[1]) & (high <= low + UNSURE_MM)
        kept = thinned(i[near], j[near], shape)
        i, j = i[near][kept], j[near][kept]
        low, high, ahead = (values[near][kept] for values in (low, high, ahead))
        # the stem above the ball stays clear where the ball touches
        end = [i, j]
        step = np.rint(np.maximum(ahead - FREE_MM / 2.0, 0.0) / shape.cell_mm[axis]).astype(np.int64)
        end[axis] = np.clip(end[axis] + (step if sense > 0.0 else -step), 0, shape.tops_mm.shape[axis] - 1)
        free = stem[end[0], end[1]] < level
        found.append(
            Sites(
                axis=axis, sense=sense, level_mm=float(level), x_mm=places_mm(shape, 0)[i[free]],
                y_mm=places_mm(shape, 1)[j[free]], low_mm=low[free], high_mm=high[free],
                floor_mm=np.zeros(int(free.sum())),
            )
        )  # fmt: skip
    return found


def _touch(sites: Sites, at: int, right: Posed, probe: Probe, doubt: Doubt, count: int, spare: float) -> Touch:
    x, y = float(sites.x_mm[at]), float(sites.y_mm[at])
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
