"""What the shop offers, and what each way of looking at the work reaches past strip and jaws, worked out once."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from proveout.model.choice_of_clampings import Grip
from proveout.model.fact import Fact
from proveout.model.recall import NOTHING_KEPT, Recall
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.work import Access, Survey, Vector
from proveout.quantities.canonical import digest_of
from proveout.quantities.units import S_PER_H
from proveout.stages.clampings.covering import PER_FACE, Obstacle, Samples, reached_from

MAKES_SHARE = 0.03
REST_SHARE = 0.12
DONE_SHARE = 0.5

Bools = NDArray[np.bool_]


@dataclass
class Shopfloor:
    """The slice of the shop that clampings read."""

    machines: tuple[Machine, ...]
    vises: tuple[Vise, ...]
    jaws: tuple[Jaws, ...]
    cutters: tuple[Cutter, ...]
    quantity: int
    load_s: Fact

    def held_each(self, machine: Machine) -> float:
        """Money a piece for one clamping on a machine at the least: its set-up shared out, and the quickest load."""
        return (machine.setup_s / max(1, self.quantity) + self.load_s.low) * machine.rate_per_h / S_PER_H

    def jaws_each(self, jaws: Jaws, machine: Machine) -> float:
        """Money a piece for jaws made for the part, a pair a clamping: their plates and the time on the mill.

        The time is the owner's: the passes of their pocket follow from the clamping that is
        chosen here and are counted later.
        """
        if jaws.make_s <= 0.0:
            return 0.0
        return (jaws.price + jaws.make_s * machine.rate_per_h / S_PER_H) / max(1, self.quantity)


@dataclass
class Cover:
    """Remembers what each way of looking reaches, so that it is worked out once.  bought: faces that nobody makes.

    recall: where each look is kept beyond this choice. It hangs on solid, target, survey and cutters alone, so that
    other money, another quantity or a pin does not have it looked at again.
    """

    solid: Solid
    target: Target
    survey: Survey
    samples: Samples
    floor: Shopfloor
    run: Run
    access: dict[tuple[str, Vector], Access] = field(default_factory=dict)
    memory: dict[tuple[object, ...], Bools] = field(default_factory=dict)
    grips: dict[tuple[object, ...], tuple[Grip, ...]] = field(default_factory=dict)
    bought: frozenset[str] = frozenset()
    recall: Recall = NOTHING_KEPT

    @property
    def given(self) -> Bools:
        """Samples of faces that stay as bought: nobody makes them."""
        rows = np.array([face.id in self.bought for face in self.solid.faces], dtype=np.bool_)
        return np.asarray(rows[self.samples.face], dtype=np.bool_)

    def bare(self, direction: Vector) -> Bools:
        """Samples reached along a direction when only the part itself is in the way."""
        return self._reached(("bare", direction), direction, ())

    def tilted(self, direction: Vector, key: tuple[object, ...], obstacles: tuple[Obstacle, ...]) -> Bools:
        """Samples reached along a direction with strip and jaws in the way."""
        return self._reached((*key, direction), direction, obstacles)

    def _reached(self, key: tuple[object, ...], direction: Vector, obstacles: tuple[Obstacle, ...]) -> Bools:
        if key not in self.memory:
            self.run.check("clampings", f"looking from side {len(self.memory) + 1}")
            reached, access = self.recall.get(
                "clampings look", self._look, of=self.looked_at, direction=direction,
                corners=tuple(one.corners for one in obstacles),
            )  # fmt: skip
            self.memory[key] = reached
            for a in access:
                old = self.access.get((a.face_id, direction))
                if old is None or a.reached_ratio > old.reached_ratio:
                    self.access[(a.face_id, direction)] = a
        return self.memory[key]

    @cached_property
    def looked_at(self) -> str:
        """Digest of all that a look receives beside its direction and what holds the part."""
        return digest_of((self.solid, self.target, self.survey, self.floor.cutters))

    def _look(
        self, *, of: str, direction: Vector, corners: tuple[NDArray[np.float64], ...]  # noqa: ARG002 - names the rest
    ) -> tuple[Bools, list[Access]]:  # fmt: skip
        return reached_from(
            direction, target=self.target, samples=self.samples, obstacles=tuple(map(Obstacle, corners)),
            cutters=self.floor.cutters, solid=self.solid, run=self.run,
        )  # fmt: skip


def face_shares(cover: Cover, mask: Bools) -> NDArray[np.float64]:
    """(f,) share of each face's samples in the mask."""
    return np.bincount(cover.samples.face[mask], minlength=len(cover.solid.faces)) / float(PER_FACE)


def unfinished(cover: Cover, done: Bools, coverable: Bools) -> Bools:
    """(f,) faces still to be made: half of them not reached, or a rest that another side would reach.

    A rest below REST_SHARE is a corner strip or the map's own noise and is not worth another clamping; the replay says
    later what was really left there.
    """
    rest = face_shares(cover, coverable & ~done)
    return np.asarray((face_shares(cover, done) < DONE_SHARE) | (rest > REST_SHARE))


def made_ids(cover: Cover, mask: Bools) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Faces and holes that a mask of samples stands for."""
    shares = face_shares(cover, mask)
    faces = tuple(sorted(cover.solid.faces[i].id for i in np.flatnonzero(shares > MAKES_SHARE)))
    holes = tuple(
        sorted(
            {cover.samples.hole_of[int(i)].id for i in np.flatnonzero(shares > 0.5) if int(i) in cover.samples.hole_of}
        )
    )
    return faces, holes
