"""Running moves over the three fields: batches, tiles, threads, and longer lists where a ray needs them."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache

import numpy as np

from proveout.model.cutter import Piece
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.removal.fields import Fields
from proveout.removal.kernels.noting import merge_notes
from proveout.removal.kernels.reach import met_tiles, sweep_rectangles
from proveout.removal.kernels.sweep import BALL, FRUSTUM, ROUND_CORNER
from proveout.removal.kernels.tiles import TILE_SIDE, run_tiles

BATCH_MOVES = 1024  # moves handed to the tiles at a time; bounds the memory of the sums
FEW_MOVES = 8  # below this the threads cost more than they bring
# tiles are dealt out in so many shares, that no thread waits long for the last, but in none of fewer than some
SHARES_A_THREAD, TILES_A_SHARE = 4, 6
KINDS = {"frustum": FRUSTUM, "ball": BALL, "round corner": ROUND_CORNER}
NONE_SEEN = np.zeros((0, 4, 2)), np.zeros((0, 4), dtype=np.int64)


@dataclass(frozen=True, kw_only=True)
class Sweeps:
    """A cutter and its moves as arrays for the kernels.

    pieces: (p, 5) kind, z low, z high, r low, r high. axis: (3,) unit. starts, ends: (n, 3) mm, of an arc both its
    centre. arcs: (n, 5) radius in mm, 0 for a straight move, and the two directions of its wedge; see upright.py.
    """

    pieces: np.ndarray
    axis: np.ndarray
    starts: np.ndarray
    ends: np.ndarray
    arcs: np.ndarray


def piece_rows(pieces: Sequence[Piece]) -> np.ndarray:
    """The outline as numbers for the kernels: (p, 5) kind, z low, z high, r low, r high."""
    if not pieces:
        raise BadInput("A cutter without pieces removes nothing", do="give the outline at least one piece")
    # the last first: the shank takes most of the metal, and less is left for the forms that cost more
    return np.array(
        [
            (KINDS[piece.kind], piece.z_low_mm, piece.z_high_mm, piece.r_low_mm, piece.r_high_mm)
            for piece in reversed(pieces)
        ],
        dtype=float,
    ).reshape(-1, 5)


def unit_axis(axis: np.ndarray) -> np.ndarray:
    """The axis with its length made exactly 1; refuses one that is off by more than 1e-6."""
    given = np.array(axis, dtype=float)
    if given.shape != (3,) or not np.all(np.isfinite(given)):
        raise BadInput("A cutter axis needs three finite numbers", value=str(axis))
    length = math.sqrt(float(given @ given))
    if abs(length - 1.0) > 1e-6:
        raise OutOfRange("A cutter axis must have unit length", value=f"{length}", limit="1")
    return given / length


def straight_sweeps(*, pieces: Sequence[Piece], axis: np.ndarray, starts_mm: np.ndarray, ends_mm: np.ndarray) -> Sweeps:
    """Straight moves as arrays for the kernels; BadInput when shapes are wrong or a number is not finite."""
    unit = unit_axis(axis)
    starts = np.ascontiguousarray(starts_mm, dtype=float)
    ends = np.ascontiguousarray(ends_mm, dtype=float)
    if starts.ndim != 2 or starts.shape[1] != 3 or starts.shape != ends.shape:
        raise BadInput("Moves need starts and ends of shape (n, 3)", value=f"{starts.shape} and {ends.shape}")
    if not (np.all(np.isfinite(starts)) and np.all(np.isfinite(ends))):
        raise BadInput("A move has a position that is not a finite number")
    return Sweeps(pieces=piece_rows(pieces), axis=unit, starts=starts, ends=ends, arcs=np.zeros((len(starts), 5)))


def run_sweeps(
    fields: Fields, sweeps: Sweeps, threads_count: int | None, *, cuts: bool, notes: bool = False,
    along: tuple[int, ...] = (0, 1, 2),
) -> tuple[np.ndarray, np.ndarray]:  # fmt: skip
    """Runs the moves in order on all three fields, or on those `along` some axes alone: none asks another.

    Returns:  (n, 3) mm3 taken by each move, or mm, the longest metal shared; and (3, n, 4, 2) what was noted of each
              field, see kernels/noting.py, without rows where nothing was asked for.
    """
    moves = len(sweeps.starts)
    results = np.zeros((moves, 3))
    seen = np.full((3, moves if notes else 0, 4, 2), -np.inf)
    threads = threads_count if threads_count is not None else min(8, os.cpu_count() or 1)
    if moves < FEW_MOVES:
        threads = 1
    for first in range(0, moves, BATCH_MOVES):
        batch = slice(first, min(first + BATCH_MOVES, moves))
        part = Sweeps(
            pieces=sweeps.pieces, axis=sweeps.axis, starts=sweeps.starts[batch], ends=sweeps.ends[batch],
            arcs=sweeps.arcs[batch],
        )  # fmt: skip
        runs = [_FieldRun(fields, k, part, cuts=cuts, notes=notes) for k in along]
        _run_all(runs, threads)
        for k, run in zip(along, runs, strict=True):
            results[batch, k] = run.lengths_mm() * (fields.cell_area_mm2(k) if cuts else 1.0)
            if notes:
                seen[k, batch] = run.noted()
    return results, seen


@cache
def _pool(threads: int) -> ThreadPoolExecutor:
    """Threads kept between calls: a pass asks thousands of times."""
    return ThreadPoolExecutor(max_workers=threads)


class _FieldRun:
    """One batch on one field: its tiles, how far each has come, and what it has found so far."""

    def __init__(self, fields: Fields, k: int, sweeps: Sweeps, *, cuts: bool, notes: bool) -> None:
        self._fields, self._k, self._sweeps, self._cuts = fields, k, sweeps, cuts
        rays_u, rays_v = fields.rays_uv(k)
        moves, pieces = len(sweeps.starts), len(sweeps.pieces)
        self._grid = fields.grid_mm(k)
        self._shifts = fields.ray_shifts_mm(k)
        self._rectangles = np.empty((moves, pieces, 4), dtype=np.int64)
        self._reaches = np.empty((moves, pieces, 2))
        self._strips = np.empty((moves, pieces, 4))
        sweep_rectangles(
            sweeps.pieces, sweeps.axis, sweeps.starts, sweeps.ends, sweeps.arcs, k, self._grid, rays_u, rays_v,
            self._rectangles, self._reaches, self._strips,
        )  # fmt: skip
        self._tiles = met_tiles(self._rectangles, -(-rays_u // TILE_SIDE), -(-rays_v // TILE_SIDE), TILE_SIDE)
        self._lengths = np.zeros((self._tiles.size, moves))
        self._resume = np.zeros(self._tiles.size, dtype=np.int64)
        self._notes: list[tuple[np.ndarray, np.ndarray]] | None = [] if notes else None

    def shares(self, count: int) -> list[np.ndarray]:
        """The tiles that are not through, dealt out into at most so many shares."""
        waiting = np.flatnonzero(self._resume < len(self._sweeps.starts))
        count = max(1, min(count, waiting.size // TILES_A_SHARE))
        return [np.ascontiguousarray(waiting[part::count]) for part in range(min(count, waiting.size))]

    def run(self, slots: np.ndarray) -> None:
        """Runs the tiles at these places; other threads may run others meanwhile."""
        fields, sweeps, k = self._fields, self._sweeps, self._k
        seen, seen_rays = NONE_SEEN
        if self._notes is not None:
            seen = np.full((len(sweeps.starts), 4, 2), -np.inf)
            seen_rays = np.full((len(sweeps.starts), 4), -1, dtype=np.int64)
            self._notes.append((seen, seen_rays))
        run_tiles(
            fields.counts[k], fields.spans[k], fields.rays_uv(k)[1], self._grid, self._shifts[0], self._shifts[1], k,
            sweeps.pieces, sweeps.axis, sweeps.starts, sweeps.ends, sweeps.arcs, self._rectangles, self._reaches,
            self._strips, self._tiles, slots, self._resume, self._lengths, seen, seen_rays, 1 if self._cuts else 0,
        )  # fmt: skip

    def grow_if_stuck(self) -> bool:
        """True when tiles stopped at a full list, which has now been made longer."""
        if np.all(self._resume >= len(self._sweeps.starts)):
            return False
        self._fields.grow(self._k)
        return True

    def lengths_mm(self) -> np.ndarray:
        """(n,) lengths taken, or the longest shared."""
        if not self._tiles.size:
            return np.zeros(len(self._sweeps.starts))
        return self._lengths.sum(axis=0) if self._cuts else self._lengths.max(axis=0)

    def noted(self) -> np.ndarray:
        """(n, 4, 2) what all shares noted."""
        result = np.full((len(self._sweeps.starts), 4, 2), -np.inf)
        for seen, _ in self._notes or ():
            merge_notes(result, seen)
        return result


def _run_all(runs: Sequence[_FieldRun], threads: int) -> None:
    waiting = list(runs)
    while waiting:
        tasks = [(run, slots) for run in waiting for slots in run.shares(SHARES_A_THREAD * threads)]
        if threads > 1 and len(tasks) > 1:
            list(_pool(threads).map(lambda task: task[0].run(task[1]), tasks))
        else:
            for run, slots in tasks:
                run.run(slots)
        waiting = [run for run in waiting if run.grow_if_stuck()]
