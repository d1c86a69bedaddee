"""Where a wide head on a thin neck can stand between the outlines of level sections."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True)
def signed_clearance(x, y, edges):  # noqa: ANN001, ANN201 - compiled: numbers and arrays only
    """Distance from a place to the outlines (k, 4) of a section's metal, negative inside the metal; inf without any."""
    best, inside = np.inf, False
    for k in range(edges.shape[0]):
        ax, ay, bx, by = edges[k, 0], edges[k, 1], edges[k, 2], edges[k, 3]
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            inside = not inside
        ex, ey = bx - ax, by - ay
        size = ex * ex + ey * ey
        u = 0.0 if size < 1e-18 else min(1.0, max(0.0, ((x - ax) * ex + (y - ay) * ey) / size))
        best = min(best, np.hypot(ax + u * ex - x, ay + u * ey - y))
    return -best if inside else best


@njit(cache=True)
def _slack(x, y, px, py, cover, edges, starts, radii):  # noqa: ANN001, ANN202 - compiled: numbers and arrays only
    least = cover - np.hypot(x - px, y - py)
    for s in range(radii.shape[0]):
        least = min(least, signed_clearance(x, y, edges[starts[s] : starts[s + 1]]) - radii[s])
    return least


@njit(cache=True)
def best_slack(px, py, cover, edges, starts, radii):  # noqa: ANN001, ANN201 - compiled: numbers and arrays only
    """The most by which all discs about one axis within `cover` of a place stay clear, and the axis; negative: none.

    Section s has the edges starts[s] to starts[s + 1] and the disc radii[s]. A grid of places, then a climb from the
    best eight in steps that halve.
    """
    count = 17
    grid = np.empty((count * count, 3))
    for a in range(count):
        for b in range(count):
            x = px + cover * (2.0 * a / (count - 1) - 1.0)
            y = py + cover * (2.0 * b / (count - 1) - 1.0)
            grid[a * count + b, 0], grid[a * count + b, 1] = x, y
            grid[a * count + b, 2] = _slack(x, y, px, py, cover, edges, starts, radii)
    order = np.argsort(-grid[:, 2])
    best, bx, by = -np.inf, px, py
    for start in range(8):
        x, y, value = grid[order[start], 0], grid[order[start], 1], grid[order[start], 2]
        step = 2.0 * cover / (count - 1)
        while step > 1e-4:
            top, tx, ty = value, x, y
            for k in range(24):
                turn = 2.0 * np.pi * k / 24.0
                cx, cy = x + step * np.cos(turn), y + step * np.sin(turn)
                found = _slack(cx, cy, px, py, cover, edges, starts, radii)
                if found > top + 1e-9:
                    top, tx, ty = found, cx, cy
            if top > value + 1e-9:
                value, x, y = top, tx, ty
            else:
                step *= 0.5
        if value > best:
            best, bx, by = value, x, y
    return best, bx, by
