"""The replay itself: moves taken as they are, in order, by an engine that knows nothing of what was meant."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.checking import Obstacle
from proveout.model.cutter import Piece
from proveout.model.shop import Cutter, Machine, Vise, body_pieces, cutting_pieces
from proveout.model.work import Clamping, Moves, Pass, PassCut, work_zero_mm
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut, overlap_mm
from proveout.stages.removal_check.bodies import TOUCH_MM, Body, bodies_about
from proveout.stages.removal_check.near import Skyline

# a cut section is the mean over a stretch of path: a quarter of the cutter's diameter, within these bounds. Long moves
# are divided, so that air at their ends or a thin web in their middle does not water the section down
WINDOW_LEAST_MM, WINDOW_MOST_MM = 1.0, 3.0
# moves with less than this share of the largest section do not count for the feed: even at three times the feed they
# push with an eighth of the largest force
SLIGHT_RATIO = 0.05
STEEP_RATIO = 0.7
# a thread stands in the solid as its hole: its flanks go beyond it on purpose and are not in the replay
THREAD_KINDS = ("tap", "mill thread")


@dataclass(frozen=True)
class Strike:
    """A pass that meets a body: its name, a sentence, and whether the body is known to stand there."""

    body: str
    what: str
    is_sure: bool


def replay_pass(
    fields: Fields, *, one: Pass, moves: Moves, frame: Frame, cutter: Cutter
) -> tuple[PassCut, NDArray[np.float64]]:
    """Take one pass out of the fields (in place).

    Returns:  what was measured, and the volume removed by each of the three fields (3,) mm3.
    """
    cutting, body = cutting_pieces(cutter), body_pieces(cutter)
    axis = np.array(frame.z)
    window = max(WINDOW_LEAST_MM, min(WINDOW_MOST_MM, cutter.diameter_mm / 4.0))
    starts, ends, feeds = _divided(frame.out_of(moves.points), moves.feed_mm_per_s, window_mm=window)
    rapid = feeds <= 0.0
    removed = np.zeros((len(starts), 3))
    rapid_mm, body_mm = 0.0, 0.0
    # what this pass cuts still stands in the skyline: it names some moves too many, never one too few
    skyline = Skyline(fields, axis)
    body_near = skyline.near(body, starts, ends)
    near = body_near | skyline.near(cutting, starts, ends)
    for first, last in _runs(rapid):
        rows = first + np.flatnonzero(near[first:last])
        if len(rows) == 0:
            continue
        s, e = starts[rows], ends[rows]
        if rapid[first]:
            rapid_mm = max(rapid_mm, _most(fields, cutting, axis, s, e))
        edges = cutting if not rapid[first] and one.kind not in THREAD_KINDS else ()
        met, removed[rows] = _cut_and_watch(fields, edges, body, axis, s, e, body_near=body_near[rows])
        body_mm = max(body_mm, met)
    lengths = np.linalg.norm(ends - starts, axis=1)
    each = np.median(removed, axis=1)
    # a plunge cuts with the end, not with the side: its section says nothing of an engagement
    sideways = ~rapid & ((starts - ends) @ axis <= STEEP_RATIO * lengths)
    sections = _sections(each[sideways], lengths[sideways], window_mm=window)
    most = float(sections.max()) if len(sections) else 0.0
    meets = (each > SLIGHT_RATIO * most * lengths) & (each > 0.0) & ~rapid
    down = ~rapid & ((starts - ends) @ axis > STEEP_RATIO * lengths)
    plunged = _sections(each[down], lengths[down], window_mm=window)
    turns_per_s = one.speed_rad_per_s / (2.0 * np.pi)
    tooth_feed = float(feeds[meets].max()) / (turns_per_s * max(cutter.flutes_count, 1)) if meets.any() else 0.0
    cut_result = PassCut(
        pass_id=one.id, removed_mm3=float(np.median(removed.sum(axis=0))),
        section_max_mm2=most,
        section_p95_mm2=float(np.quantile(sections, 0.95)) if len(sections) else 0.0,
        rapid_mm=rapid_mm, body_mm=body_mm, low_mm=float(moves.points[:, 2].min()),
        high_mm=float(moves.points[:, 2].max()), tooth_feed_max_mm=tooth_feed,
        plunge_max_mm2=float(plunged.max()) if len(plunged) else 0.0,
    )  # fmt: skip
    return cut_result, removed.sum(axis=0)


def _divided(
    points: NDArray[np.float64], feed_mm_per_s: NDArray[np.float64], *, window_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Starts (n, 3), ends (n, 3) and feeds (n,) of the moves, feed moves divided into parts of at most the window."""
    starts, ends, feeds = points[:-1], points[1:], feed_mm_per_s[1:]
    lengths = np.linalg.norm(ends - starts, axis=1)
    counts = np.where(feeds > 0.0, np.maximum(1, np.ceil(lengths / window_mm - 1e-9)), 1).astype(np.int64)
    owner = np.repeat(np.arange(len(starts)), counts)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    low, high = (step / counts[owner])[:, None], ((step + 1) / counts[owner])[:, None]
    way = ends - starts
    divided_ends = np.where(high < 1.0, starts[owner] + high * way[owner], ends[owner])
    return starts[owner] + low * way[owner], divided_ends, feeds[owner]


