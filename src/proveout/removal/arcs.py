"""Cutting by circular moves about the cutter's axis, beside straight ones and in their order.

A level arc of a cutter that stands along a field's axis is swept in closed form (kernels/upright.py): the ring within
its wedge, in parts of at most half a turn, and the cutter at both ends. A helix, and an arc at a slant to the fields,
is followed by chords that stay within CHORD_WITHIN_MM of it. On a circle of 10 mm those are 315 chords; the closed
form takes the same metal in a thirtieth of the time and without their ripple.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from proveout.geometry.arcs import chord_counts
from proveout.model.cutter import Piece
from proveout.model.moves import LEFT, STRAIGHT
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.removal.fields import Fields
from proveout.removal.running import Sweeps, piece_rows, run_sweeps, unit_axis

CHORD_WITHIN_MM = 0.0005
# ends of one arc may lie at radii that differ by the rounding of a program: a hundredth, as programs in inches need
RADII_AGREE_MM = 0.01
LEVEL_MM = 1e-9
NO_ARC = (0.0, 0.0, 0.0, 0.0, 0.0)


def cut_arcs(
    fields: Fields,
    *,
    pieces: Sequence[Piece],
    axis: np.ndarray,
    starts_mm: np.ndarray,
    ends_mm: np.ndarray,
    centres_mm: np.ndarray,
    turns: np.ndarray,
    threads_count: int | None = None,
) -> np.ndarray:
    """Takes the sweeps of a cutter along arcs and straight moves out of the fields, move by move, in place.

    Formula:  as for cut, the path being start + t (end - start) or centre + radius (cos, sin) with the height rising
              evenly; level and upright: {p : distance of p from the arc, seen along the axis, <= radius of the piece}.
    Args:     fields, pieces, axis, threads_count: as for cut.   starts_mm, ends_mm: (n, 3) positions of the tip.
              centres_mm: (n, 3), any height counts; of a straight move anything.   turns: (n,) 1 turns left about the
              axis, -1 right, 0 runs straight. An arc that ends where it started is a whole turn; none has more.
    Returns:  (n, 3) mm3, removed by each move in the fields along x, y, z; >= 0.
    Raises:   BadInput when shapes are wrong, a number is not finite or an arc has no radius; OutOfRange when the ends
              of an arc lie at radii more than 0.01 mm apart.
    Valid:    exact where the arc is level and the axis lies along x, y or z, but for the difference of its two radii
              (the radius at the start is taken); elsewhere within CHORD_WITHIN_MM of the path, on its inner side.
    Source:   own derivation, written out in removal/kernels/upright.py.   Departs: nothing.
    Checked:  tests/removal/test_arcs.py
    """
    unit = unit_axis(axis)
    starts, ends, centres = (np.ascontiguousarray(a, dtype=float) for a in (starts_mm, ends_mm, centres_mm))
    ways = np.asarray(turns, dtype=np.int64)
    if starts.ndim != 2 or starts.shape[1] != 3 or not starts.shape == ends.shape == centres.shape:
        raise BadInput("Arcs need starts, ends and centres of shape (n, 3)", value=f"{starts.shape}, {ends.shape}")
    if ways.shape != (len(starts),) or np.any(np.abs(ways) > 1):
        raise BadInput("Arcs need turns of 1, 0 or -1, one a move", value=str(ways.shape))
    curved = ways != STRAIGHT
    if not (np.all(np.isfinite(starts)) and np.all(np.isfinite(ends)) and np.all(np.isfinite(centres[curved]))):
        raise BadInput("A move has a position that is not a finite number")
    rows = _Rows()
    for move in range(len(starts)):
        if not curved[move]:
            rows.add(move, starts[move], ends[move])
        else:
            _add_arc(rows, move, unit, starts[move], ends[move], centres[move], int(ways[move]))
    sweeps = Sweeps(
        pieces=piece_rows(pieces), axis=unit, starts=np.array(rows.starts).reshape(-1, 3),
        ends=np.array(rows.ends).reshape(-1, 3), arcs=np.array(rows.arcs).reshape(-1, 5),
    )  # fmt: skip
    removed = np.zeros((len(starts), 3))
    np.add.at(removed, np.array(rows.owners, dtype=np.int64), run_sweeps(fields, sweeps, threads_count, cuts=True)[0])
    return removed


@dataclass(kw_only=True)
class _Rows:
    """Rows for the kernels; owners: the move that each belongs to."""

    owners: list[int] = field(default_factory=list)
    starts: list[np.ndarray] = field(default_factory=list)
    ends: list[np.ndarray] = field(default_factory=list)
    arcs: list[tuple[float, float, float, float, float]] = field(default_factory=list)

    def add(
        self, owner: int, start: np.ndarray, end: np.ndarray, arc: tuple[float, float, float, float, float] = NO_ARC
    ) -> None:
        self.owners.append(owner)
        self.starts.append(start)
        self.ends.append(end)
        self.arcs.append(arc)


def _plane(axis: np.ndarray) -> tuple[np.ndarray, np.ndarray, bool]:
    """Two directions square to the axis, turning left about it, and whether it lies along a field.

    Along a field the two are the field's own, turning left about the positive axis.
    """
    c = int(np.argmax(np.abs(axis)))
    one = np.zeros(3)
    one[(c + 1) % 3] = 1.0
    if abs(axis[(c + 1) % 3]) < 1e-12 and abs(axis[(c + 2) % 3]) < 1e-12:
        two = np.zeros(3)
        two[(c + 2) % 3] = 1.0
        return one, two, True
    one -= (one @ axis) * axis
    one /= np.linalg.norm(one)
    return one, np.cross(axis, one), False


def _add_arc(
    rows: _Rows, move: int, axis: np.ndarray, start: np.ndarray, end: np.ndarray, centre: np.ndarray, turn: int
) -> None:
    one, two, along_field = _plane(axis)
    if along_field and axis.sum() < 0.0:
        turn = -turn
    first = np.array([(start - centre) @ one, (start - centre) @ two])
    last = np.array([(end - centre) @ one, (end - centre) @ two])
    radius, radius_end = float(np.hypot(*first)), float(np.hypot(*last))
    if radius <= 0.0:
        raise BadInput("An arc begins at its own centre", where=f"move {move + 1}")
    if abs(radius - radius_end) > RADII_AGREE_MM:
        raise OutOfRange(
            "The ends of an arc lie at different distances from its centre", where=f"move {move + 1}",
            value=f"{radius:.4f} and {radius_end:.4f} mm", limit=f"{RADII_AGREE_MM} mm apart",
        )  # fmt: skip
    begin, stop = math.atan2(first[1], first[0]), math.atan2(last[1], last[0])
    whole = bool(np.hypot(*(last - first)) < LEVEL_MM)
    sweep = 2.0 * math.pi if whole else (turn * (stop - begin)) % (2.0 * math.pi)
    rise = float((end - start) @ axis)
    if along_field and abs(rise) <= LEVEL_MM:
        if not whole:
            rows.add(move, start, start)
            rows.add(move, end, end)
        middle = centre + ((start - centre) @ axis) * axis
        parts = max(1, math.ceil(sweep / math.pi - 1e-12))
        left = begin if turn == LEFT else begin - sweep
        for part in range(parts):
            a, b = left + sweep * part / parts, left + sweep * (part + 1) / parts
            rows.add(move, middle, middle, (radius, math.cos(a), math.sin(a), math.cos(b), math.sin(b)))
        return
    count = int(chord_counts(np.array([radius]), np.array([sweep]), within_mm=CHORD_WITHIN_MM)[0])
    share = np.arange(1, count)[:, None] / count
    angle = begin + turn * sweep * share
    size = radius + (radius_end - radius) * share
    foot = centre + ((start - centre) @ axis) * axis
    inner = foot + size * (np.cos(angle) * one + np.sin(angle) * two) + share * rise * axis
    points = np.vstack([start, inner, end])
    for at in range(count):
        rows.add(move, points[at], points[at + 1])
