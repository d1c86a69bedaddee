"""The moves of a pass: straight ones, and arcs and helices about the cutter's axis."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.arcs import chorded, turns_rad
from proveout.quantities.canonical import digest_of_array
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
LEFT, STRAIGHT, RIGHT = 1, 0, -1
BOX_CHORD_MM = 0.001
"""Chords of an arc where only how far it goes is asked."""


class Moves(msgspec.Struct, frozen=True, kw_only=True):
    """One pass's moves as arrays, in the tilt's frame, mm and mm/s.

    points: (n, 3) float64, the tip; the cutter stands at points[0] before the first move.
    feed_mm_per_s: (n,) float64, of the move that ends at that point; 0 means rapid (and for points[0]).
    arcs: (n, 3) float64 of the move that ends at that point: 1 when it turns left about the tilt's z as seen from
    above, -1 right, 0 when it is straight; and x and y from its start to its centre. z rises evenly. An arc that ends
    over its start is a whole turn; none has more. (0, 3) when all moves are straight.
    """

    points: Floats
    feed_mm_per_s: Floats
    arcs: Floats = msgspec.field(default_factory=lambda: np.zeros((0, 3)))

    def __post_init__(self) -> None:
        count = len(self.points)
        if self.points.ndim != 2 or self.points.shape[1] != 3 or self.feed_mm_per_s.shape != (count,):
            raise OutOfRange("Moves need (n, 3) points and (n,) feeds", value=str(self.points.shape))
        if self.arcs.shape not in ((0, 3), (count, 3)):
            raise OutOfRange("Moves need (n, 3) arcs, or none", value=str(self.arcs.shape))
        if len(self.arcs) and not np.isin(self.arcs[:, 0], (LEFT, STRAIGHT, RIGHT)).all():
            raise OutOfRange("An arc turns by 1 left, by -1 right", value=str(np.unique(self.arcs[:, 0])))
        for array in (self.points, self.feed_mm_per_s, self.arcs):
            array.setflags(write=False)

    @property
    def digest(self) -> str:
        """Names the moves' side file."""
        return digest_of_array(self.table)

    @property
    def table(self) -> Floats:
        """(n, 7) points, feeds and arcs, as in the side file."""
        arcs = self.arcs if len(self.arcs) else np.zeros((len(self.points), 3))
        return np.column_stack([self.points, self.feed_mm_per_s, arcs])

    @classmethod
    def of_table(cls, rows: Floats) -> Moves:
        """The moves of a side file's table (n, 7)."""
        if rows.ndim != 2 or rows.shape[1] != 7:
            raise OutOfRange("A table of moves has seven columns", value=str(rows.shape))
        arcs = rows[:, 4:] if rows[:, 4].any() else np.zeros((0, 3))
        return cls(
            points=np.ascontiguousarray(rows[:, :3]), feed_mm_per_s=np.ascontiguousarray(rows[:, 3]),
            arcs=np.ascontiguousarray(arcs),
        )  # fmt: skip

    @property
    def senses(self) -> NDArray[np.int64]:
        """(n,) 1 for a left turn, -1 for a right one, 0 for a straight move."""
        return self.arcs[:, 0].astype(np.int64) if len(self.arcs) else np.zeros(len(self.points), dtype=np.int64)

    @property
    def offsets_mm(self) -> Floats:
        """(n, 2) from the start of each arc to its centre, 0 for a straight move."""
        return self.arcs[:, 1:] if len(self.arcs) else np.zeros((len(self.points), 2))

    @property
    def centres_mm(self) -> Floats:
        """(n, 2) centre of each arc; of a straight move its start."""
        starts = np.vstack([self.points[:1, :2], self.points[:-1, :2]])
        return starts + self.offsets_mm

    @property
    def turns_rad(self) -> Floats:
        """(n,) signed turn of each arc, against the clock positive; 0 of a straight move."""
        if not len(self.arcs):
            return np.zeros(len(self.points))
        starts = np.vstack([self.points[:1], self.points[:-1]])
        return turns_rad(starts[:, :2], self.points[:, :2], self.centres_mm, self.senses)

    @property
    def lengths_mm(self) -> Floats:
        """(n - 1,) way of the tip of each move."""
        straight = np.linalg.norm(np.diff(self.points, axis=0), axis=1)
        if not len(self.arcs):
            return straight
        level = np.hypot(self.arcs[1:, 1], self.arcs[1:, 2]) * self.turns_rad[1:]
        return np.where(self.senses[1:] == STRAIGHT, straight, np.hypot(level, np.diff(self.points[:, 2])))

    def straight(self, *, within_mm: float) -> Moves:
        """The same ways by straight moves alone: chords that leave an arc by at most a distance."""
        return self if not len(self.arcs) else self.divided(within_mm=within_mm)[0]

    def divided(self, *, within_mm: float) -> tuple[Moves, NDArray[np.int64]]:
        """Straight moves, and (m,) the move of this that each belongs to."""
        if not len(self.arcs):
            return self, np.arange(len(self.points))
        points, owner = chorded(self.points, self.centres_mm, self.turns_rad, within_mm=within_mm)
        return Moves(points=points, feed_mm_per_s=self.feed_mm_per_s[owner]), owner
