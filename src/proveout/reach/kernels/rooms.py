"""How large a disc or ball can touch a point of a body, against its triangles and its shadow's edges."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit(cache=True)
def _of_segment(ax, ay, az, bx, by, bz, nx, ny, nz):  # noqa: ANN001, ANN202 - compiled: numbers only
    """Least |q|^2 / (2 q.n) over the segment a..b with q.n > 0, and the share of the way to b."""
    ex, ey, ez = bx - ax, by - ay, bz - az
    first, middle, last = ax * ax + ay * ay + az * az, ax * ex + ay * ey + az * ez, ex * ex + ey * ey + ez * ez
    d, e = ax * nx + ay * ny + az * nz, ex * nx + ey * ny + ez * nz
    best, where = np.inf, 0.0
    qa, qb, qc = last * e, 2.0 * last * d, 2.0 * middle * d - e * first
    root1 = root2 = -1.0
    # a segment all but square to the way would lose its root to rounding
    if abs(qa) > 1e-9 * abs(qb) and abs(qa) > 1e-14:
        under = qb * qb - 4.0 * qa * qc
        if under >= 0.0:
            root1 = (-qb + np.sqrt(under)) / (2.0 * qa)
            root2 = (-qb - np.sqrt(under)) / (2.0 * qa)
    elif abs(qb) > 1e-14:
        root1 = -qc / qb
    for k in range(4):
        u = 0.0 if k == 0 else (1.0 if k == 1 else (root1 if k == 2 else root2))
        if u < 0.0 or u > 1.0:
            continue
        over = d + e * u
        if over <= 1e-7:
            continue
        value = (first + 2.0 * middle * u + last * u * u) / (2.0 * over)
        if value < best:
            best, where = value, u
    return best, where


@njit(cache=True)
def wall_rooms(points, ways, own, skip, corners, faces, above, most, radii, touch, other):  # noqa: ANN001, ANN201 - compiled: arrays only
    """For every point the largest radius of an upright disc that touches it and keeps clear of all above it.

    points (n, 3), ways (n, 2) unit, level, out of the metal; own (n,) face of each point; skip (f, f) bool: faces that
    do not bound a face's points; corners (t, 3, 3), faces (t,); above: how much higher than the point counts, mm;
    most: radii beyond it are not told apart. Sets radii (n,), touch (n, 3) and other (n,) face met, -1 for none.
    """
    poly = np.empty((4, 3))
    for n in range(points.shape[0]):
        px, py, pz = points[n, 0], points[n, 1], points[n, 2] + above
        wx, wy = ways[n, 0], ways[n, 1]
        best, face = most, -1
        for t in range(corners.shape[0]):
            if skip[own[n], faces[t]]:
                continue
            if max(corners[t, 0, 2], corners[t, 1, 2], corners[t, 2, 2]) <= pz:
                continue
            ahead, nearest, left, right = -np.inf, np.inf, True, True
            for k in range(3):
                x, y = corners[t, k, 0] - px, corners[t, k, 1] - py
                ahead = max(ahead, x * wx + y * wy)
                nearest = min(nearest, x * wx + y * wy)
                side = y * wx - x * wy
                left &= side > best
                right &= side < -best
            if ahead <= 1e-7 or nearest > 2.0 * best or left or right:
                continue
            count = 0
            for k in range(3):
                z0, z1 = corners[t, k, 2] - pz, corners[t, (k + 1) % 3, 2] - pz
                if z0 > 0.0:
                    poly[count] = corners[t, k]
                    count += 1
                if (z0 > 0.0) != (z1 > 0.0):
                    u = z0 / (z0 - z1)
                    poly[count] = corners[t, k] + u * (corners[t, (k + 1) % 3] - corners[t, k])
                    count += 1
            for k in range(count):
                a, b = poly[k], poly[(k + 1) % count]
                value, u = _of_segment(a[0] - px, a[1] - py, 0.0, b[0] - px, b[1] - py, 0.0, wx, wy, 0.0)
                if value < best - 1e-9 * best:
                    best, face = value, faces[t]
                    for c in range(3):
                        touch[n, c] = a[c] + u * (b[c] - a[c])
        radii[n], other[n] = best, face


@njit(cache=True)
def ball_rooms(points, ways, own, skip, corners, faces, most, radii, touch, other):  # noqa: ANN001, ANN201 - compiled: arrays only
    """For every point the largest radius of a ball that touches it from its outward way (n, 3) and no triangle."""
    middles = np.empty((corners.shape[0], 4))
    for t in range(corners.shape[0]):
        for c in range(3):
            middles[t, c] = (corners[t, 0, c] + corners[t, 1, c] + corners[t, 2, c]) / 3.0
        middles[t, 3] = 0.0
        for k in range(3):
            x, y, z = (
                corners[t, k, 0] - middles[t, 0],
                corners[t, k, 1] - middles[t, 1],
                corners[t, k, 2] - middles[t, 2],
            )
            middles[t, 3] = max(middles[t, 3], np.sqrt(x * x + y * y + z * z))
    for n in range(points.shape[0]):
        px, py, pz = points[n, 0], points[n, 1], points[n, 2]
        wx, wy, wz = ways[n, 0], ways[n, 1], ways[n, 2]
        best, face = most, -1
        for t in range(corners.shape[0]):
            if skip[own[n], faces[t]]:
                continue
            x, y, z = middles[t, 0] - px, middles[t, 1] - py, middles[t, 2] - pz
            far = 2.0 * best + middles[t, 3]
            if x * x + y * y + z * z > far * far:
                continue
            ahead, nearest = -np.inf, np.inf
            for k in range(3):
                x, y, z = corners[t, k, 0] - px, corners[t, k, 1] - py, corners[t, k, 2] - pz
                ahead = max(ahead, x * wx + y * wy + z * wz)
                nearest = min(nearest, x * wx + y * wy + z * wz)
            if ahead <= 1e-7 or nearest > 2.0 * best:
                continue
            for k in range(3):
                a, b = corners[t, k], corners[t, (k + 1) % 3]
                value, u = _of_segment(
                    a[0] - px, a[1] - py, a[2] - pz, b[0] - px, b[1] - py, b[2] - pz, wx, wy, wz
                )  # fmt: skip
                if value < best:
                    best, face = value, faces[t]
                    for c in range(3):
                        touch[n, c] = a[c] + u * (b[c] - a[c])
            value, mx, my, mz = _of_inside(corners[t], px, py, pz, wx, wy, wz)
            if value < best:
                best, face = value, faces[t]
                touch[n, 0], touch[n, 1], touch[n, 2] = (
                    px + value * (wx + mx),
                    py + value * (wy + my),
                    pz + value * (wz + mz),
                )
        radii[n], other[n] = best, face


@njit(cache=True)
def _of_inside(corner, px, py, pz, wx, wy, wz):  # noqa: ANN001, ANN202 - compiled: numbers only
    """Radius at which the ball touches the triangle's inside, and the way there from its middle; inf: it does not."""
    ex, ey, ez = corner[1, 0] - corner[0, 0], corner[1, 1] - corner[0, 1], corner[1, 2] - corner[0, 2]
    fx, fy, fz = corner[2, 0] - corner[0, 0], corner[2, 1] - corner[0, 1], corner[2, 2] - corner[0, 2]
    mx, my, mz = ey * fz - ez * fy, ez * fx - ex * fz, ex * fy - ey * fx
    size = np.sqrt(mx * mx + my * my + mz * mz)
    if size < 1e-12:
        return np.inf, 0.0, 0.0, 0.0
    mx, my, mz = mx / size, my / size, mz / size
    ax, ay, az = corner[0, 0] - px, corner[0, 1] - py, corner[0, 2] - pz
    d = ax * mx + ay * my + az * mz
    if d < 0.0:
        mx, my, mz, d = -mx, -my, -mz, -d
    # the ball's middle is radius * way; it touches the plane when d - radius way.m = radius
    rate = wx * mx + wy * my + wz * mz
    if 1.0 + rate < 1e-9:
        return np.inf, 0.0, 0.0, 0.0
    radius = d / (1.0 + rate)
    qx, qy, qz = radius * (wx + mx) - ax, radius * (wy + my) - ay, radius * (wz + mz) - az
    ee, ef, ff = ex * ex + ey * ey + ez * ez, ex * fx + ey * fy + ez * fz, fx * fx + fy * fy + fz * fz
    qe, qf = qx * ex + qy * ey + qz * ez, qx * fx + qy * fy + qz * fz
    det = ee * ff - ef * ef
    if det < 1e-18:
        return np.inf, 0.0, 0.0, 0.0
    u, v = (qe * ff - qf * ef) / det, (qf * ee - qe * ef) / det
    return (radius if u >= 0.0 and v >= 0.0 and u + v <= 1.0 else np.inf), mx, my, mz


