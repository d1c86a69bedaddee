"""Moves of a pass in pieces short enough to be measured one by one, arcs kept as arcs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.arcs import chorded
from proveout.geometry.frames import Frame
from proveout.model.cutter import Piece
from proveout.model.moves import Moves
from proveout.removal.arcs import cut_arcs
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut, overlap_mm

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
BODY_CHORD_MM = 0.002
"""Shank and holder are looked for along chords of an arc; a touch counts from ten times this."""


@dataclass(frozen=True)
class Legs:
    """Pieces of moves in the tilt's frame.

    starts_mm, ends_mm: (n, 3).   centres_mm: (n, 2).   turns_rad: (n,) signed, 0 of a straight one.   feeds: (n,) mm/s,
    0 for a rapid one.   owner: (n,) move that each is a piece of: 0 for the one that ends at the second point.
    """

    frame: Frame
    starts_mm: Floats
    ends_mm: Floats
    centres_mm: Floats
    turns_rad: Floats
    feeds: Floats
    owner: Integers

    def __len__(self) -> int:
        return len(self.feeds)

    def of(self, rows: Integers | slice) -> Legs:
        """Some of them."""
        return Legs(
            frame=self.frame, starts_mm=self.starts_mm[rows], ends_mm=self.ends_mm[rows],
            centres_mm=self.centres_mm[rows], turns_rad=self.turns_rad[rows], feeds=self.feeds[rows],
            owner=self.owner[rows],
        )  # fmt: skip

    @property
    def axis(self) -> Floats:
        """The cutter's axis in the part frame."""
        return np.array(self.frame.z)

    @property
    def lengths_mm(self) -> Floats:
        """(n,) way of the tip."""
        straight = np.linalg.norm(self.ends_mm - self.starts_mm, axis=1)
        radius = np.hypot(*(self.starts_mm[:, :2] - self.centres_mm).T)
        bent = np.hypot(radius * self.turns_rad, self.ends_mm[:, 2] - self.starts_mm[:, 2])
        return np.where(self.turns_rad == 0.0, straight, bent)

    @property
    def drops_mm(self) -> Floats:
        """(n,) how far the tip goes down."""
        return np.asarray(self.starts_mm[:, 2] - self.ends_mm[:, 2])

    def chords(self) -> tuple[Floats, Floats, Integers]:
        """Starts and ends (m, 3) in the part frame of straight lines along them, and the leg that each belongs to."""
        if not self.turns_rad.any():
            return self.frame.out_of(self.starts_mm), self.frame.out_of(self.ends_mm), np.arange(len(self))
        pairs = np.stack([self.starts_mm, self.ends_mm], axis=1).reshape(-1, 3)
        centres = np.repeat(self.centres_mm, 2, axis=0)
        turns = np.column_stack([np.zeros(len(self)), self.turns_rad]).ravel()
        points, owner = chorded(pairs, centres, turns, within_mm=BODY_CHORD_MM)
        points = self.frame.out_of(points)
        ends = np.flatnonzero(owner % 2 == 1)
        return points[ends - 1], points[ends], owner[ends] // 2

    def overlap_mm(self, fields: Fields, pieces: Sequence[Piece]) -> Floats:
        """(n,) longest metal that pieces share with the fields on each."""
        starts, ends, owner = self.chords()
        found = np.zeros(len(self))
        np.maximum.at(found, owner, overlap_mm(fields, pieces=pieces, axis=self.axis, starts_mm=starts, ends_mm=ends))
        return found

    def cut(self, fields: Fields, pieces: Sequence[Piece]) -> Floats:
        """(n, 3) mm3 taken by each in the three fields, which are cut in place."""
        starts, ends = self.frame.out_of(self.starts_mm), self.frame.out_of(self.ends_mm)
        if not self.turns_rad.any():
            return cut(fields, pieces=pieces, axis=self.axis, starts_mm=starts, ends_mm=ends)
        centres = self.frame.out_of(np.column_stack([self.centres_mm, self.starts_mm[:, 2]]))
        return cut_arcs(
            fields, pieces=pieces, axis=self.axis, starts_mm=starts, ends_mm=ends, centres_mm=centres,
            turns=np.sign(self.turns_rad).astype(np.int64),
        )  # fmt: skip


def legs_of(moves: Moves, frame: Frame, *, most_mm: float) -> Legs:
    """The moves of a pass, feed moves divided evenly into pieces of at most a length."""
    starts, ends = moves.points[:-1], moves.points[1:]
    centres, turns, feeds = moves.centres_mm[1:], moves.turns_rad[1:], moves.feed_mm_per_s[1:]
    counts = np.where(feeds > 0.0, np.maximum(1, np.ceil(moves.lengths_mm / most_mm - 1e-9)), 1).astype(np.int64)
    owner = np.repeat(np.arange(len(starts)), counts)
    step = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    share = (step + 1) / counts[owner]
    way = ends - starts
    stops = starts[owner] + share[:, None] * way[owner]
    bent = np.flatnonzero(turns[owner] != 0.0)
    arm = starts[owner[bent], :2] - centres[owner[bent]]
    angle = np.arctan2(arm[:, 1], arm[:, 0]) + share[bent] * turns[owner[bent]]
    radius = np.hypot(*arm.T)
    stops[bent, :2] = centres[owner[bent]] + radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    is_last = step + 1 == counts[owner]
    stops[is_last] = ends[owner[is_last]]
    begins = np.vstack([starts[:1], stops[:-1]])
    begins[step == 0] = starts[owner[step == 0]]
    return Legs(
        frame=frame, starts_mm=begins, ends_mm=stops, centres_mm=centres[owner],
        turns_rad=turns[owner] / counts[owner], feeds=feeds[owner], owner=owner,
    )  # fmt: skip
