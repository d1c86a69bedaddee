"""Whole cutters as solids of revolution held against the triangles of a part: no map of heights, no shadow.

A cutter that goes in and comes out along its axis takes up all that lies over any of its pieces. A piece with all that
lies over it is convex, so the point of a triangle that stands deepest in it is found in closed form inside the triangle
and by halving along its edges. Vertices lie on the true surfaces, triangles a little off them: each has its own
tolerance, and so has each edge, for that between two flat faces is as true as its ends. `meets` and `floor_slack_mm`
are plain and slow; `meets_quickly` and `floor_is_free` say the same compiled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from kernels.whole import any_meets, floor_free, shadow_of

from proveout.model.cutter import Piece
from proveout.model.shop import Cutter

VERTEX_MM = 5e-5
HALVINGS = 36
GOLD = (math.sqrt(5.0) - 1.0) / 2.0
GRID = 9
CLIMB_LEAST_MM = 0.004
CODES = {"frustum": 0.0, "ball": 1.0, "round corner": 2.0}


@dataclass(frozen=True)
class Body:
    """corners (t, 3, 3) of a part in the look frame, their boxes, and how far any triangle may lie off its surface.

    off_mm (t, 4): how far the inside of each triangle may, and each of its edges, from the first corner on.
    """

    corners: np.ndarray
    low: np.ndarray
    high: np.ndarray
    within_mm: float
    off_mm: np.ndarray


def body_of(
    corners: np.ndarray, *, within_mm: float, true: np.ndarray | None = None, true_mm: float = VERTEX_MM
) -> Body:  # fmt: skip
    """A body from its triangles.   true (t, 4): insides and edges that lie off their surfaces by true_mm at most."""
    off = np.full((len(corners), 4), within_mm)
    if true is not None:
        off[true] = min(true_mm, within_mm)
    return Body(corners=corners, low=corners.min(axis=1), high=corners.max(axis=1), within_mm=within_mm, off_mm=off)


def true_parts(triangles: np.ndarray, triangle_face: np.ndarray, is_plane: np.ndarray) -> np.ndarray:
    """(t, 4) bool: whether the inside of each triangle (t, 3), and each edge from its first corner on, is no chord.

    Where two flat faces meet the edge is straight, as is all that lies in a flat face. What has a corner at an arc is
    held to be a chord, unless it is such an edge: beside an arc's chord a triangle may stand beyond its face.
    """
    ends = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=-1), axis=-1)
    _, edge = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True)
    edge = edge.reshape(-1)
    owner = np.repeat(triangle_face, 3)
    flat = np.ones(int(edge.max(initial=-1)) + 1, dtype=np.bool_)
    np.logical_and.at(flat, edge, is_plane[owner])
    flat &= np.bincount(edge) > 1
    least, most = np.full(len(flat), len(is_plane)), np.full(len(flat), -1)
    np.minimum.at(least, edge, owner)
    np.maximum.at(most, edge, owner)
    at_arc = np.zeros(int(triangles.max(initial=-1)) + 1, dtype=np.bool_)
    at_arc[ends.reshape(-1, 2)[~flat[edge]]] = True
    inner = (least == most)[edge].reshape(-1, 3)
    edges = flat[edge].reshape(-1, 3) & ~(inner & at_arc[ends].any(axis=-1))
    inside = is_plane[triangle_face] & ~at_arc[triangles].any(axis=1)
    return np.column_stack([inside, edges])


def begins(piece: Piece, rho: np.ndarray) -> np.ndarray:
    """Height over the tip at which a piece begins, rho within its greatest radius."""
    if piece.kind == "frustum":
        if piece.r_high_mm <= piece.r_low_mm:
            return np.full_like(rho, piece.z_low_mm)
        rise = (piece.z_high_mm - piece.z_low_mm) / (piece.r_high_mm - piece.r_low_mm)
        return piece.z_low_mm + rise * np.maximum(rho - piece.r_low_mm, 0.0)
    off = np.maximum(rho - (piece.r_low_mm if piece.kind == "round corner" else 0.0), 0.0)
    r = piece.corner_mm
    return piece.z_low_mm + r - np.sqrt(np.maximum(r * r - np.minimum(off, r) ** 2, 0.0))


def widest(piece: Piece) -> float:
    """The greatest radius of a piece."""
    return max(piece.r_low_mm, piece.r_high_mm)


def _slope_place(piece: Piece, slope: np.ndarray, most: float) -> np.ndarray:
    """Distance from the axis at which the piece's underside is as steep as a plane."""
    if piece.kind == "frustum":
        if piece.r_high_mm <= piece.r_low_mm:
            return np.full_like(slope, most)
        rise = (piece.z_high_mm - piece.z_low_mm) / (piece.r_high_mm - piece.r_low_mm)
        return np.where(slope > rise, most, min(piece.r_low_mm, most))
    lean = slope / np.sqrt(1.0 + slope * slope)
    flat = piece.r_low_mm if piece.kind == "round corner" else 0.0
    return np.minimum(flat + piece.corner_mm * lean, most)


