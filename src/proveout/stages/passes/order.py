"""Passes of a clamping in working order: what must come before what, then few cutter changes, then short ways."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.moves import Moves
from proveout.model.work import PassKind, Tilt
from proveout.stages.passes.changes import Group, fewest_changes
from proveout.stages.passes.task import Laid
from proveout.stages.passes.visiting import short_way_in_turn

RANKS: dict[PassKind, int] = {
    "face": 0, "rough": 0, "rough corners": 0,
    "bore": 1, "ream": 1, "tap": 1, "mill thread": 1, "finish wall": 1, "finish floor": 1, "finish surface": 1,
    "undercut": 1, "break edge": 2,
}  # fmt: skip
"""Roughing comes before what is left at its size, and that before edges are broken; common practice, no source. What is
not named, drilling above all, only keeps off the metal of others."""
CHORD_MM = 0.02
"""Chords of arcs where only their place is asked."""
BESIDE_MM = 0.1
"""Passes that lie no farther from each other than this count as meeting."""


class Made(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A pass as laid, with its moves, at its tilt.   top_mm: of the work before the first pass of the tilt."""

    laid: Laid
    moves: Moves
    tilt: Tilt
    top_mm: float


class _Ground(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Where a pass goes, seen along the cutter.

    line: every way below the height of rapid moves, box: about it.   cut_mm: how far from it metal is cut.
    body_mm: how far from it cutter, shank or holder may meet metal.
    """

    line: Any
    box: NDArray[np.float64]
    cut_mm: float
    body_mm: float


def in_order(made: Sequence[Made]) -> list[Made]:
    """The passes of one clamping, tilt after tilt as they were laid, in the order in which they are to run.

    A pass laid on the work that an earlier one left stays behind it wherever either could meet metal that the other
    takes away; so each finds the metal that it was laid for.
    """
    tilts = list(dict.fromkeys(one.tilt.id for one in made))
    groups = [[one for one in made if one.tilt.id == tilt] for tilt in tilts]
    nets = [Group(cutters=tuple(m.laid.cutter.id for m in group), before=_before(group)) for group in groups]
    ordered: list[Made] = []
    for group, net, runs in zip(groups, nets, fewest_changes(nets), strict=True):
        for run in runs:
            ordered.extend(group[run[k]] for k in _short_way([group[k] for k in run], _within(run, net.before)))
    return ordered


def _before(group: Sequence[Made]) -> tuple[int, ...]:
    """Of each pass, as bits, which of those laid before it must stay before it."""
    grounds: list[_Ground | None] = [None] * len(group)
    found = [0] * len(group)
    for k, one in enumerate(group):
        for j in range(k):
            if found[k] >> j & 1:
                continue
            if _is_first(group[j].laid.kind, one.laid.kind) or _meet(group, grounds, j, k):
                found[k] |= 1 << j | found[j]
    return tuple(found)


def _is_first(one: PassKind, other: PassKind) -> bool:
    """By the kind of work alone."""
    return one in RANKS and other in RANKS and RANKS[one] < RANKS[other]


def _meet(group: Sequence[Made], grounds: list[_Ground | None], j: int, k: int) -> bool:
    import shapely

    one, other = (grounds[n] or _ground(group[n]) for n in (j, k))
    grounds[j], grounds[k] = one, other
    reach = max(one.cut_mm + other.body_mm, one.body_mm + other.cut_mm) + BESIDE_MM
    apart = np.maximum(one.box[:2] - other.box[2:], other.box[:2] - one.box[2:])
    return bool(apart.max() <= reach and shapely.dwithin(one.line, other.line, reach))


def _ground(one: Made) -> _Ground:
    import shapely

    cutter, points = one.laid.cutter, one.moves.straight(within_mm=CHORD_MM).points
    low = float(points[:, 2].min())
    radius = cutter.diameter_mm / 2.0
    body = radius
    if low + cutter.shank_from_mm < one.top_mm:
        body = max(body, cutter.shank_diameter_mm / 2.0)
    if cutter.holder_length_mm > 0.0 and low + cutter.stick_out_mm < one.top_mm:
        body = max(body, cutter.holder_diameter_mm / 2.0)
    is_down = np.minimum(points[:-1, 2], points[1:, 2]) < one.laid.track.clear_mm - 1e-6
    runs = np.split(np.flatnonzero(is_down), np.flatnonzero(np.diff(np.flatnonzero(is_down)) > 1) + 1)
    line = shapely.GeometryCollection([_run(points[run[0] : run[-1] + 2, :2]) for run in runs if len(run)])
    shapely.prepare(line)
    return _Ground(line=line, box=shapely.bounds(line), cut_mm=radius, body_mm=body)


def _run(places: NDArray[np.float64]) -> Any:
    """One way without the places that lie on it all the same; a point where it goes straight up or down."""
    import shapely

    if np.ptp(places, axis=0).max() < CHORD_MM:
        return shapely.Point(places[0])
    return shapely.LineString(places).simplify(CHORD_MM, preserve_topology=False)


def _within(run: Sequence[int], before: Sequence[int]) -> list[int]:
    """What must come before what inside a run, as bits of its own places."""
    return [sum(1 << place for place, j in enumerate(run) if before[k] >> j & 1) for k in run]


def _short_way(run: Sequence[Made], before: Sequence[int]) -> list[int]:
    starts: NDArray[np.float64] = np.array([one.moves.points[0, :2] for one in run])
    ends: NDArray[np.float64] = np.array([one.moves.points[-1, :2] for one in run])
    return short_way_in_turn(starts, ends, before)
