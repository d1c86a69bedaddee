"""What might be put into a vise, as metal that can be laid in any pose: a blank less what was cut of it, or a mesh."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import BOX_TRIANGLES, box_corners
from proveout.geometry.frames import Frame
from proveout.model.cutter import Piece
from proveout.model.cutter_pieces import cutting_pieces
from proveout.model.shop import Cutter
from proveout.model.work import PassPlan
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields
from proveout.removal.sweeping import cut

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
CHORD_MM = 0.01
"""Arcs are followed by chords that leave them by at most this."""
MIRROR = np.diag([-1.0, 1.0, 1.0])
UPRIGHT = (2,)
"""Of fields whose cells are asked only by their rays along z."""


@dataclass(frozen=True, kw_only=True)
class Cuts:
    """Feed moves of cutters of one shape along one axis, in one frame: starts_mm, ends_mm (n, 3) of the tip."""

    pieces: tuple[Piece, ...]
    axis: Floats
    starts_mm: Floats
    ends_mm: Floats

    def moved(self, turn: Floats, shift_mm: Floats) -> Cuts:
        """The same cuts elsewhere; turn (3, 3) may mirror."""
        return replace(
            self, axis=turn @ self.axis, starts_mm=self.starts_mm @ turn.T + shift_mm,
            ends_mm=self.ends_mm @ turn.T + shift_mm,
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Stuff:
    """Something that might be put in: a closed mesh in the clamping's frame, less cuts.

    raw_mm: (2, 3) corners of the box whose faces were never cut, None where there are none.   may_be_marked: of another
    part, which may carry a mark of its own.
    """

    what: str
    part: str
    points_mm: Floats
    triangles: Integers
    cuts: tuple[Cuts, ...]
    raw_mm: Floats | None
    mirror_of: Stuff | None = None
    may_be_marked: bool = False

    @property
    def named(self) -> str:
        """What it is, and of which other part."""
        return f"{self.what} {self.part}".strip()

    @property
    def is_mirrored(self) -> bool:
        """Whether it is a left-hand piece."""
        return self.mirror_of is not None

    def mirrored(self, what: str) -> Stuff:
        """Its mirror image, left for right."""
        turn = MIRROR
        raw = None if self.raw_mm is None else np.sort(self.raw_mm @ turn.T, axis=0)
        return Stuff(
            what=what, part=self.part, points_mm=self.points_mm @ turn.T,
            triangles=np.ascontiguousarray(self.triangles[:, ::-1]),
            cuts=tuple(one.moved(turn, np.zeros(3)) for one in self.cuts), raw_mm=raw, mirror_of=self,
        )  # fmt: skip

    def fields(
        self, *, turn: Floats, shift_mm: Floats, low_mm: Floats, high_mm: Floats, pitch_mm: float,
        along: tuple[int, ...] = (0, 1, 2),
    ) -> Fields:  # fmt: skip
        """The metal in a pose, as far as it lies within a box. along: axes of the rays that are true."""
        found = mesh_fields(
            self.points_mm @ turn.T + shift_mm, self.triangles, low_mm=low_mm, high_mm=high_mm, pitch_mm=pitch_mm
        )
        for one in self.cuts:
            take(found, one.moved(turn, shift_mm), along=along)
        return found

    def begins_as(self, other: Stuff) -> bool:
        """Whether the other one, cut further or not, is this one: the same mesh, and its cuts come first among ours."""
        return (
            self.points_mm is other.points_mm and self.triangles is other.triangles
            and len(other.cuts) <= len(self.cuts)
            and all(one is its for one, its in zip(self.cuts, other.cuts, strict=False))
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A body in its own place on two grids; of the coarse one only the rays along z are true."""

    stuff: Stuff
    fine: Fields
    coarse: Fields


def standing(
    stuff: Stuff, known: Sequence[Standing], *, pitch_mm: float, coarse: tuple[Floats, Floats, float]
) -> Standing:
    """A body on a fine grid about it and on a coarse one: low and high corner, and the size of its cells.

    known: others, of which one of the same mesh lies on the same two grids. What begins as one of them is only cut on.
    """
    low, high = stuff.points_mm.min(axis=0), stuff.points_mm.max(axis=0)
    begun = max(
        (one for one in known if stuff.begins_as(one.stuff)), key=lambda one: len(one.stuff.cuts), default=None
    )  # fmt: skip
    if begun is None:
        bare, still = replace(stuff, cuts=()), {"turn": np.eye(3), "shift_mm": np.zeros(3)}
        # a box that ends where the metal ends would have its outermost rays in the faces
        fields = bare.fields(**still, low_mm=low - pitch_mm, high_mm=high + pitch_mm, pitch_mm=pitch_mm)
        cells = bare.fields(**still, low_mm=coarse[0], high_mm=coarse[1], pitch_mm=coarse[2])
        begun = Standing(stuff=bare, fine=fields, coarse=cells)
    found = Standing(stuff=stuff, fine=begun.fine.copy(), coarse=begun.coarse.copy())
    for one in stuff.cuts[len(begun.stuff.cuts) :]:
        take(found.fine, one)
        take(found.coarse, one, along=UPRIGHT)
    return found


def take(fields: Fields, cuts: Cuts, *, along: tuple[int, ...] = (0, 1, 2)) -> None:
    """Takes the sweeps out of the fields, in place; out of those along some axes alone where only they are asked."""
    axis = cuts.axis / np.linalg.norm(cuts.axis)
    cut(fields, pieces=cuts.pieces, axis=axis, starts_mm=cuts.starts_mm, ends_mm=cuts.ends_mm, along=along)


def cuts_of(
    plan: PassPlan, clamping_id: str, *, frames: Mapping[tuple[str, str], Frame], cutters: Mapping[str, Cutter],
    into: Frame,
) -> tuple[Cuts, ...]:  # fmt: skip
    """All feed moves of a clamping's passes in the frame `into`, by cutter and tilt; what is left has no order."""
    groups: dict[tuple[str, str], list[tuple[Floats, Floats]]] = {}
    for one in plan.passes:
        if one.clamping_id != clamping_id:
            continue
        frame = frames[(one.clamping_id, one.tilt_id)]
        moves = plan.moves[one.moves_digest].straight(within_mm=CHORD_MM)
        points = into.into(frame.out_of(moves.points))
        feeding = moves.feed_mm_per_s[1:] > 0.0
        groups.setdefault((one.cutter_id, one.tilt_id), []).append((points[:-1][feeding], points[1:][feeding]))
    found: list[Cuts] = []
    for (cutter_id, tilt_id), runs in sorted(groups.items()):
        starts, ends = (np.vstack([run[k] for run in runs]) for k in range(2))
        if len(starts):
            axis = into.turn @ np.array(frames[(clamping_id, tilt_id)].z)
            found.append(Cuts(pieces=cutting_pieces(cutters[cutter_id]), axis=axis, starts_mm=starts, ends_mm=ends))
    return tuple(found)


def box_mesh(low_mm: Sequence[float] | Floats, high_mm: Sequence[float] | Floats) -> tuple[Floats, Integers]:
    """A box as corners (8, 3) and triangles (12, 3) seen from outside."""
    return box_corners(low_mm, high_mm), BOX_TRIANGLES
