"""The same moves by booleans of solids in three ways, each on a growing beginning of a program, and their fits.

Every move is the hull of two copies of the whole cutter, which is convex: one hull a move favours the baseline.
Facets lie within a tenth of the pitch of the true cutter. Hulls are counted in: they are part of the way.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

import manifold3d
import numpy as np
from moves import HIGH, Chain, first_moves

from proveout.model.cutter import Piece

BATCH = 64
FIRST_PREFIX = 25


def sides(radius: float, within: float) -> int:
    """Corners of a circle whose sides stay within so much of it."""
    return max(8, math.ceil(math.pi / math.acos(max(-1.0, 1.0 - within / radius))))


def outline_points(pieces: Sequence[Piece], within: float) -> np.ndarray:
    """Points (n, 3) about z whose hull lies within so much of the cutter; of two roundings each has half of it."""
    levels: list[tuple[float, float]] = []
    for piece in pieces:
        if piece.kind == "frustum":
            levels += [(piece.z_low_mm, piece.r_low_mm), (piece.z_high_mm, piece.r_high_mm)]
            continue
        ring = piece.r_low_mm if piece.kind == "round corner" else 0.0
        rise = np.linspace(0.0, 0.5 * math.pi, sides(piece.corner_mm, 0.5 * within) // 4 + 2)
        middle = 0.5 * (piece.z_low_mm + piece.z_high_mm)
        levels += [(middle - piece.corner_mm * math.cos(a), ring + piece.corner_mm * math.sin(a)) for a in rise]
    is_round = any(piece.kind != "frustum" for piece in pieces)
    count = sides(max(r for _, r in levels), 0.5 * within if is_round else within)
    turn = 2.0 * math.pi * np.arange(count) / count
    return np.vstack([np.column_stack([r * np.cos(turn), r * np.sin(turn), 0.0 * turn + z]) for z, r in levels])


def hulls(chains: Sequence[Chain], within: float) -> Iterator[manifold3d.Manifold]:
    """The sweep of each move, in order."""
    for chain in chains:
        across = np.cross(np.eye(3)[int(np.abs(chain.axis).argmin())], chain.axis)
        across /= np.linalg.norm(across)
        frame = np.array([across, np.cross(chain.axis, across), chain.axis])
        shape = outline_points(chain.pieces, within) @ frame
        for start, end in zip(chain.starts, chain.ends, strict=True):
            yield manifold3d.Manifold.hull_points(np.vstack([shape + start, shape + end]))


def sequential(chains: Sequence[Chain], within: float) -> float:
    """One sweep after the other taken off; volume left."""
    work = manifold3d.Manifold.cube(HIGH)
    for hull in hulls(chains, within):
        work -= hull
        work.num_tri()  # otherwise the library gathers them up
    return work.volume()


def batched(chains: Sequence[Chain], within: float) -> float:
    """Sixty-four sweeps at a time taken off; volume left."""
    work = manifold3d.Manifold.cube(HIGH)
    found = hulls(chains, within)
    while some := list(islice(found, BATCH)):
        work = manifold3d.Manifold.batch_boolean([work, *some], manifold3d.OpType.Subtract)
        work.num_tri()
    return work.volume()


def union_tree(chains: Sequence[Chain], within: float) -> float:
    """All sweeps joined two by two, then four by four and so on, and taken off at once; volume left."""
    level = list(hulls(chains, within))
    while len(level) > 1:
        level = [level[at] + level[at + 1] if at + 1 < len(level) else level[at] for at in range(0, len(level), 2)]
        for one in level:
            one.num_tri()
    return (manifold3d.Manifold.cube(HIGH) - level[0]).volume()


STRATEGIES: dict[str, Callable[[Sequence[Chain], float], float]] = {
    "sequential": sequential,
    "batched": batched,
    "union_tree": union_tree,
}


@dataclass(frozen=True, kw_only=True)
class Fit:
    """Seconds = factor * moves ** exponent, from the longest prefixes that were run; and the last volume left.

    An exponent below 1 is taken as 1, with the mean of the same prefixes.
    """

    factor: float
    exponent: float
    prefixes: list[int]
    seconds: list[float]
    left_mm3: float

    def seconds_of(self, moves: int) -> float:
        """What the whole program would take."""
        return float(self.factor * moves**self.exponent)


def grow(strategy: str, chains: Sequence[Chain], *, within: float, cap_s: float) -> Fit:
    """Runs a strategy on prefixes that double until the next would pass the cap of time."""
    prefixes: list[int] = []
    seconds: list[float] = []
    left, moves, total = 0.0, FIRST_PREFIX, sum(len(chain.starts) for chain in chains)
    STRATEGIES[strategy](first_moves(chains, 2), within)
    while moves <= total and (len(seconds) < 2 or sum(seconds) + 2.2 * seconds[-1] < cap_s):
        some = first_moves(chains, moves)
        begin = time.perf_counter()
        left = STRATEGIES[strategy](some, within)
        seconds.append(time.perf_counter() - begin)
        prefixes.append(moves)
        moves *= 2
    last = slice(-3, None)
    exponent, factor = np.polyfit(np.log(prefixes[last]), np.log(seconds[last]), 1)
    if exponent < 1.0:
        # a fit through noise: each move has its own hull to build, whatever the work is like
        exponent, factor = 1.0, float(np.mean(np.log(seconds[last]) - np.log(prefixes[last])))
    return Fit(factor=math.exp(factor), exponent=float(exponent), prefixes=prefixes, seconds=seconds, left_mm3=left)
