"""Moves applied in order to square tiles of one field; a tile never reads another, so any thread may take any tile.

A move's rays of one tile are handled together: those with metal within the sweep's reach are gathered, their
intervals come from loops without branches, and then the metal is taken ray by ray. Most rays of a program have lost
their metal to an earlier move and cost no more than a look.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.removal.kernels.noting import note_segments
from proveout.removal.kernels.rays import ray_intervals
from proveout.removal.kernels.reach import row_ends
from proveout.removal.kernels.rounds import round_end, round_forms
from proveout.removal.kernels.spans import shared_length, take_out
from proveout.removal.kernels.sweep import LINE_WIDTH, LINES_MAX, ROUND_CORNER, move_frame, sweep_lines
from proveout.removal.kernels.upright import GENERAL, PLAN_WIDTH, upright_intervals, upright_plan

TILE_SIDE = 32
GATHERED = TILE_SIDE * TILE_SIDE
ROWS = 12  # rows of scratch: u, v, four ends, and what the loops keep between them


@njit(cache=True, nogil=True)
def _gather(
    counts: np.ndarray, spans: np.ndarray, rays_v: int, grid: np.ndarray, shift_u: np.ndarray, shift_v: np.ndarray,
    window: tuple[int, int, int, int], strip: np.ndarray, reach_low: float, reach_high: float, start_u: float,
    start_v: float, scratch: np.ndarray, rays: np.ndarray,
) -> int:  # fmt: skip
    """Gathers the window's rays that have metal within the reach: numbers in rays, u and v from the start."""
    found = 0
    for i in range(window[0], window[1]):
        begin, stop = row_ends(strip, grid, i, window[2], window[3])
        u_row = grid[0] + i * grid[1] - start_u
        v_row = grid[2] + shift_v[i] - start_v
        for j in range(begin, stop):
            ray = i * rays_v + j
            metal = counts[ray]
            if metal == 0 or spans[ray, metal - 1, 1] <= reach_low or spans[ray, 0, 0] >= reach_high:
                continue
            at = 0
            while spans[ray, at, 1] <= reach_low:
                at += 1
            if spans[ray, at, 0] >= reach_high:
                continue
            scratch[0, found] = u_row + shift_u[j]
            scratch[1, found] = v_row + j * grid[3]
            rays[found] = ray
            found += 1
    return found


@njit(cache=True, nogil=True)
def _round_intervals(
    piece: np.ndarray, axis: np.ndarray, start: np.ndarray, end: np.ndarray, ray_axis: int, counts: np.ndarray,
    spans: np.ndarray, rays: np.ndarray, found: int, scratch: np.ndarray, frame: np.ndarray, base: np.ndarray,
    lines: np.ndarray, z_strip: np.ndarray, outline: np.ndarray,
) -> None:  # fmt: skip
    """Fills rows 2 and 3 of scratch with the ends of a round corner's sweep, exact wherever there is metal.

    The corner lies within the cylinder about it and holds the double cone from rim to rim, of which the half at the
    tip serves. Where the metal between the two has gone already, the end needs no finding.
    """
    us, vs = scratch[0, :found], scratch[1, :found]
    rounding = 0.5 * (piece[2] - piece[1])
    outline[0] = 0.0
    outline[1], outline[2] = piece[1], piece[2]
    outline[3], outline[4] = piece[4], piece[4]
    count = sweep_lines(outline, axis, start, end, ray_axis, frame, base, lines, z_strip)
    ray_intervals(lines, count, z_strip, us, vs, scratch[2, :found], scratch[3, :found], scratch[6], scratch[7])
    outline[2] = piece[1] + rounding
    outline[3] = piece[3]
    count = sweep_lines(outline, axis, start, end, ray_axis, frame, base, lines, z_strip)
    ray_intervals(lines, count, z_strip, us, vs, scratch[4, :found], scratch[5, :found], scratch[6], scratch[7])
    across, along = move_frame(axis, start, end, frame)
    forms, form = base[:3], frame
    round_forms(piece, frame.copy(), ray_axis, forms)
    origin = start[ray_axis]
    for k in range(found):
        low, high = scratch[2, k], scratch[3, k]
        if low >= high:
            continue
        inner_low, inner_high = scratch[4, k], scratch[5, k]
        if inner_low > inner_high:
            inner_low, inner_high = high, low
        ray = rays[k]
        if shared_length(spans[ray], int(counts[ray]), origin + low, origin + inner_low) > 0.0:
            found_low = round_end(forms, across, along, piece[3], rounding, us[k], vs[k], low, high, -1.0, form)
            if math.isnan(found_low):
                scratch[2, k] = math.inf
                continue
            scratch[2, k] = found_low
        if shared_length(spans[ray], int(counts[ray]), origin + inner_high, origin + high) > 0.0:
            found_high = round_end(forms, across, along, piece[3], rounding, us[k], vs[k], low, high, 1.0, form)
            scratch[3, k] = -math.inf if math.isnan(found_high) else found_high


