"""Rasterising a mesh into a height map, and widening it by a disc."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True)
def raster(corners, low_x, low_y, pitch, heights):  # noqa: ANN001, ANN201 - compiled: arrays only
    """Raise heights[i, j] to the highest z of the triangles over pixel centre (i, j).

    corners (t, 3, 3) float64; pixel (i, j) has its centre at low + (i + 0.5, j + 0.5) * pitch. A triangle also
    raises the pixels that its corners and edges fall in, so that thin ones are never lost.
    """
    nx, ny = heights.shape
    for t in range(corners.shape[0]):
        x0, y0, z0 = corners[t, 0, 0], corners[t, 0, 1], corners[t, 0, 2]
        x1, y1, z1 = corners[t, 1, 0], corners[t, 1, 1], corners[t, 1, 2]
        x2, y2, z2 = corners[t, 2, 0], corners[t, 2, 1], corners[t, 2, 2]
        for k in range(3):
            ax, ay, az = corners[t, k, 0], corners[t, k, 1], corners[t, k, 2]
            bx, by, bz = corners[t, (k + 1) % 3, 0], corners[t, (k + 1) % 3, 1], corners[t, (k + 1) % 3, 2]
            length = max(abs(bx - ax), abs(by - ay))
            steps = int(length / (0.5 * pitch)) + 1
            for s in range(steps + 1):
                u = s / steps
                i = int(np.floor((ax + u * (bx - ax) - low_x) / pitch))
                j = int(np.floor((ay + u * (by - ay) - low_y) / pitch))
                if 0 <= i < nx and 0 <= j < ny:
                    z = az + u * (bz - az)
                    heights[i, j] = max(heights[i, j], z)
        area = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
        if abs(area) < 1e-12:
            continue
        i_low = max(0, int(np.floor((min(x0, x1, x2) - low_x) / pitch - 0.5)))
        i_high = min(nx - 1, int(np.ceil((max(x0, x1, x2) - low_x) / pitch - 0.5)))
        j_low = max(0, int(np.floor((min(y0, y1, y2) - low_y) / pitch - 0.5)))
        j_high = min(ny - 1, int(np.ceil((max(y0, y1, y2) - low_y) / pitch - 0.5)))
        for i in range(i_low, i_high + 1):
            px = low_x + (i + 0.5) * pitch
            for j in range(j_low, j_high + 1):
                py = low_y + (j + 0.5) * pitch
                w0 = ((x1 - px) * (y2 - py) - (x2 - px) * (y1 - py)) / area
                w1 = ((x2 - px) * (y0 - py) - (x0 - px) * (y2 - py)) / area
                w2 = 1.0 - w0 - w1
                if w0 >= -1e-9 and w1 >= -1e-9 and w2 >= -1e-9:
                    z = w0 * z0 + w1 * z1 + w2 * z2
                    heights[i, j] = max(heights[i, j], z)


@njit(cache=True)
def widen(heights, half_widths, sign, out):  # noqa: ANN001, ANN201 - compiled: arrays only
    """Out = for each pixel the largest (sign 1) or smallest (sign -1) height over a disc of pixels.

    half_widths[k] is the half width in pixels of the disc's row k - r, with r = (len - 1) / 2; beyond the map lies
    nothing (it neither raises nor lowers). Running extremes by a monotone queue, row by row.
    """
    nx, ny = heights.shape
    r = (half_widths.shape[0] - 1) // 2
    for i in range(nx):
        for j in range(ny):
            out[i, j] = -np.inf
    queue = np.empty(ny + 1, dtype=np.int64)
    for k in range(half_widths.shape[0]):
        w = half_widths[k]
        if w < 0:
            continue
        for i in range(nx):
            src = i + k - r
            if src < 0 or src >= nx:
                continue
            head, tail, nxt = 0, 0, 0
            for j in range(ny):
                last = min(ny - 1, j + w)
                while nxt <= last:
                    value = sign * heights[src, nxt]
                    while tail > head and sign * heights[src, queue[tail - 1]] <= value:
                        tail -= 1
                    queue[tail] = nxt
                    tail += 1
                    nxt += 1
                while queue[head] < j - w:
                    head += 1
                best = sign * heights[src, queue[head]]
                out[i, j] = max(out[i, j], best)
    for i in range(nx):
        for j in range(ny):
            out[i, j] = sign * out[i, j]
