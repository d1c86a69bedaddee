"""Find how one set of marked surfaces lies in another: the rigid motions that lay most of the first on the second."""

from __future__ import annotations

from itertools import combinations
from typing import Any, NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
# the finest that a file's numbers are to be trusted: coordinates, and areas as a share of themselves
NEAR_MM, NEAR_RATIO, NEAR_RAD = 2e-3, 1e-4, 1e-5
# anchors beyond this many are not tried: each is three marks, the rarest first
ANCHORS_MAX = 60
CANDIDATES_MAX = 4000
PARTNERS_MAX = 40


class Marks(NamedTuple):
    """Surfaces as arrays, one row each.

    labels: kind and side, as text.   sizes: radii and angles that belong to the kind (n, 2).   areas: mm2.
    points: centroid (n, 3) mm.   origins: a point on the surface or its axis (n, 3) mm.   axes: unit (n, 3), or zero.
    signed: the axis has a sense of its own; otherwise only its line counts.
    """

    labels: NDArray[np.str_]
    sizes: Array
    areas: Array
    points: Array
    origins: Array
    axes: Array
    signed: NDArray[np.bool_]


class Motion(NamedTuple):
    """A turn (3, 3), right-handed, and then a shift (3,) in mm: new = turn @ old + shift."""

    turn: Array
    shift: Array

    @property
    def is_still(self) -> bool:
        """Nothing moves by more than the numbers of a file are to be trusted."""
        return bool(np.allclose(self.turn, np.eye(3), atol=NEAR_RAD) and np.all(np.abs(self.shift) < NEAR_MM))


