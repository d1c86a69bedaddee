"""Where along a wall a cutter meets no more than what was left on it, so that a faster feed still cuts a thin chip."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.stages.passes.areas import shape_of
from proveout.stages.passes.clearing import sampled
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.track import Track

Array = NDArray[np.float64]

LOOKS_COUNT = 24
"""Places across the cutter's leading edge at which metal is looked for, the nearer to the wall the closer."""
APART_RATIO, APART_LEAST_MM = 0.25, 0.2
"""Distance of the looks along the wall, in radii and at least."""
INSIDE_MM = 0.01
"""So far inside its edge the cutter is looked at: a wall that it only touches is not met."""


def swift_pieces(
    line: Array, *, metal: Any, radius_mm: float, wide_mm: float, is_on_right: bool = True
) -> list[tuple[Array, bool]]:  # fmt: skip
    """Cuts a way along a wall into pieces, each with whether no metal wider than a width is met on it.

    Args:     line: (n, 2) the cutter's axis.   metal: all metal above the height, as an area.   wide_mm: the width.
              is_on_right: on which side the wall lies.
    Returns:  the pieces in order, each beginning where the last ended; one look beside a wider cut is not swift either.
    """
    import shapely

    apart = max(APART_LEAST_MM, APART_RATIO * radius_mm)
    spots, ways = sampled(line, apart)
    inner = radius_mm - INSIDE_MM
    # from the wall's side to the far one, measured from the edge at the wall
    aside = wide_mm + (2.0 * radius_mm - wide_mm) * np.linspace(0.0, 1.0, LOOKS_COUNT) ** 2
    across = np.clip(aside - radius_mm, -inner, inner)
    ahead = np.sqrt(np.maximum(inner**2 - across**2, 0.0))
    away = np.column_stack([-ways[:, 1], ways[:, 0]]) * (1.0 if is_on_right else -1.0)
    edge = spots[:, None] + across[None, :, None] * away[:, None] + ahead[None, :, None] * ways[:, None]
    shape = shape_of(metal)
    shapely.prepare(shape)
    met = shapely.contains_xy(shape, edge[..., 0].ravel(), edge[..., 1].ravel()).reshape(edge.shape[:2]).any(axis=1)
    reach = int(np.ceil((radius_mm + apart) / apart))
    # a wide cut is entered before the look that sees it: all looks within a radius of it are slow
    slow = np.convolve(met.astype(int), np.ones(2 * reach + 1, dtype=int), mode="same") > 0
    if bool(slow.all()):
        return [(line, False)]
    if not bool(slow.any()):
        return [(line, True)]
    at = _gone(line)
    looks = np.linspace(0.0, at[-1], len(spots))
    changes = np.flatnonzero(slow[1:] != slow[:-1])
    # the way between two looks that differ belongs to the slow one
    cuts = [float(looks[k + 1] if slow[k] else looks[k]) for k in changes]
    ends = [0.0, *cuts, float(at[-1])]
    is_swift = [not bool(slow[0])]
    for _ in changes:
        is_swift.append(not is_swift[-1])
    return [
        (_between(line, at, low, high), swift)
        for low, high, swift in zip(ends[:-1], ends[1:], is_swift, strict=True)
        if high > low
    ]


def _gone(line: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])


def _between(line: Array, at: Array, low: float, high: float) -> Array:
    """The stretch of a line between two lengths along it."""
    inside = line[(at > low + 1e-9) & (at < high - 1e-9)]
    ends = np.column_stack([np.interp([low, high], at, line[:, k]) for k in range(2)])
    return np.vstack([ends[:1], inside, ends[1:]])


def run_swiftly(
    track: Track, speeds: Speeds, line: Array, *, z_mm: float, metal: Any, radius_mm: float, wide_mm: float,
    is_on_right: bool = True,
) -> None:  # fmt: skip
    """Feeds along a wall at a height, swiftly where there is a swift feed and no more than a width is met."""
    if speeds.swift_mm_per_s is None:
        track.along(line, z_mm=z_mm, feed_mm_per_s=speeds.feed_mm_per_s)
        return
    pieces = swift_pieces(line, metal=metal, radius_mm=radius_mm, wide_mm=wide_mm, is_on_right=is_on_right)
    for piece, is_swift in pieces:
        track.along(piece, z_mm=z_mm, feed_mm_per_s=speeds.swift_mm_per_s if is_swift else speeds.feed_mm_per_s)