def meets(body: Body, pieces: tuple[Piece, ...], tip: np.ndarray) -> bool:
    """Whether some piece, with all above it, is entered by a vertex or a triangle of the body."""
    return any(_piece_meets(body, piece, tip) for piece in pieces)


def _piece_meets(body: Body, piece: Piece, tip: np.ndarray) -> bool:
    reach = widest(piece)
    near = (body.high[:, 2] > tip[2] + piece.z_low_mm) & (body.low[:, 0] < tip[0] + reach)
    near &= (body.high[:, 0] > tip[0] - reach) & (body.low[:, 1] < tip[1] + reach) & (body.high[:, 1] > tip[1] - reach)
    if not near.any():
        return False
    rel = body.corners[near] - tip
    rho = np.hypot(rel[:, :, 0], rel[:, :, 1])
    inside = rho < reach - VERTEX_MM
    if np.any(inside & (rel[:, :, 2] > begins(piece, np.minimum(rho + VERTEX_MM, reach)) + VERTEX_MM)):
        return True
    return any(
        _inside_meets(rel[inside == slack], piece, reach - slack, slack)
        or _edges_meet(rel, edges == slack, piece, reach - slack, slack)
        for inside, edges in [(body.off_mm[near, 0], body.off_mm[near, 1:])]
        for slack in np.unique(body.off_mm[near])
        if reach > slack
    )


def _over(piece: Piece, place: np.ndarray, slack: float) -> np.ndarray:
    """By how much places (..., 3) stand into the piece once that has shrunk by the slack."""
    rho = np.hypot(place[..., 0], place[..., 1])
    return place[..., 2] - begins(piece, rho + slack) - slack


def _inside_meets(rel: np.ndarray, piece: Piece, most: float, slack: float) -> bool:
    """Where the triangle's plane is as steep as the piece's underside, uphill of the axis."""
    e, f = rel[:, 1] - rel[:, 0], rel[:, 2] - rel[:, 0]
    area = e[:, 0] * f[:, 1] - e[:, 1] * f[:, 0]
    level = np.abs(area) > 1e-12
    e, f, area, a = e[level], f[level], area[level], rel[level, 0]
    gx = (e[:, 2] * f[:, 1] - f[:, 2] * e[:, 1]) / area
    gy = (f[:, 2] * e[:, 0] - e[:, 2] * f[:, 0]) / area
    slope = np.hypot(gx, gy)
    away = _slope_place(piece, slope, most)
    safe = np.maximum(slope, 1e-12)
    x, y = away * gx / safe, away * gy / safe
    u = ((x - a[:, 0]) * f[:, 1] - (y - a[:, 1]) * f[:, 0]) / area
    v = (e[:, 0] * (y - a[:, 1]) - e[:, 1] * (x - a[:, 0])) / area
    within = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    z = a[:, 2] + u * e[:, 2] + v * f[:, 2]
    place = np.column_stack([x, y, z])[within]
    if np.any(_over(piece, place, slack) > 0.0):
        return True
    # a level triangle over the axis: its own middle line
    u = (-a[:, 0] * f[:, 1] + a[:, 1] * f[:, 0]) / area
    v = (-e[:, 0] * a[:, 1] + e[:, 1] * a[:, 0]) / area
    within = (u >= 0.0) & (v >= 0.0) & (u + v <= 1.0)
    place = np.column_stack([np.zeros_like(u), np.zeros_like(u), a[:, 2] + u * e[:, 2] + v * f[:, 2]])[within]
    return bool(np.any(_over(piece, place, slack) > 0.0))


