"""What became of the faces of one solid in another, told by their geometry alone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.rigid_match import (
    NEAR_MM,
    NEAR_RAD,
    Marks,
    Motion,
    matched,
    mirrored,
    on_surface,
    pairs_under,
)
from proveout.model.revision import FaceChange, FaceFate, SolidChange
from proveout.model.signature import FaceSign, marks_of, pieces_of, signs_of
from proveout.model.solid import Solid
from proveout.model.work import Survey

LEAST_RATIO = 0.5
"""A solid on which fewer of the planned surfaces are found, whatever their borders, is taken for another part."""
SAME_AREA_RATIO = 0.25
"""A surface that moved is known again while its area is within so much of what it was."""
STILL = Motion(np.eye(3), np.zeros(3))
RANKS: dict[FaceFate, int] = {"outline": 0, "resized": 1, "moved": 2, "new": 3, "gone": 4}


class _Side(NamedTuple):
    """One solid: its pieces of surface as faces and as marks."""

    pieces: tuple[tuple[FaceSign, ...], ...]
    marks: Marks


class _Guess(NamedTuple):
    """An old piece and what it may have become; sorted so that the likeliest comes first."""

    rank: int
    by_mm: float
    old: int
    new: int
    fate: FaceFate


def solid_change(old: Solid, old_survey: Survey, new: Solid, new_survey: Survey) -> SolidChange:
    """Every piece of surface that is gone, new or otherwise; nothing of what lies exactly where it lay.

    The whole solid may lie elsewhere in its file: the motion is found that lays most of it on the new one, a solid that
    stays where it was before any other. Pieces without a partner are then paired by surface, axis, size and place.
    """
    before, after = _side(old, old_survey), _side(new, new_survey)
    found = matched(before.marks, after.marks)
    ways = [(STILL, _pairs_at_rest(before, after)), *zip(found.motions, found.pairs, strict=True)]
    kin = [_kin_count(before.marks, after.marks, motion, pairs) for motion, pairs in ways]
    at = max(range(len(ways)), key=lambda k: (int((ways[k][1] >= 0).sum()) + kin[k], -k))
    motion, pairs = ways[at]
    why = _why_other(before, after, kin_count=kin[at])
    same_count = int((pairs >= 0).sum())
    if why:
        return SolidChange(faces=(), same_count=same_count, why_other=why)
    partners = {k: int(j) for k, j in enumerate(pairs) if j >= 0}
    changes = tuple(_changes(before, after, motion, partners, reach_mm=_diagonal_mm(old)))
    return SolidChange(
        faces=changes, same_count=same_count, moved_mm=_moved_mm(motion), turned_rad=_turned_rad(motion),
        choices_count=1 if motion.is_still else len(found.motions),
    )  # fmt: skip


def _pairs_at_rest(before: _Side, after: _Side) -> NDArray[np.int64]:
    """Partners of a solid that lies where it lay."""
    return pairs_under(before.marks, after.marks, STILL)


def _kin_count(old: Marks, new: Marks, motion: Motion, pairs: NDArray[np.int64]) -> int:
    """How many old surfaces carry something of the new solid, whatever its borders.

    A free form is no surface that goes on beyond its borders: it is known by its partner alone.
    """
    return sum(pairs[k] >= 0 or bool(len(on_surface(old, k, new, motion))) for k in range(len(old.areas)))


def _side(solid: Solid, survey: Survey) -> _Side:
    pieces = pieces_of(signs_of(solid, survey))
    return _Side(pieces, marks_of(pieces))


def _why_other(before: _Side, after: _Side, *, kin_count: int) -> str:
    if kin_count < len(before.pieces) and matched(mirrored(before.marks), after.marks).count > kin_count:
        return "it is a mirror image of the planned solid, which is another part"
    if kin_count < LEAST_RATIO * len(before.pieces):
        return f"only {kin_count} of the planned solid's {len(before.pieces)} surfaces are found on it"
    return ""


def _changes(
    before: _Side, after: _Side, motion: Motion, partners: dict[int, int], *, reach_mm: float
) -> Iterator[FaceChange]:
    """Old pieces in their order, then the new ones."""
    claimed = set(partners.values())
    lost = [k for k in range(len(before.pieces)) if k not in partners]
    free = [j for j in range(len(after.pieces)) if j not in claimed]
    fates: dict[int, _Guess] = {}
    taken: set[int] = set()
    for guess in sorted(_guesses(before.marks, after.marks, motion, lost, free, reach_mm)):
        if guess.old not in fates and guess.new not in taken:
            fates[guess.old] = guess
            taken.add(guess.new)
    for k in lost:
        guess = fates.get(k)
        if guess is None:
            yield _change("gone", before, k, None, None)
        else:
            yield _change(guess.fate, before, k, after, guess.new, by_mm=guess.by_mm)
    for j in free:
        if j not in taken:
            yield _change("new", None, None, after, j)


def _guesses(
    old: Marks, new: Marks, motion: Motion, lost: list[int], free: list[int], reach_mm: float
) -> Iterator[_Guess]:  # fmt: skip
    """What each lost piece may have become among the free ones."""
    for k in lost:
        same = set(on_surface(old, k, new, motion).tolist())
        point = motion.turn @ old.points[k] + motion.shift
        origin = motion.turn @ old.origins[k] + motion.shift
        axis = motion.turn @ old.axes[k]
        for j in free:
            by_mm = float(np.linalg.norm(new.points[j] - point))
            if j in same:
                yield _Guess(RANKS["outline"], by_mm, k, j, "outline")
            elif old.labels[k] == new.labels[j] and _is_parallel(axis, new.axes[j]):
                is_sized = bool(np.all(np.abs(old.sizes[k] - new.sizes[j]) <= NEAR_MM))
                off = new.origins[j] - origin
                beside = float(np.linalg.norm(off - (off @ axis) * axis))
                if not is_sized and beside <= NEAR_MM and str(old.labels[k]) != "plane":
                    yield _Guess(RANKS["resized"], by_mm, k, j, "resized")
                elif is_sized and by_mm <= reach_mm and _is_alike(old.areas[k], new.areas[j]):
                    yield _Guess(RANKS["moved"], by_mm, k, j, "moved")


def _is_parallel(one: np.ndarray, other: np.ndarray) -> bool:
    near = 10.0 * NEAR_RAD
    return bool(np.linalg.norm(one - other) <= near or np.linalg.norm(one + other) <= near)


def _is_alike(one: float, other: float) -> bool:
    return abs(one - other) <= SAME_AREA_RATIO * max(one, other)


def _change(
    fate: FaceFate, before: _Side | None, k: int | None, after: _Side | None, j: int | None, *, by_mm: float = 0.0
) -> FaceChange:  # fmt: skip
    old_ids, old_size, old_mm2 = _told(before, k)
    new_ids, new_size, new_mm2 = _told(after, j)
    return FaceChange(
        fate=fate, old_ids=old_ids, new_ids=new_ids, by_mm=round(by_mm, 6) if fate == "moved" else 0.0,
        old_size=old_size, new_size=new_size, old_mm2=old_mm2, new_mm2=new_mm2,
    )  # fmt: skip


def _told(side: _Side | None, at: int | None) -> tuple[tuple[str, ...], float, float]:
    """Ids, first size and area of a piece."""
    if side is None or at is None:
        return (), 0.0, 0.0
    ids = tuple(sorted(sign.id for sign in side.pieces[at]))
    return ids, float(side.marks.sizes[at][0]), float(side.marks.areas[at])


def _diagonal_mm(solid: Solid) -> float:
    return math.dist(solid.low_mm, solid.high_mm)


def _moved_mm(motion: Motion) -> float:
    return 0.0 if motion.is_still else float(np.linalg.norm(motion.shift))


def _turned_rad(motion: Motion) -> float:
    cosine = 0.5 * (float(np.trace(motion.turn)) - 1.0)
    return 0.0 if motion.is_still else math.acos(max(-1.0, min(1.0, cosine)))
