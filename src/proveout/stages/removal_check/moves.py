"""Cut sections along a path, and of every move what of them it has part in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.work import Pass
from proveout.stages.removal_check.legs import Legs

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Windows:
    """One stretch of path for each of n legs, at least as long as a window: legs first to last - 1 of the n.

    sections_mm2: (n,) volume taken along the stretch over its length; 0 of one without length.
    """

    first: Integers
    last: Integers
    sections_mm2: Floats

    def of_each_leg_mm2(self) -> Floats:
        """(n,) the largest section of the stretches that hold each leg; every leg is held by its own."""
        count = len(self.first)
        if count == 0:
            return np.zeros(0)
        legs = np.arange(count)
        # both ends only ever grow, so the stretches that hold a leg lie side by side
        begin = np.searchsorted(self.last, legs, side="right")
        end = np.searchsorted(self.first, legs, side="right")
        pairs = np.column_stack([begin, end]).ravel()
        padded = np.append(self.sections_mm2, 0.0)
        return np.asarray(np.maximum.reduceat(padded, pairs)[::2])


def windows(removed_mm3: Floats, lengths_mm: Floats, *, window_mm: float) -> Windows:
    """The stretches of legs in a row that begin with each leg and are as long as the window at least."""
    if len(lengths_mm) == 0 or lengths_mm.sum() <= 0.0:
        none = np.zeros(0, dtype=np.int64)
        return Windows(first=none, last=none, sections_mm2=np.zeros(0))
    path = np.concatenate([[0.0], np.cumsum(lengths_mm)])
    volume = np.concatenate([[0.0], np.cumsum(removed_mm3)])
    first = np.arange(len(lengths_mm))
    last = np.searchsorted(path, path[:-1] + window_mm - 1e-6)
    # a path shorter than the window, or its last stretch, is taken from its end backward
    last = np.minimum(np.maximum(last, first + 1), len(lengths_mm))
    begin = np.minimum(first, np.maximum(np.searchsorted(path, path[last] - window_mm + 1e-6, side="right") - 1, 0))
    run = path[last] - path[begin]
    taken = volume[last] - volume[begin]
    return Windows(
        first=begin, last=last, sections_mm2=np.divide(taken, run, out=np.zeros(len(run)), where=run > 0.0)
    )  # fmt: skip


def move_cuts(
    one: Pass, moves: Moves, legs: Legs, *, taken: Bools, removed_mm3: Floats, deep_mm: Floats,
    across: tuple[Bools, Windows], down: tuple[Bools, Windows], is_measured: bool,
) -> MoveCuts:  # fmt: skip
    """What was measured of each leg put together for the moves that they are pieces of.

    taken, removed_mm3, deep_mm: (n,) of the legs: whether it met metal, how much it took, how high metal stands there.
    across, down: the legs that go sideways and those that plunge, with their stretches.
    """
    count = len(moves.points) - 1
    found: dict[str, Floats] = {}
    for name, (own, stretches) in (("section", across), ("plunge", down)):
        each = np.zeros(count)
        rows = np.flatnonzero(own)
        if len(stretches.first):
            np.maximum.at(each, legs.owner[rows], stretches.of_each_leg_mm2())
        found[name] = each
    deep, meets = np.zeros(count), np.zeros(count, dtype=bool)
    np.maximum.at(deep, legs.owner, deep_mm)
    meets[legs.owner[taken]] = True
    volume: Floats = np.bincount(legs.owner, weights=removed_mm3, minlength=count).astype(np.float64)
    at = np.flatnonzero(meets)
    heights = moves.points[:, 2]
    unknown = np.full(len(at), np.nan)
    return MoveCuts(
        pass_id=one.id, rows=at + 1, removed_mm3=volume[at], length_mm=moves.lengths_mm[at],
        section_mm2=found["section"][at] if is_measured else unknown,
        plunge_mm2=found["plunge"][at] if is_measured else unknown.copy(), deep_mm=deep[at],
        low_mm=np.minimum(heights[at], heights[at + 1]), high_mm=np.maximum(heights[at], heights[at + 1]),
    )  # fmt: skip
