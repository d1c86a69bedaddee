"""Moves applied in order to square tiles of one field; a tile never reads another, so any thread may take any tile."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.removal.kernels.rays import ray_interval
from proveout.removal.kernels.spans import shared_length, take_out
from proveout.removal.kernels.sweep import LINE_WIDTH, LINES_MAX, sweep_box, sweep_lines

TILE_SIDE = 32


@njit(cache=True, nogil=True)
def sweep_rectangles(
    pieces: np.ndarray,
    axis: np.ndarray,
    starts: np.ndarray,
    ends: np.ndarray,
    ray_axis: int,
    grid: np.ndarray,
    rays_u: int,
    rays_v: int,
    rectangles: np.ndarray,
    reaches: np.ndarray,
) -> None:
    """Fills rectangles (n, p, 4) with the first and the end ray of u and v, reaches (n, p, 2) with the range of s.

    grid (4,): first u, step u, first v, step v of the cells' middles, in mm; a ray may run anywhere in its cell.
    """
    u_axis = (ray_axis + 1) % 3
    v_axis = (ray_axis + 2) % 3
    box = np.empty((2, 3))
    for move in range(starts.shape[0]):
        for p in range(pieces.shape[0]):
            sweep_box(pieces[p], axis, starts[move], ends[move], box)
            low_u = math.ceil((box[0, u_axis] - grid[0]) / grid[1] - 0.5)
            end_u = math.floor((box[1, u_axis] - grid[0]) / grid[1] + 0.5) + 1
            low_v = math.ceil((box[0, v_axis] - grid[2]) / grid[3] - 0.5)
            end_v = math.floor((box[1, v_axis] - grid[2]) / grid[3] + 0.5) + 1
            rectangles[move, p, 0] = min(max(low_u, 0.0), float(rays_u))
            rectangles[move, p, 1] = min(max(end_u, 0.0), float(rays_u))
            rectangles[move, p, 2] = min(max(low_v, 0.0), float(rays_v))
            rectangles[move, p, 3] = min(max(end_v, 0.0), float(rays_v))
            reaches[move, p, 0] = box[0, ray_axis]
            reaches[move, p, 1] = box[1, ray_axis]


@njit(cache=True, nogil=True)
def met_tiles(rectangles: np.ndarray, tiles_u: int, tiles_v: int) -> np.ndarray:
    """The numbers of the tiles that any of the rectangles (n, p, 4) of sweep_rectangles meets, rising."""
    met = np.zeros(tiles_u * tiles_v, dtype=np.bool_)
    for move in range(rectangles.shape[0]):
        for p in range(rectangles.shape[1]):
            if rectangles[move, p, 0] >= rectangles[move, p, 1] or rectangles[move, p, 2] >= rectangles[move, p, 3]:
                continue
            for i in range(rectangles[move, p, 0] // TILE_SIDE, (rectangles[move, p, 1] - 1) // TILE_SIDE + 1):
                for j in range(rectangles[move, p, 2] // TILE_SIDE, (rectangles[move, p, 3] - 1) // TILE_SIDE + 1):
                    met[i * tiles_v + j] = True
    return np.flatnonzero(met)


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
    rectangles: np.ndarray,
    reaches: np.ndarray,
    tiles: np.ndarray,
    slots: np.ndarray,
    resume: np.ndarray,
    lengths: np.ndarray,
    cuts: int,
) -> None:
    """Applies the moves to the tiles named by slots, places in tiles (m,).

    When cuts is 1: takes the sweeps out and adds the length taken to lengths (m, n). A tile whose ray cannot
    hold one interval more stops at that move and leaves its number in resume (m,); a tile that is through
    leaves n. Run again from there on longer lists, it takes nothing twice. When cuts is 0: leaves the metal and puts
    the most metal that any ray shares with a sweep into lengths. shift_u (by number in v), shift_v (by number in u):
    how far each ray runs from the middle of its cell, mm.
    """
    u_axis = (ray_axis + 1) % 3
    v_axis = (ray_axis + 2) % 3
    tiles_v = (rays_v + TILE_SIDE - 1) // TILE_SIDE
    moves_count = starts.shape[0]
    lines = np.zeros((LINES_MAX, LINE_WIDTH))
    frame = np.empty((3, 3))
    base = np.empty((4, 4))
    z_strip = np.empty(2)
    for slot in slots:
        tile = tiles[slot]
        tile_u = (tile // tiles_v) * TILE_SIDE
        tile_v = (tile % tiles_v) * TILE_SIDE
        stuck = False
        move = resume[slot]
        while move < moves_count and not stuck:
            total = lengths[slot, move]
            for p in range(pieces.shape[0]):
                first_u = max(rectangles[move, p, 0], tile_u)
                end_u = min(rectangles[move, p, 1], tile_u + TILE_SIDE)
                first_v = max(rectangles[move, p, 2], tile_v)
                end_v = min(rectangles[move, p, 3], tile_v + TILE_SIDE)
                if first_u >= end_u or first_v >= end_v:
                    continue
                reach_low = reaches[move, p, 0]
                reach_high = reaches[move, p, 1]
                count = sweep_lines(pieces[p], axis, starts[move], ends[move], ray_axis, frame, base, lines, z_strip)
                origin = starts[move, ray_axis]
                for i in range(first_u, end_u):
                    u_row = grid[0] + i * grid[1] - starts[move, u_axis]
                    v_row = grid[2] + shift_v[i] - starts[move, v_axis]
                    for j in range(first_v, end_v):
                        ray = i * rays_v + j
                        metal = counts[ray]
                        at = 0
                        while at < metal and spans[ray, at, 1] <= reach_low:
                            at += 1
                        if at == metal or spans[ray, at, 0] >= reach_high:
                            continue
                        u = u_row + shift_u[j]
                        v = v_row + j * grid[3]
                        low, high = ray_interval(lines, count, z_strip, u, v)
                        if low >= high:
                            continue
                        if cuts == 1:
                            metal, taken = take_out(spans[ray], metal, origin + low, origin + high)
                            if metal < 0:
                                stuck = True
                                break
                            counts[ray] = metal
                            total += taken
                        else:
                            total = max(total, shared_length(spans[ray], metal, origin + low, origin + high))
                    if stuck:
                        break
                if stuck:
                    break
            lengths[slot, move] = total
            if not stuck:
                move += 1
        resume[slot] = move