class Matched(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """The best motions, all equally good. pairs: of each, the row of `new` by row of `old`, -1 for none."""

    motions: tuple[Motion, ...]
    pairs: tuple[NDArray[np.int64], ...]

    @property
    def count(self) -> int:
        """How many surfaces lie on their partners."""
        return int((self.pairs[0] >= 0).sum()) if self.pairs else 0


def matched(old: Marks, new: Marks) -> Matched:
    """All rigid motions under which most surfaces of `old` lie exactly on surfaces of `new`; no mirror images.

    Anchors are three surfaces of which few alike stand in `new`; every way of laying them on three alike is tried.
    """
    alike = _alike(old, new)
    best: list[tuple[Motion, NDArray[np.int64]]] = []
    best_count = 0
    tried: set[tuple[int, ...]] = set()
    for anchor in _anchors(old, alike):
        for motion in _layings(old, new, alike, anchor):
            key = _key(motion)
            if key in tried:
                continue
            tried.add(key)
            found = _fitted(old, new, alike, motion)
            count = int((found[1] >= 0).sum())
            if count > best_count:
                best, best_count = [], count
            is_new = not any(np.array_equal(found[1], pairs) for _, pairs in best)
            if count == best_count and is_new and count >= min(3, len(old.areas)):
                best.append(found)
        if best_count == len(old.areas):
            break
    best.sort(key=lambda pair: (-round(float(np.trace(pair[0].turn)), 6), _key(pair[0])))
    return Matched(motions=tuple(m for m, _ in best), pairs=tuple(p for _, p in best))


def mirrored(marks: Marks) -> Marks:
    """The mirror image of the surfaces, in the plane x = 0."""
    mirror = np.array([-1.0, 1.0, 1.0])
    return marks._replace(points=marks.points * mirror, origins=marks.origins * mirror, axes=marks.axes * mirror)


def _alike(old: Marks, new: Marks) -> NDArray[np.bool_]:
    """(n, m) which could be the same face moved: kind, sizes and area agree."""
    same = old.labels[:, None] == new.labels[None, :]
    same &= np.all(np.abs(old.sizes[:, None, :] - new.sizes[None, :, :]) <= NEAR_MM, axis=2)
    larger = np.maximum(old.areas[:, None], new.areas[None, :])
    return same & (np.abs(old.areas[:, None] - new.areas[None, :]) <= NEAR_RATIO * larger)


def _anchors(old: Marks, alike: NDArray[np.bool_]) -> list[tuple[int, ...]]:
    """Threes that fix a motion, the rarest and widest first; twos where all middles lie on one line."""
    partners = alike.sum(axis=1)
    usable = [int(i) for i in np.argsort(partners, kind="stable") if 0 < partners[i] <= PARTNERS_MAX]
    found: list[tuple[int, ...]] = []
    spread = float(np.ptp(old.points, axis=0).max()) if len(old.points) else 0.0
    least = max(20.0 * NEAR_MM, 0.02 * spread)
    for a, b, c in combinations(usable[:24], 3):
        sides = old.points[[b, c]] - old.points[a]
        off = float(np.linalg.norm(np.cross(sides[0], sides[1])))
        if off > least * max(float(np.linalg.norm(sides[0])), least):
            found.append((a, b, c))
    if not found:
        found = [
            (a, b)
            for a, b in combinations(usable[:24], 2)
            if float(np.linalg.norm(old.points[b] - old.points[a])) > least
        ]
    ways = {three: int(np.prod([partners[i] for i in three])) for three in found}
    found.sort(key=lambda three: (ways[three], three))
    # a moved face spoils every anchor that holds it: no face stands in many of them
    kept: list[tuple[int, ...]] = []
    used: dict[int, int] = {}
    for three in found:
        if all(used.get(i, 0) < max(3, ANCHORS_MAX // 12) for i in three) and ways[three] <= 50 * CANDIDATES_MAX:
            kept.append(three)
            for i in three:
                used[i] = used.get(i, 0) + 1
        if len(kept) >= ANCHORS_MAX:
            break
    return kept


def _layings(old: Marks, new: Marks, alike: NDArray[np.bool_], anchor: tuple[int, ...]) -> list[Motion]:
    """Motions that lay the anchor on three (or two) surfaces of `new` that are alike and as far apart."""
    spots = [np.flatnonzero(alike[i]) for i in anchor]
    apart = {(i, j): float(np.linalg.norm(old.points[anchor[i]] - old.points[anchor[j]]))
             for i, j in combinations(range(len(anchor)), 2)}  # fmt: skip
    found: list[Motion] = []
    for first in spots[0]:
        to_first = np.linalg.norm(new.points - new.points[first], axis=1)
        seconds = [j for j in spots[1] if abs(to_first[j] - apart[0, 1]) <= 2.0 * NEAR_MM]
        for second in seconds:
            if len(anchor) == 2:
                found += _about_line(old, new, anchor, (int(first), int(second)))
                continue
            to_second = np.linalg.norm(new.points - new.points[second], axis=1)
            for third in spots[2]:
                if (
                    abs(to_first[third] - apart[0, 2]) <= 2.0 * NEAR_MM
                    and abs(to_second[third] - apart[1, 2]) <= 2.0 * NEAR_MM
                ):
                    found.append(_motion(old.points[list(anchor)], new.points[[first, second, third]]))
            if len(found) > CANDIDATES_MAX:
                return found
    return found


def _motion(old: Array, new: Array) -> Motion:
    """The one right-handed motion from a triangle to its like, by their own frames."""
    turn = _frame(new).T @ _frame(old)
    return Motion(turn, new.mean(axis=0) - turn @ old.mean(axis=0))


def _frame(corners: Array) -> Array:
    x = _unit(corners[1] - corners[0])
    z = _unit(np.cross(x, corners[2] - corners[0]))
    return np.array([x, np.cross(z, x), z], dtype=np.float64)


def _unit(vector: Any) -> Array:
    return np.asarray(vector, dtype=np.float64) / float(np.linalg.norm(vector))


def _about_line(old: Marks, new: Marks, anchor: tuple[int, ...], to: tuple[int, int]) -> list[Motion]:
    """Motions of a round part, any turn about its own line being as good as another: the least one."""
    a, b = old.points[list(anchor)]
    c, d = new.points[list(to)]
    turn = _turn_between(_unit(b - a), _unit(d - c))
    return [Motion(turn, c - turn @ a)]


def _turn_between(start: Array, end: Array) -> Array:
    """The least turn from one unit direction to another."""
    cross, cosine = np.cross(start, end), float(start @ end)
    if cosine < -1.0 + 1e-12:
        aside = np.eye(3)[int(np.argmin(np.abs(start)))]
        axis = _unit(np.cross(start, aside))
        return np.asarray(2.0 * np.outer(axis, axis) - np.eye(3), dtype=np.float64)
    x, y, z = (float(value) for value in cross)
    skew: Array = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]], dtype=np.float64)
    return np.eye(3) + skew + skew @ skew / (1.0 + cosine)


