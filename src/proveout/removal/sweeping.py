"""Cutting the work as it stands by straight moves, and measuring what a move would strike without cutting."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache

import numpy as np

from proveout.model.cutter import Piece
from proveout.quantities.errors import BadInput, OutOfRange
from proveout.removal.fields import Fields
from proveout.removal.kernels.sweep import BALL, FRUSTUM
from proveout.removal.kernels.tiles import TILE_SIDE, met_tiles, run_tiles, sweep_rectangles

BATCH_MOVES = 1024  # moves handed to the tiles at a time; bounds the memory of the sums
FEW_MOVES = 8  # below this the threads cost more than they bring


def cut(
    fields: Fields,
    *,
    pieces: Sequence[Piece],
    axis: np.ndarray,
    starts_mm: np.ndarray,
    ends_mm: np.ndarray,
    threads_count: int | None = None,
) -> np.ndarray:
    """Takes the sweeps of a cutter out of the fields, move by move, in place.

    Formula:  per ray, interval := interval minus {s : p + s r in start + t (end - start) + piece, 0 <= t <= 1};
              removed = sum of the lengths taken times the area of a cell.
    Args:     pieces: the cutter's outline, tip at z = 0.   axis: (3,) unit vector from tip to shank, part frame.
              starts_mm, ends_mm: (n, 3) positions of the tip, part frame, not modified.
              fields: cut in place.   threads_count: threads to use, >= 1; None takes the machine's.
    Returns:  (n, 3) mm3, removed by each move in the fields along x, y, z; >= 0.
    Raises:   BadInput when shapes are wrong or a number is not finite; OutOfRange when axis has no unit length.
    Valid:    any axis, also with moves along it, of no length, and with rays along it. The result does not depend
              on threads_count. Metal shorter than 1e-9 mm along a ray is taken away and counted as removed.
    Source:   own derivation, written out in removal/kernels/sweep.py.   Departs: nothing.
    Checked:  tests/removal/test_sweeping.py
    """
    return _run(fields, pieces, axis, starts_mm, ends_mm, threads_count, cuts=True)


def overlap_mm(
    fields: Fields,
    *,
    pieces: Sequence[Piece],
    axis: np.ndarray,
    starts_mm: np.ndarray,
    ends_mm: np.ndarray,
    threads_count: int | None = None,
) -> np.ndarray:
    """The most metal, by length, that any one ray has inside the sweep of any one piece, move by move.

    Formula:  max over fields, rays and pieces of |metal on the ray within the piece's sweep|
    Args:     as for cut; here the fields stay as they are, also between the moves.
    Returns:  (n,) mm, >= 0; exactly 0 when no ray meets metal. A shank that rubs along a wall at a depth d shows the
              chord of that depth, about sqrt(8 r d), which is longer than d: it errs towards a strike.
    Raises:   BadInput when shapes are wrong or a number is not finite; OutOfRange when axis has no unit length.
    Valid:    metal thinner than a cell in two directions can lie between the rays and be missed.
    Source:   own derivation, written out in removal/kernels/sweep.py.   Departs: nothing.
    Checked:  tests/removal/test_sweeping.py
    """
    return _run(fields, pieces, axis, starts_mm, ends_mm, threads_count, cuts=False).max(axis=1)


def piece_rows(pieces: Sequence[Piece]) -> np.ndarray:
    """The outline as numbers for the kernels: (p, 5) kind, z low, z high, r low, r high."""
    return np.array(
        [
            (
                BALL if piece.kind == "ball" else FRUSTUM,
                piece.z_low_mm,
                piece.z_high_mm,
                piece.r_low_mm,
                piece.r_high_mm,
            )
            for piece in pieces
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


def _run(
    fields: Fields,
    pieces: Sequence[Piece],
    axis: np.ndarray,
    starts_mm: np.ndarray,
    ends_mm: np.ndarray,
    threads_count: int | None,
    *,
    cuts: bool,
) -> np.ndarray:
    unit = unit_axis(axis)
    starts = np.ascontiguousarray(starts_mm, dtype=float)
    ends = np.ascontiguousarray(ends_mm, dtype=float)
    if starts.ndim != 2 or starts.shape[1] != 3 or starts.shape != ends.shape:
        raise BadInput("Moves need starts and ends of shape (n, 3)", value=f"{starts.shape} and {ends.shape}")
    if not (np.all(np.isfinite(starts)) and np.all(np.isfinite(ends))):
        raise BadInput("A move has a position that is not a finite number")
    if not pieces:
        raise BadInput("A cutter without pieces removes nothing", do="give the outline at least one piece")
    rows = piece_rows(pieces)
    moves = starts.shape[0]
    results = np.zeros((moves, 3))
    threads = threads_count if threads_count is not None else min(8, os.cpu_count() or 1)
    if moves < FEW_MOVES:
        threads = 1
    for first in range(0, moves, BATCH_MOVES):
        batch = slice(first, min(first + BATCH_MOVES, moves))
        for k in range(3):
            lengths = _run_field(fields, k, rows, unit, starts[batch], ends[batch], threads, cuts=cuts)
            results[batch, k] = lengths * (fields.cell_area_mm2(k) if cuts else 1.0)
    return results


@cache
def _pool(threads: int) -> ThreadPoolExecutor:
    """Threads kept between calls: a pass asks thousands of times."""
    return ThreadPoolExecutor(max_workers=threads)


def _run_field(
    fields: Fields,
    k: int,
    rows: np.ndarray,
    unit: np.ndarray,
    starts: np.ndarray,
    ends: np.ndarray,
    threads: int,
    *,
    cuts: bool,
) -> np.ndarray:
    """Runs one batch on one field; returns (n,) mm, lengths taken or the longest length shared."""
    rays_u, rays_v = fields.rays_uv(k)
    grid = fields.grid_mm(k)
    shift_u, shift_v = fields.ray_shifts_mm(k)
    moves = starts.shape[0]
    rectangles = np.empty((moves, rows.shape[0], 4), dtype=np.int64)
    reaches = np.empty((moves, rows.shape[0], 2))
    sweep_rectangles(rows, unit, starts, ends, k, grid, rays_u, rays_v, rectangles, reaches)
    tiles = met_tiles(rectangles, -(-rays_u // TILE_SIDE), -(-rays_v // TILE_SIDE))
    lengths = np.zeros((tiles.size, moves))
    resume = np.zeros(tiles.size, dtype=np.int64)
    waiting = np.arange(tiles.size)
    while waiting.size:
        spans = fields.spans[k]
        counts = fields.counts[k]

        def work(slots: np.ndarray, counts: np.ndarray = counts, spans: np.ndarray = spans) -> None:
            run_tiles(
                counts, spans, rays_v, grid, shift_u, shift_v, k, rows, unit, starts, ends,
                rectangles, reaches, tiles, slots, resume, lengths, 1 if cuts else 0,
            )  # fmt: skip

        if threads > 1 and waiting.size > 1:
            shares = [
                np.ascontiguousarray(waiting[part :: 4 * threads]) for part in range(min(4 * threads, waiting.size))
            ]
            list(_pool(threads).map(work, shares))
        else:
            work(waiting)
        waiting = np.flatnonzero(resume < moves)
        if waiting.size:
            fields.grow(k)
    if not tiles.size:
        return np.zeros(moves)
    return lengths.sum(axis=0) if cuts else lengths.max(axis=0)
