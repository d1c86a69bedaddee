"""Pieces of other parts of the same order that may lie beside the work: blanks, half-made ones, finished ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.geometry.frames import Frame
from proveout.model.loading import Sister, SisterWork
from proveout.model.work import Blank
from proveout.stages.loading.bodies import Cuts, Stuff, box_mesh, cuts_of

RAW_OF, AFTER_OF, DONE_OF = "the raw blank of", "the work after operation {} of", "a finished piece of"
ALIKE_MM = 1e-6
"""Blanks whose sizes differ by less are of one kind."""


@dataclass(frozen=True, kw_only=True)
class Others:
    """Finished pieces, and what there is of those parts before.   untried: numbers of parts that have no plan.

    bodies: of those with a plan, each as it lies in its own first operation.   finished: of those without.
    """

    bodies: tuple[Stuff, ...]
    finished: tuple[Sister, ...]
    tried: tuple[str, ...]
    untried: tuple[str, ...]

    def laid(self, frame: Frame) -> list[Stuff]:
        """All of them; a part without a plan as its drawing has it, in the frame of a clamping."""
        return [*self.bodies, *(_finished(one, frame) for one in self.finished)]


def others_of(sisters: Sequence[Sister], works: Sequence[SisterWork], untried: Sequence[str], *, own: Blank) -> Others:
    """What may lie about of other parts.

    Args:     sisters: their finished shapes.   works: how they are made.   untried: numbers of those without a plan.
              own: the blank of the work, of which every way of loading is looked at anyway.
    """
    made = {work.number: work for work in reversed(works)}
    bodies = [
        _finished(one, _first(made[one.number]), may_be_marked=made[one.number].is_marked)
        for one in sisters if one.number in made
    ]  # fmt: skip
    for work in works:
        bodies.extend(_half_made(work))
    return Others(
        bodies=(*_raw(works, own), *bodies), finished=tuple(s for s in sisters if s.number not in made),
        tried=tuple(sorted(made)), untried=tuple(sorted(set(untried))),
    )  # fmt: skip


def _first(work: SisterWork) -> Frame:
    return min(work.clampings, key=lambda c: (c.number, c.id)).frame


def _finished(sister: Sister, frame: Frame, *, may_be_marked: bool = False) -> Stuff:
    return Stuff(
        what=DONE_OF, part=sister.number, points_mm=frame.into(sister.vertices_mm),
        triangles=np.asarray(sister.triangles, dtype=np.int64), cuts=(), raw_mm=None,
        may_be_marked=may_be_marked,
    )  # fmt: skip


def _raw(works: Sequence[SisterWork], own: Blank) -> list[Stuff]:
    """One blank of each kind that is not the work's own, named by all parts that are sawn so."""
    kinds: list[tuple[np.ndarray, SisterWork, list[str]]] = []
    mine = _sizes(own)
    for work in works:
        sizes = _sizes(work.blank)
        if np.abs(sizes - mine).max() < ALIKE_MM:
            continue
        numbers = next((names for other, _, names in kinds if np.abs(sizes - other).max() < ALIKE_MM), None)
        if numbers is None:
            kinds.append((sizes, work, [work.number]))
        elif work.number not in numbers:
            numbers.append(work.number)
    return [_blank_of(work, RAW_OF, " and ".join(numbers)) for _, work, numbers in kinds]


def _sizes(blank: Blank) -> np.ndarray:
    return np.sort(np.array(blank.high_mm) - np.array(blank.low_mm))


def _blank_of(work: SisterWork, what: str, part: str) -> Stuff:
    corners, triangles = box_mesh(work.blank.low_mm, work.blank.high_mm)
    corners = _first(work).into(corners)
    raw = np.array([corners.min(axis=0), corners.max(axis=0)])
    return Stuff(
        what=what, part=part, points_mm=corners, triangles=triangles, cuts=(), raw_mm=raw, may_be_marked=work.is_marked
    )


def _half_made(work: SisterWork) -> list[Stuff]:
    """The work after each of its operations but the last, behind which it counts as finished."""
    bare = _blank_of(work, RAW_OF, work.number)
    frames = {(c.id, t.id): t.frame for c in work.clampings for t in c.tilts}
    cutters = {c.id: c for c in work.cutters}
    found: list[Stuff] = []
    gone: tuple[Cuts, ...] = ()
    for one in sorted(work.clampings, key=lambda c: (c.number, c.id))[:-1]:
        gone = (*gone, *cuts_of(work.plan, one.id, frames=frames, cutters=cutters, into=_first(work)))
        found.append(
            Stuff(
                what=AFTER_OF.format(one.number), part=work.number, points_mm=bare.points_mm, triangles=bare.triangles,
                cuts=gone, raw_mm=bare.raw_mm, may_be_marked=work.is_marked,
            )
        )  # fmt: skip
    return found
