"""Whether a cutter with a wide head on a thin neck reaches a ceiling, from level sections of the part.

Neck, head and what lies over the part are discs about one axis; each must stay clear of the outlines at its heights,
and the head must lie under the point. Outlines are cut from the mesh at heights between its levels, so widths between
upright walls are those of the solid. The head gets there sideways: its axis must come, level and without leaving the
room that head, neck and holder have, from a place over which nothing stands that the head would meet going down.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Cutter

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
INTO_MM = 0.02
"""Sections are taken no nearer than this to a level face, where an outline would be its whole border."""
LEVELS_MOST = 24
EASE_MM = 2e-3
"""A head or neck exactly as wide as its way goes through."""
QUARTER_CHORDS = 32
OUTLINE_DIGITS = 5
DUST_MM2 = 1e-6
SAME_MM = 1e-4


def section(corners: Floats, height: float) -> Floats:
    """(k, 4) edges of the outline of triangles (t, 3, 3) at a height; corners exactly on it count as below."""
    over = corners[:, :, 2] > height
    count = over.sum(axis=1)
    cut = corners[(count == 1) | (count == 2)]
    over = over[(count == 1) | (count == 2)]
    if not len(cut):
        return np.zeros((0, 4))
    alone = np.where(over.sum(axis=1) == 1, np.argmax(over, axis=1), np.argmin(over, axis=1))
    rows = np.arange(len(cut))
    tip, one, two = cut[rows, alone], cut[rows, (alone + 1) % 3], cut[rows, (alone + 2) % 3]
    ends = []
    for other in (one, two):
        share = (height - tip[:, 2]) / (other[:, 2] - tip[:, 2])
        ends.append(tip[:, :2] + share[:, None] * (other - tip)[:, :2])
    return np.concatenate(ends, axis=1)


def levels_between(corners: Floats, low: float, high: float) -> list[float]:
    """Heights of sections from low to high: just inside both ends and half way between the mesh's own levels."""
    if high - low < 4.0 * INTO_MM:
        return [0.5 * (low + high)]
    found = np.unique(np.round(corners[:, :, 2].ravel() / SAME_MM)) * SAME_MM
    inner = found[(found > low + INTO_MM) & (found < high - INTO_MM)]
    ends = np.concatenate([[low + INTO_MM], inner, [high - INTO_MM]])
    middles = 0.5 * (ends[1:] + ends[:-1])
    if len(middles) > LEVELS_MOST:
        middles = middles[np.linspace(0, len(middles) - 1, LEVELS_MOST).astype(int)]
    return [float(ends[0]), *(float(v) for v in middles), float(ends[-1])]


def _sections(corners: Floats, top: float, cutter: Cutter) -> tuple[list[Floats], list[float]]:
    """Outlines (k, 4) at the heights of head, neck and holder under a ceiling at `top`, and the radius at each."""
    head, neck, holder = cutter.diameter_mm / 2.0, cutter.shank_diameter_mm / 2.0, cutter.holder_diameter_mm / 2.0
    bottom = top - cutter.flute_length_mm
    highest = float(corners[:, :, 2].max())
    collar = bottom + cutter.stick_out_mm
    bands = [(bottom, top, head), (top, min(collar, highest), neck), (collar, highest, holder)]
    found: dict[tuple[bytes, float], Floats] = {}
    for low, high, radius in bands:
        if high - low > SAME_MM:
            for level in levels_between(corners, low, high):
                # between upright walls all sections are alike
                edges = np.round(section(corners, level), OUTLINE_DIGITS) + 0.0
                edges = edges[np.any(edges[:, :2] != edges[:, 2:], axis=1)]
                edges = edges[np.lexsort(edges.T)]
                found.setdefault((edges.tobytes(), radius), edges)
    return list(found.values()), [radius for _, radius in found]


def ways_in(corners: Floats, top: float, cutter: Cutter) -> Any:
    """Where the axis of a T-slot cutter may be under a ceiling at a height so that it got there, as a plane shape.

    Of the places where head, neck and holder stand free, those joined to one where the head could come straight down.
    What holds the part is not looked at on the way.
    """
    import shapely

    sections, radii = _sections(corners, top, cutter)
    # joined to rings: as single edges each would be grown for itself
    drawn = [
        (shapely.line_merge(shapely.multilinestrings(edges.reshape(-1, 2, 2))), radius)
        for edges, radius in zip(sections, radii, strict=True) if len(edges)
    ]  # fmt: skip
    head = cutter.diameter_mm / 2.0
    wide = 2.0 * (head + max(radii)) + 1.0
    low, high = corners[:, :, :2].min(axis=(0, 1)) - wide, corners[:, :, :2].max(axis=(0, 1)) + wide
    near: list[Any] = [
        shapely.buffer(line, max(radius - EASE_MM, SAME_MM), quad_segs=QUARTER_CHORDS) for line, radius in drawn
    ]
    over: list[Any] = [
        shapely.buffer(line, max(head, radius) - EASE_MM, quad_segs=QUARTER_CHORDS) for line, radius in drawn
    ]
    free = shapely.box(*low, *high).difference(shapely.union_all(near))
    blocked = shapely.union_all(over)
    return shapely.union_all([part for part in shapely.get_parts(free) if part.difference(blocked).area > DUST_MM2])


def is_under(inside: Any, points: Floats, cutter: Cutter) -> Bools:
    """(n,) whether the head covers ceiling points (n, 3) with its axis somewhere in the ways in."""
    import shapely

    return np.asarray(shapely.dwithin(inside, shapely.points(points[:, :2]), cutter.diameter_mm / 2.0))


def nearest_axes(inside: Any, points: Floats) -> Floats:
    """(n, 2) the place in the ways in that lies nearest to each point; the ways in must not be empty."""
    import shapely

    lines = shapely.shortest_line(inside, shapely.points(points[:, :2]))
    return np.asarray(shapely.get_coordinates(shapely.get_point(lines, 0)))