@njit(cache=True, nogil=True)
def _take(
    spans: np.ndarray, counts: np.ndarray, rays: np.ndarray, lows: np.ndarray, highs: np.ndarray, origin: float,
    cuts: int, total: float,
) -> tuple[float, bool]:  # fmt: skip
    """Takes the intervals out, or measures them when cuts is 0; returns the new total and whether a list was full."""
    for k in range(lows.shape[0]):
        low, high = lows[k], highs[k]
        if low >= high:
            continue
        ray = rays[k]
        if cuts == 0:
            total = max(total, shared_length(spans[ray], int(counts[ray]), origin + low, origin + high))
            continue
        metal, taken = take_out(spans[ray], int(counts[ray]), origin + low, origin + high)
        if metal < 0:
            return total, True
        counts[ray] = metal
        total += taken
    return total, False


@njit(cache=True, nogil=True)
def run_tiles(
    counts: np.ndarray,
    spans: np.ndarray,
    rays_v: int,
    grid: np.ndarray,
    shift_u: np.ndarray,
    shift_v: np.ndarray,
    ray_axis: int,
    pieces: np.ndarray,
    axis: np.ndarray,
    starts: np.ndarray,
    ends: np.ndarray,
    arcs: np.ndarray,
    rectangles: np.ndarray,
    reaches: np.ndarray,
    strips: np.ndarray,
    tiles: np.ndarray,
    slots: np.ndarray,
    resume: np.ndarray,
    lengths: np.ndarray,
    seen: np.ndarray,
    seen_rays: np.ndarray,
    cuts: int,
) -> None:
    """Applies the moves to the tiles named by slots, places in tiles (m,).

    When cuts is 1: takes the sweeps out and adds the length taken to lengths (m, n). A tile whose ray cannot
    hold one interval more stops at that move and leaves its number in resume (m,); a tile that is through
    leaves n. Run again from there on longer lists, it takes nothing twice. When cuts is 0: leaves the metal and puts
    the most metal that any ray shares with a sweep into lengths. shift_u (by number in v), shift_v (by number in u):
    how far each ray runs from the middle of its cell, mm. seen (n, 4, 2) and seen_rays (n, 4), when they have rows:
    where metal was taken, see noting.py.
    """
    u_axis = (ray_axis + 1) % 3
    v_axis = (ray_axis + 2) % 3
    tiles_v = (rays_v + TILE_SIDE - 1) // TILE_SIDE
    moves_count = starts.shape[0]
    notes = seen.shape[0] > 0
    lines = np.zeros((LINES_MAX, LINE_WIDTH))
    frame = np.empty((3, 3))
    base = np.empty((4, 4))
    z_strip = np.empty(2)
    outline = np.empty(5)
    plan = np.zeros(PLAN_WIDTH)
    scratch = np.empty((ROWS, GATHERED))
    rays = np.empty(GATHERED, dtype=np.int64)
    for slot in slots:
        tile = tiles[slot]
        tile_u = (tile // tiles_v) * TILE_SIDE
        tile_v = (tile % tiles_v) * TILE_SIDE
        stuck = False
        move = resume[slot]
        while move < moves_count and not stuck:
            total = lengths[slot, move]
            for p in range(pieces.shape[0]):
                window = (
                    max(rectangles[move, p, 0], tile_u), min(rectangles[move, p, 1], tile_u + TILE_SIDE),
                    max(rectangles[move, p, 2], tile_v), min(rectangles[move, p, 3], tile_v + TILE_SIDE),
                )  # fmt: skip
                if window[0] >= window[1] or window[2] >= window[3]:
                    continue
                found = _gather(
                    counts, spans, rays_v, grid, shift_u, shift_v, window, strips[move, p], reaches[move, p, 0],
                    reaches[move, p, 1], starts[move, u_axis], starts[move, v_axis], scratch, rays,
                )  # fmt: skip
                if found == 0:
                    continue
                intervals = 1
                us, vs = scratch[0, :found], scratch[1, :found]
                lows, highs = scratch[2, :found], scratch[3, :found]
                mode = upright_plan(pieces[p], axis, starts[move], ends[move], arcs[move], ray_axis, plan)
                if mode != GENERAL:
                    intervals = upright_intervals(
                        mode, plan, us, vs, lows, highs, scratch[4, :found], scratch[5, :found], scratch[6, :found]
                    )
                elif pieces[p, 0] == ROUND_CORNER:
                    _round_intervals(
                        pieces[p], axis, starts[move], ends[move], ray_axis, counts, spans, rays, found, scratch,
                        frame, base, lines, z_strip, outline,
                    )  # fmt: skip
                else:
                    count = sweep_lines(
                        pieces[p], axis, starts[move], ends[move], ray_axis, frame, base, lines, z_strip
                    )
                    ray_intervals(lines, count, z_strip, us, vs, lows, highs, scratch[6], scratch[7])
                origin = starts[move, ray_axis]
                for part in range(intervals):
                    if notes:
                        across, _ = move_frame(axis, starts[move], ends[move], frame)
                        note_segments(
                            spans, counts, rays, us, vs, scratch[2 + 2 * part], scratch[3 + 2 * part], origin,
                            ray_axis, frame, 1 if across == 0.0 else 0, seen[move], seen_rays[move],
                        )  # fmt: skip
                    total, stuck = _take(
                        spans, counts, rays, scratch[2 + 2 * part, :found], scratch[3 + 2 * part, :found], origin, cuts,
                        total,
                    )  # fmt: skip
                    if stuck:
                        break
                if stuck:
                    break
            lengths[slot, move] = total
            if not stuck:
                move += 1
        resume[slot] = move
