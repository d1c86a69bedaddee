"""Which move left a place as it is: the first one whose cutter comes there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.cutter import Piece
from proveout.model.cutter_pieces import cutting_pieces
from proveout.model.moves import BOX_CHORD_MM, Moves
from proveout.model.proof import MoveAt
from proveout.model.shop import Cutter
from proveout.model.work import Pass

Floats = NDArray[np.float64]
NEAREST_MM = 0.002
THIRDS = 45


def first_touch(
    point_mm: Floats, *, pieces: Sequence[Piece], axis: Floats, starts_mm: Floats, ends_mm: Floats
) -> int | None:
    """The first of straight moves whose cutter comes to a point of the surface that was left; None when none does.

    Formula:  the distance from a point to a convex cutter that moves straight is convex along the move: its least is
              found by a search between thirds.  Within NEAREST_MM it counts as there.
    Args:     point_mm: (3,).   pieces: the cutter's edges.   axis: (3,), from the tip to the spindle.
              starts_mm, ends_mm: (n, 3) of the tip, all in one frame.
    """
    rows = np.flatnonzero(_least_mm(point_mm, pieces, axis, starts_mm, ends_mm) < NEAREST_MM)
    return int(rows[0]) if len(rows) else None


def move_at(point_mm: Floats, passes: Sequence[tuple[Pass, Moves, Cutter, Frame]]) -> MoveAt | None:
    """The first move at feed of the first pass that comes to a point (3,) of the part frame; None when none does."""
    for one, moves, cutter, frame in passes:
        straight, owner = moves.divided(within_mm=BOX_CHORD_MM)
        at_feed = np.flatnonzero(straight.feed_mm_per_s[1:] > 0.0)
        found = first_touch(
            frame.into(point_mm[None, :])[0], pieces=cutting_pieces(cutter), axis=np.array([0.0, 0.0, 1.0]),
            starts_mm=straight.points[:-1][at_feed], ends_mm=straight.points[1:][at_feed],
        )  # fmt: skip
        if found is not None:
            return MoveAt(pass_id=one.id, row=int(owner[at_feed[found] + 1]))
    return None


def _least_mm(point: Floats, pieces: Sequence[Piece], axis: Floats, starts_mm: Floats, ends_mm: Floats) -> Floats:
    """(n,) least distance from a point to the cutter along each move; infinite for those far off."""
    from_start, way = starts_mm - point, ends_mm - starts_mm
    wide = max(max(p.r_low_mm, p.r_high_mm) for p in pieces) + NEAREST_MM
    # square to the axis nothing of the cutter reaches farther than its radius
    across = from_start - np.outer(from_start @ axis, axis)
    flat = way - np.outer(way @ axis, axis)
    length2 = np.maximum((flat * flat).sum(axis=1), 1e-18)
    share = np.clip(-(across * flat).sum(axis=1) / length2, 0.0, 1.0)
    near = np.flatnonzero(np.linalg.norm(across + share[:, None] * flat, axis=1) <= wide)
    least = np.full(len(from_start), np.inf)
    for piece in pieces:
        low, high = np.zeros(len(near)), np.ones(len(near))
        for _ in range(THIRDS):
            one, two = low + (high - low) / 3.0, high - (high - low) / 3.0
            lower = _away_mm(piece, from_start[near], way[near], one, axis) <= _away_mm(
                piece, from_start[near], way[near], two, axis
            )
            high, low = np.where(lower, two, high), np.where(lower, low, one)
        least[near] = np.minimum(least[near], _away_mm(piece, from_start[near], way[near], 0.5 * (low + high), axis))
    return least


def _away_mm(
    piece: Piece, from_start: Floats, way: Floats, share: Floats,
    axis: Floats,
) -> Floats:  # fmt: skip
    """How far the point lies outside a piece at a share of each move, 0 inside."""
    at = from_start + share[:, None] * way
    along = -(at @ axis)
    aside = np.linalg.norm(at + along[:, None] * axis, axis=1)
    if piece.kind != "frustum":
        middle = 0.5 * (piece.z_low_mm + piece.z_high_mm)
        flat = piece.r_low_mm if piece.kind == "round corner" else 0.0
        return np.maximum(np.hypot(along - middle, np.maximum(aside - flat, 0.0)) - piece.corner_mm, 0.0)
    height = np.clip((along - piece.z_low_mm) / (piece.z_high_mm - piece.z_low_mm), 0.0, 1.0)
    radius = piece.r_low_mm + height * (piece.r_high_mm - piece.r_low_mm)
    over = np.maximum(np.maximum(piece.z_low_mm - along, along - piece.z_high_mm), 0.0)
    return np.hypot(np.maximum(aside - radius, 0.0), over)