def _edges_meet(rel: np.ndarray, picked: np.ndarray, piece: Piece, most: float, slack: float) -> bool:
    """The deepest place of each edge, of those picked (t, 3), within the piece's radius."""
    a = rel[picked]
    e = np.roll(rel, -1, axis=1)[picked] - a
    qa = e[:, 0] ** 2 + e[:, 1] ** 2
    qb = a[:, 0] * e[:, 0] + a[:, 1] * e[:, 1]
    qc = a[:, 0] ** 2 + a[:, 1] ** 2 - most * most
    upright = qa < 1e-18
    under = np.where(upright, np.where(qc <= 0.0, 1.0, -1.0), qb * qb - qa * qc)
    hit = under > 0.0
    a, e, qa, qb, under, upright = a[hit], e[hit], qa[hit], qb[hit], under[hit], upright[hit]
    root, safe = np.sqrt(under), np.where(upright, 1.0, qa)
    low = np.where(upright, 0.0, np.clip((-qb - root) / safe, 0.0, 1.0))
    high = np.where(upright, 1.0, np.clip((-qb + root) / safe, 0.0, 1.0))
    keep = high > low
    a, e, low, high = a[keep], e[keep], low[keep], high[keep]
    if not len(a):
        return False

    def over(u: np.ndarray) -> np.ndarray:
        return _over(piece, a + u[:, None] * e, slack)

    if np.any(over(low) > 0.0) or np.any(over(high) > 0.0):
        return True
    # what begins higher than the edge's upper end anywhere is never met
    top = np.maximum(a[:, 2] + low * e[:, 2], a[:, 2] + high * e[:, 2])
    hope = top > piece.z_low_mm + slack
    if (piece.kind == "frustum" and piece.r_high_mm <= piece.r_low_mm) or not hope.any():
        return False
    a, e, low, high = a[hope], e[hope], low[hope], high[hope]
    left, right = high - GOLD * (high - low), low + GOLD * (high - low)
    fl, fr = over(left), over(right)
    for _ in range(HALVINGS):
        up = fl < fr
        low, high = np.where(up, left, low), np.where(up, high, right)
        left, right = high - GOLD * (high - low), low + GOLD * (high - low)
        fl, fr = over(left), over(right)
    return bool(np.any(fl > 0.0) or np.any(fr > 0.0))


def floor_slack_mm(body: Body, pieces: tuple[Piece, ...], point: np.ndarray, cover: float) -> float:
    """Of a cutter with a flat end at a floor's height: the most by which it could grow and still cover the point.

    Every place of the axis within `cover` is looked at on a grid, and the best few are climbed from. Only for pieces
    that begin level (cylinders). Negative where no place is free.
    """
    levels = [(point[2] + piece.z_low_mm, widest(piece)) for piece in pieces]
    shadows = [_shadow(body, z + 1e-3 + body.within_mm, point[:2], cover + r + 1.0) for z, r in levels]
    radii = [r for _, r in levels]

    def slack(places: np.ndarray) -> np.ndarray:
        out = np.full(len(places), 1.0)
        for triangles, radius in zip(shadows, radii, strict=True):
            out = np.minimum(out, _clear(places, triangles) - radius)
        return np.minimum(out, cover - np.linalg.norm(places - point[:2], axis=1))

    ticks = np.linspace(-cover, cover, GRID)
    grid = np.array([(x, y) for x in ticks for y in ticks if math.hypot(x, y) <= cover]) + point[:2]
    found = slack(grid)
    best = float(found.max())
    turns = np.linspace(0.0, 2.0 * math.pi, 12, endpoint=False)
    ways = np.column_stack([np.cos(turns), np.sin(turns)])
    for start in np.argsort(-found, kind="stable")[:4]:
        here, value, step = grid[start], float(found[start]), 2.0 * cover / (GRID - 1)
        while step > CLIMB_LEAST_MM and value < 1.0:
            around = here + step * ways
            values = slack(around)
            k = int(np.argmax(values))
            if values[k] > value + 1e-9:
                here, value = around[k], float(values[k])
            else:
                step *= 0.5
        best = max(best, value)
    return best