def _fitted(
    old: Marks, new: Marks, alike: NDArray[np.bool_], motion: Motion
) -> tuple[Motion, NDArray[np.int64]]:  # fmt: skip
    """The motion and its pairs, once it was fitted to all that its three anchors let it find."""
    pairs = _pairs(old, new, alike, motion)
    if int((pairs >= 0).sum()) > 3:
        motion = _refined(old, new, pairs, motion)
        pairs = _pairs(old, new, alike, motion)
    return motion, pairs


def _refined(old: Marks, new: Marks, pairs: NDArray[np.int64], motion: Motion) -> Motion:
    """The motion that fits all pairs best, by least squares of their middles; as it was where they lie on one line."""
    from scipy.spatial.transform import Rotation

    rows = np.flatnonzero(pairs >= 0)
    here, there = old.points[rows], new.points[pairs[rows]]
    middle, to = here.mean(axis=0), there.mean(axis=0)
    if np.linalg.matrix_rank(here - middle, tol=NEAR_MM) < 2:
        return motion
    turn = Rotation.align_vectors(there - to, here - middle)[0].as_matrix()
    return Motion(turn, to - turn @ middle)


def _key(motion: Motion) -> tuple[int, ...]:
    return (
        *(int(v) for v in np.round(motion.turn.ravel() / 1e-3)),
        *(int(v) for v in np.round(motion.shift / (20.0 * NEAR_MM))),
    )


def _pairs(old: Marks, new: Marks, alike: NDArray[np.bool_], motion: Motion) -> NDArray[np.int64]:
    """Row of `new` that each row of `old` comes to lie on exactly, -1 for none; no row of `new` twice."""
    points = old.points @ motion.turn.T + motion.shift
    axes = old.axes @ motion.turn.T
    near = np.linalg.norm(points[:, None, :] - new.points[None, :, :], axis=2)
    fits = alike & (near <= NEAR_MM) & _same_axes(axes, new.axes, old.signed)
    pairs = np.full(len(points), -1, np.int64)
    taken = np.zeros(len(new.points), np.bool_)
    for i in range(len(points)):
        spots = np.flatnonzero(fits[i] & ~taken)
        if len(spots):
            pairs[i] = spots[int(np.argmin(near[i, spots]))]
            taken[pairs[i]] = True
    return pairs


def _same_axes(axes: Array, others: Array, signed: NDArray[np.bool_]) -> NDArray[np.bool_]:
    with_sign = np.linalg.norm(axes[:, None, :] - others[None, :, :], axis=2)
    against = np.linalg.norm(axes[:, None, :] + others[None, :, :], axis=2)
    apart = np.where(signed[:, None], with_sign, np.minimum(with_sign, against))
    return apart <= 10.0 * NEAR_RAD


def pairs_under(old: Marks, new: Marks, motion: Motion) -> NDArray[np.int64]:
    """Row of `new` that each row of `old` comes to lie on exactly under one motion, -1 for none."""
    return _pairs(old, new, _alike(old, new), motion)


def on_surface(old: Marks, row: int, new: Marks, motion: Motion) -> NDArray[np.int64]:
    """Rows of `new` that lie on the unbounded surface of one row of `old` once it is moved, whatever their outline."""
    axis = motion.turn @ old.axes[row]
    origin = motion.turn @ old.origins[row] + motion.shift
    fits = (old.labels[row] == new.labels) & np.all(np.abs(old.sizes[row] - new.sizes) <= NEAR_MM, axis=1)
    fits &= _same_axes(axis[None, :], new.axes, old.signed[row : row + 1])[0]
    offsets: Any = new.origins - origin
    along = offsets @ axis
    kind = str(old.labels[row]).split(" ", 1)[0]
    if kind == "plane":
        fits &= np.abs(along) <= NEAR_MM
    elif kind == "cylinder":
        fits &= np.linalg.norm(offsets - along[:, None] * axis, axis=1) <= NEAR_MM
    elif kind == "other":
        fits &= False
    else:
        fits &= np.linalg.norm(offsets, axis=1) <= NEAR_MM
    return np.flatnonzero(fits)