@njit(cache=True)
def clearance(x, y, edges):  # noqa: ANN001, ANN201 - compiled: numbers and arrays only
    """Distance from a place to the nearest of the edges (k, 4); inf when there is none."""
    best = np.inf
    for k in range(edges.shape[0]):
        ax, ay = edges[k, 0] - x, edges[k, 1] - y
        ex, ey = edges[k, 2] - edges[k, 0], edges[k, 3] - edges[k, 1]
        size = ex * ex + ey * ey
        u = 0.0 if size < 1e-18 else min(1.0, max(0.0, -(ax * ex + ay * ey) / size))
        qx, qy = ax + u * ex, ay + u * ey
        best = min(best, qx * qx + qy * qy)
    return np.sqrt(best)


@njit(cache=True)
def floor_room(x, y, edges, most):  # noqa: ANN001, ANN201 - compiled: numbers and arrays only
    """The largest radius, up to `most`, of a disc that covers a place and crosses none of the edges, and its middle.

    A climb: of 16 ways, in steps that halve, to places whose clearance is larger and still covers the place; a step
    is never longer than the clearance, so no edge is crossed.
    """
    cx, cy = x, y
    room = clearance(x, y, edges)
    step = max(room, 1e-3)
    while step > 1e-4 and room < most:
        best, bx, by = room + 1e-9, cx, cy
        limit = max(min(step, room), 1e-4)
        for k in range(16):
            turn = 2.0 * np.pi * k / 16.0
            tx, ty = cx + limit * np.cos(turn), cy + limit * np.sin(turn)
            away = np.sqrt((tx - x) ** 2 + (ty - y) ** 2)
            found = clearance(tx, ty, edges)
            if found > best and away <= found:
                best, bx, by = found, tx, ty
        if best > room + 1e-9:
            room, cx, cy = best, bx, by
            step = 2.0 * limit
        else:
            step *= 0.5
    return min(room, most), cx, cy


@njit(cache=True)
def floor_rooms(places, edges, most, radii, middles):  # noqa: ANN001, ANN201 - compiled: arrays only
    """floor_room of every place (n, 2): radii (n,) and middles (n, 2)."""
    near = np.empty_like(edges)
    for n in range(places.shape[0]):
        x, y, count = places[n, 0], places[n, 1], 0
        for k in range(edges.shape[0]):
            # a disc that covers the place reaches no farther than twice its radius
            if (
                min(edges[k, 0], edges[k, 2]) < x + 2.0 * most
                and max(edges[k, 0], edges[k, 2]) > x - 2.0 * most
                and min(edges[k, 1], edges[k, 3]) < y + 2.0 * most
                and max(edges[k, 1], edges[k, 3]) > y - 2.0 * most
            ):
                near[count] = edges[k]
                count += 1
        radii[n], middles[n, 0], middles[n, 1] = floor_room(x, y, near[:count], most)
