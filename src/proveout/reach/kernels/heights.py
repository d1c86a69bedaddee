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


@njit(cache=True, fastmath={"nnan"})
def widen(heights, half_widths, sign, out):  # noqa: ANN001, ANN201 - compiled: arrays only
    """Out = for each pixel the largest (sign 1) or smallest (sign -1) height over a disc of pixels.

    half_widths[k] is the half width in pixels of the disc's row k - r, with r = (len - 1) / 2; beyond the map lies
    nothing (it neither raises nor lowers). Each row of the map is widened one pixel at a time; at every width it is
    laid on the rows of `out` in which the disc is that wide.
    """
    nx, ny = heights.shape
    count = half_widths.shape[0]
    r = (count - 1) // 2
    widest = 0
    for k in range(count):
        widest = max(widest, half_widths[k])
    out[:, :] = -np.inf
    row, wider = np.empty(ny + 2), np.empty(ny + 2)
    for src in range(nx):
        row[0] = row[ny + 1] = wider[0] = wider[ny + 1] = -np.inf
        for j in range(ny):
            row[j + 1] = sign * heights[src, j]
        for w in range(widest + 1):
            for k in range(count):
                i = src - k + r
                if half_widths[k] != w or i < 0 or i >= nx:
                    continue
                for j in range(ny):
                    value = row[j + 1]
                    out[i, j] = max(out[i, j], value)
            if w == widest:
                break
            for j in range(1, ny + 1):
                value = max(row[j + 1], row[j - 1])
                wider[j] = max(row[j], value)
            row, wider = wider, row
    for i in range(nx):
        for j in range(ny):
            out[i, j] = sign * out[i, j]


@njit(cache=True)
def raster_middles(corners, low_x, low_y, pitch, heights):  # noqa: ANN001, ANN201 - compiled: arrays only
    """Raise heights[i, j] to the highest z of the triangles exactly over the middle of pixel (i, j), nothing else.

    corners (t, 3, 3) float64; middles as in `raster`. Each row of middles is cut with the triangle's edges.
    """
    nx, ny = heights.shape
    for t in range(corners.shape[0]):
        x0, y0, z0 = corners[t, 0, 0], corners[t, 0, 1], corners[t, 0, 2]
        ex, ey, ez = corners[t, 1, 0] - x0, corners[t, 1, 1] - y0, corners[t, 1, 2] - z0
        fx, fy, fz = corners[t, 2, 0] - x0, corners[t, 2, 1] - y0, corners[t, 2, 2] - z0
        area = ex * fy - fx * ey
        if abs(area) < 1e-12:
            continue
        slope_x, slope_y = (ez * fy - fz * ey) / area, (fz * ex - ez * fx) / area
        least = min(x0, corners[t, 1, 0], corners[t, 2, 0])
        most = max(x0, corners[t, 1, 0], corners[t, 2, 0])
        i_low = max(0, int(np.ceil((least - low_x) / pitch - 0.5 - 1e-9)))
        i_high = min(nx - 1, int(np.floor((most - low_x) / pitch - 0.5 + 1e-9)))
        for i in range(i_low, i_high + 1):
            px = low_x + (i + 0.5) * pitch
            y_low, y_high = np.inf, -np.inf
            for k in range(3):
                ax, ay = corners[t, k, 0], corners[t, k, 1]
                bx, by = corners[t, (k + 1) % 3, 0], corners[t, (k + 1) % 3, 1]
                if min(ax, bx) - 1e-9 > px or max(ax, bx) + 1e-9 < px:
                    continue
                if abs(bx - ax) < 1e-12:
                    y_low, y_high = min(y_low, ay, by), max(y_high, ay, by)
                else:
                    y = ay + min(1.0, max(0.0, (px - ax) / (bx - ax))) * (by - ay)
                    y_low, y_high = min(y_low, y), max(y_high, y)
            j_low = max(0, int(np.ceil((y_low - low_y) / pitch - 0.5 - 1e-9)))
            j_high = min(ny - 1, int(np.floor((y_high - low_y) / pitch - 0.5 + 1e-9)))
            for j in range(j_low, j_high + 1):
                z = z0 + slope_x * (px - x0) + slope_y * (low_y + (j + 0.5) * pitch - y0)
                heights[i, j] = max(heights[i, j], z)