def _shadow(body: Body, z: float, middle: np.ndarray, reach: float) -> np.ndarray:
    """(k, 3, 2) the triangles near a place, cut off below a height and seen from above."""
    near = (body.high[:, 2] > z) & (body.low[:, 0] < middle[0] + reach) & (body.high[:, 0] > middle[0] - reach)
    near &= (body.low[:, 1] < middle[1] + reach) & (body.high[:, 1] > middle[1] - reach)
    corners = body.corners[near]
    whole = corners[:, :, 2].min(axis=1) >= z
    out = [corners[whole][:, :, :2]]
    for triangle in corners[~whole]:
        points = []
        for here, there in zip(triangle, np.roll(triangle, -1, axis=0), strict=True):
            if here[2] >= z:
                points.append(here[:2])
            if (here[2] >= z) != (there[2] >= z):
                share = (z - here[2]) / (there[2] - here[2])
                points.append(here[:2] + share * (there[:2] - here[:2]))
        out += [np.array([[points[0], points[k], points[k + 1]]]) for k in range(1, len(points) - 1)]
    return np.concatenate(out)


def _clear(places: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """(n,) distance from places to triangles in the plane, 0 inside one."""
    if not len(triangles):
        return np.full(len(places), np.inf)
    a = triangles.reshape(-1, 2)
    e = np.roll(triangles, -1, axis=1).reshape(-1, 2) - a
    size = np.maximum((e * e).sum(axis=1), 1e-18)
    rel = places[:, None, :] - a[None]
    u = np.clip((rel * e[None]).sum(axis=2) / size, 0.0, 1.0)
    gap = rel - u[:, :, None] * e[None]
    out = np.sqrt((gap * gap).sum(axis=2).min(axis=1))
    side = (e[None, :, 0] * rel[:, :, 1] - e[None, :, 1] * rel[:, :, 0]).reshape(len(places), -1, 3)
    inside = (np.all(side > 0.0, axis=2) | np.all(side < 0.0, axis=2)).any(axis=1)
    return np.where(inside, 0.0, out)


def whole_of(cutter: Cutter) -> tuple[Piece, ...]:
    """All pieces of a cutter, shank and holder too."""
    return (*cutter.cutting, *cutter.body)


def rows_of(pieces: tuple[Piece, ...]) -> np.ndarray:
    """(p, 5) pieces as the kernels take them."""
    return np.array([(CODES[p.kind], p.z_low_mm, p.z_high_mm, p.r_low_mm, p.r_high_mm) for p in pieces])


def meets_quickly(body: Body, pieces: tuple[Piece, ...], tip: np.ndarray) -> bool:
    """What `meets` says."""
    return bool(any_meets(body.corners, body.low, body.high, rows_of(pieces), tip, body.off_mm))


def floor_is_free(body: Body, pieces: tuple[Piece, ...], point: np.ndarray, cover: float) -> bool | None:
    """Whether a flat end at a floor's height finds a place that covers the point; None where it was not decided.

    As `floor_slack_mm` above 0, but every place within `cover` is ruled out or tried, down to 0.002 mm.
    """
    x, y = float(point[0]), float(point[1])
    shadows = [
        shadow_of(
            body.corners, body.low, body.high, float(point[2]) + piece.z_low_mm + 1e-3 + body.within_mm, x, y,
            cover + widest(piece) + 1.0,
        )
        for piece in pieces
    ]  # fmt: skip
    starts = np.concatenate([[0], np.cumsum([len(s) for s in shadows])]).astype(np.int64)
    radii = np.array([widest(piece) for piece in pieces])
    said = int(floor_free(x, y, cover, np.concatenate(shadows), starts, radii))
    return None if said < 0 else said == 1
