"""Whether a cutter with a wide head on a thin neck reaches a ceiling, from level sections of the part.

Neck, head and what lies over the part are discs about one axis; each must stay clear of the outlines at its heights,
and the head must lie under the point. Outlines are cut from the mesh at heights between its levels, so widths between
upright walls are those of the solid. That the head can get there sideways from an open end is not looked at.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Cutter

Floats = NDArray[np.float64]
INTO_MM = 0.02
"""Sections are taken no nearer than this to a level face, where an outline would be its whole border."""
LEVELS_MOST = 24
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


def head_slack_mm(corners: Floats, point: Floats, cutter: Cutter) -> tuple[float, Floats]:
    """By how much a T-slot cutter could be larger and still touch a ceiling point from below; and the axis's place.

    Args:     corners (t, 3, 3) in the look frame, closed.   point (3,) of a face that looks straight down.
    Negative where head, neck or holder find no place, -inf where the room under the ceiling is lower than the head.
    """
    from proveout.reach.kernels.under import best_slack

    top = float(point[2])
    head, neck, holder = cutter.diameter_mm / 2.0, cutter.shank_diameter_mm / 2.0, cutter.holder_diameter_mm / 2.0
    bottom = top - cutter.flute_length_mm
    highest = float(corners[:, :, 2].max())
    collar = bottom + cutter.stick_out_mm
    bands = [(bottom, top, head), (top, min(collar, highest), neck), (collar, highest, holder)]
    edges: list[Floats] = []
    radii: list[float] = []
    for low, high, radius in bands:
        if high - low > SAME_MM:
            for level in levels_between(corners, low, high):
                edges.append(section(corners, level))
                radii.append(radius)
    starts = np.concatenate([[0], np.cumsum([len(e) for e in edges])]).astype(np.int64)
    value, x, y = best_slack(
        float(point[0]), float(point[1]), head, np.ascontiguousarray(np.concatenate(edges)), starts, np.array(radii)
    )  # fmt: skip
    return float(value), np.array([x, y])