def _cut_and_watch(
    fields: Fields, edges: Sequence[Piece], body: Sequence[Piece], axis: NDArray[np.float64],
    s: NDArray[np.float64], e: NDArray[np.float64], *, body_near: NDArray[np.bool_],
) -> tuple[float, NDArray[np.float64]]:  # fmt: skip
    """Cuts a run of moves; returns the longest metal that shank and holder meet, and what each move removed (n, 3).

    Metal that stands when the body comes by counts, though a later move of the run may take it away: where the body
    would meet the metal of before the run, the moves are taken one by one.   body_near: (n,) where it may meet any.
    """
    removed = np.zeros((len(s), 3))
    depths = np.zeros(len(s))
    if body_near.any():
        depths[body_near] = overlap_mm(fields, pieces=body, axis=axis, starts_mm=s[body_near], ends_mm=e[body_near])
    if not edges:
        return float(depths.max()), removed
    met, done = 0.0, 0
    for at in np.flatnonzero(depths > TOUCH_MM).tolist():
        removed[done : at + 1] = cut(
            fields, pieces=edges, axis=axis, starts_mm=s[done : at + 1], ends_mm=e[done : at + 1]
        )
        met = max(met, _most(fields, body, axis, s[at : at + 1], e[at : at + 1]))
        done = at + 1
    if done < len(s):
        removed[done:] = cut(fields, pieces=edges, axis=axis, starts_mm=s[done:], ends_mm=e[done:])
    return met, removed


def _runs(rapid: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Stretches of moves of one kind, as (first, last + 1)."""
    if len(rapid) == 0:
        return []
    borders = np.flatnonzero(np.diff(rapid.astype(np.int8))) + 1
    edges = [0, *borders.tolist(), len(rapid)]
    return list(itertools.pairwise(edges))


def _most(
    fields: Fields, pieces: Sequence[Piece], axis: NDArray[np.float64], s: NDArray[np.float64], e: NDArray[np.float64]
) -> float:
    return float(overlap_mm(fields, pieces=pieces, axis=axis, starts_mm=s, ends_mm=e).max())


def _sections(
    removed_mm3: NDArray[np.float64], lengths_mm: NDArray[np.float64], *, window_mm: float
) -> NDArray[np.float64]:
    """Cut section of the stretch that begins with each move and is as long as the window at least, mm2."""
    if len(lengths_mm) == 0 or lengths_mm.sum() <= 0.0:
        return np.zeros(0)
    path = np.concatenate([[0.0], np.cumsum(lengths_mm)])
    volume = np.concatenate([[0.0], np.cumsum(removed_mm3)])
    first = np.arange(len(lengths_mm))
    last = np.searchsorted(path, path[:-1] + window_mm - 1e-6)
    # a path shorter than the window, or its last stretch, is taken from its end backward
    last = np.minimum(np.maximum(last, first + 1), len(lengths_mm))
    begin = np.minimum(first, np.maximum(np.searchsorted(path, path[last] - window_mm + 1e-6, side="right") - 1, 0))
    run = path[last] - path[begin]
    return np.asarray((volume[last] - volume[begin])[run > 0.0] / run[run > 0.0])


def bodies_of(clamping: Clamping, vise: Vise, machine: Machine | None) -> tuple[Obstacle, ...]:
    """What the work of a clamping stands in and on, in the clamping's frame."""
    zero_mm = (None, None, None) if vise.stands_mm is None else work_zero_mm(clamping, vise.stands_mm)
    return bodies_about(clamping, vise, machine, zero_mm)


def strikes_of(
    clamping: Clamping, *, bodies: Sequence[Obstacle], machine: Machine | None,
    passes: Sequence[tuple[Pass, Moves, Cutter, Frame]],
) -> tuple[Strike, ...]:  # fmt: skip
    """Passes in which cutter, shank, holder or head meets one of the bodies; these in the clamping's frame."""
    struck: list[Strike] = []
    head = machine.head if machine is not None else None
    for body in (Body(one) for one in bodies):
        for one, moves, cutter, frame in passes:
            points = clamping.frame.into(frame.out_of(moves.points))
            axis = clamping.frame.turn @ np.array(frame.z)
            axis = axis / np.linalg.norm(axis)
            own = (*cutting_pieces(cutter), *body_pieces(cutter))
            for pieces, whose in ((own, ""), (() if head is None else head.pieces(cutter.gauge_mm), " by the head")):
                depth = body.met_mm(pieces, axis, points[:-1], points[1:])
                if len(depth) and float(depth.max()) > TOUCH_MM:
                    at = int(np.argmax(depth))
                    what = f"{one.id}: {body.name} met{whose} {float(depth.max()):.2f} mm deep at move {at + 1}"
                    struck.append(Strike(body=body.name, what=what, is_sure=body.is_sure))
    return tuple(struck)
