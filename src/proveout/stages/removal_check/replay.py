"""The replay itself: moves taken as they are, in order, by an engine that knows nothing of what was meant."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.cutter import Piece
from proveout.model.shop import Cutter, Vise, body_pieces, cutting_pieces
from proveout.model.work import Clamping, Moves, Pass, PassCut
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut, overlap_mm

WINDOW_MM = 3.0
TOUCH_MM = 0.02
# a thread stands in the solid as its hole: its flanks go beyond it on purpose and are not in the replay
THREAD_KINDS = ("tap", "mill thread")
JAW_PITCH_MM = 0.5
JAW_DEPTH_MM = 40.0


def replay_pass(
    fields: Fields, *, one: Pass, moves: Moves, frame: Frame, cutter: Cutter
) -> tuple[PassCut, NDArray[np.float64]]:
    """Take one pass out of the fields (in place).

    Returns:  what was measured, and the volume removed by each of the three fields (3,) mm3.
    """
    cutting, body = cutting_pieces(cutter), body_pieces(cutter)
    axis = np.array(frame.z)
    points = frame.out_of(moves.points)
    starts, ends = points[:-1], points[1:]
    rapid = moves.feed_mm_per_s[1:] <= 0.0
    removed = np.zeros((len(starts), 3))
    rapid_mm, body_mm = 0.0, 0.0
    for first, last in _runs(rapid):
        s, e = starts[first:last], ends[first:last]
        if rapid[first]:
            rapid_mm = max(rapid_mm, _most(fields, cutting, axis, s, e))
        elif one.kind not in THREAD_KINDS:
            removed[first:last] = cut(fields, pieces=cutting, axis=axis, starts_mm=s, ends_mm=e)
        if body:
            body_mm = max(body_mm, _most(fields, body, axis, s, e))
    lengths = np.linalg.norm(ends - starts, axis=1)
    sections = _sections(np.median(removed, axis=1)[~rapid], lengths[~rapid])
    cut_result = PassCut(
        pass_id=one.id, removed_mm3=float(np.median(removed.sum(axis=0))),
        section_max_mm2=float(sections.max()) if len(sections) else 0.0,
        section_p95_mm2=float(np.quantile(sections, 0.95)) if len(sections) else 0.0,
        rapid_mm=rapid_mm, body_mm=body_mm, low_mm=float(moves.points[:, 2].min()),
        high_mm=float(moves.points[:, 2].max()),
    )  # fmt: skip
    return cut_result, removed.sum(axis=0)


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


def _sections(removed_mm3: NDArray[np.float64], lengths_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Cut section over stretches of at least WINDOW_MM of path, mm2."""
    if len(lengths_mm) == 0 or lengths_mm.sum() <= 0.0:
        return np.zeros(0)
    path = np.cumsum(lengths_mm)
    count = max(1, int(path[-1] / WINDOW_MM))
    owner = np.minimum((path - 1e-9) / (path[-1] / count), count - 1).astype(int)
    volume = np.bincount(owner, weights=removed_mm3, minlength=count)
    length = np.bincount(owner, weights=lengths_mm, minlength=count)
    return np.asarray(volume[length > 0.0] / length[length > 0.0])


def jaw_strikes(
    *, clamping: Clamping, vise: Vise, passes: Sequence[tuple[Pass, Moves, Cutter, Frame]]
) -> tuple[str, ...]:
    """Passes in which cutter, shank or holder meets a jaw, as sentences; worked out in the clamping's frame."""
    middle = clamping.jaw_middle_mm
    struck: list[str] = []
    for name, span in (
        ("fixed jaw", (0.0, JAW_DEPTH_MM)),
        ("moving jaw", (-clamping.gap_mm - JAW_DEPTH_MM, -clamping.gap_mm)),
    ):
        low = np.array([middle - vise.jaw_length_mm / 2.0, span[0], -vise.jaw_height_mm])
        high = np.array([middle + vise.jaw_length_mm / 2.0, span[1], clamping.jaw_top_mm])
        jaw = Fields.from_box(low_mm=low, high_mm=high, pitch_mm=JAW_PITCH_MM)
        for one, moves, cutter, frame in passes:
            points = clamping.frame.into(frame.out_of(moves.points))
            axis = clamping.frame.turn @ np.array(frame.z)
            axis = axis / np.linalg.norm(axis)
            pieces = (*cutting_pieces(cutter), *body_pieces(cutter))
            depth = overlap_mm(jaw, pieces=pieces, axis=axis, starts_mm=points[:-1], ends_mm=points[1:])
            if len(depth) and float(depth.max()) > TOUCH_MM:
                at = int(np.argmax(depth))
                struck.append(f"{one.id}: {name} met over {float(depth.max()):.2f} mm at move {at + 1}")
    return tuple(struck)
