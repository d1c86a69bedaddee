"""Clearing an area by loops, judged by a fine raster of what the cutter's disc really covers."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from proveout.stages.passes.areas import COARSE_MM, area_of, grown
from proveout.stages.passes.clearing import clear
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.track import Track

CELL = 0.1


def pocket(length: float, width: float, corner: float) -> Any:
    """A rounded rectangle about the origin."""
    x, y = length / 2.0 - corner, width / 2.0 - corner
    return grown(area_of([np.array([[-x, -y], [x, -y], [x, y], [-x, y]])]), corner)


@pytest.mark.parametrize("diameter", [6.0, 7.3])
@pytest.mark.parametrize("share", [0.4, 0.6, 0.9])
@pytest.mark.parametrize("size", [(26.0, 20.0, 5.0), (30.0, 12.5, 4.0)])
def test_what_counts_as_cleared_was_under_the_cutter(
    diameter: float, share: float, size: tuple[float, float, float]
) -> None:
    radius, floor = diameter / 2.0, pocket(*size)
    outside = area_of([np.array([[-60.0, -60.0], [60.0, -60.0], [60.0, 60.0], [-60.0, 60.0]])]) - floor
    obstacle = grown(outside, radius)
    todo = grown(grown(floor, -radius, chord_mm=COARSE_MM), radius, chord_mm=COARSE_MM)
    view: Any = SimpleNamespace(
        top_at=lambda **_: 0.0, top_along=lambda *_, **__: 0.0, clear_mm=5.0
    )  # metal up to 0 everywhere
    track = Track(resolution_mm=0.001, clear_mm=5.0)
    speeds = Speeds(
        speed_rad_per_s=100.0, tooth_feed_mm=0.05, feed_mm_per_s=10.0, plunge_mm_per_s=2.0, ramp_mm_per_s=5.0,
        air_mm_per_s=50.0, slot_mm_per_s=6.0,
    )  # fmt: skip
    cleared = clear(
        view=view, track=track, speeds=speeds, z_mm=-1.0, obstacle=obstacle, todo=todo, radius_mm=radius,
        step_mm=share * diameter,
    )  # fmt: skip
    points = track.moves().straight(within_mm=5e-4).points
    at_depth = (points[:-1, 2] < -1.0 + 1e-6) & (points[1:, 2] < -1.0 + 1e-6)
    starts, ends = points[:-1][at_depth, :2], points[1:][at_depth, :2]
    grid = np.arange(-size[0] / 2.0, size[0] / 2.0, CELL)
    x, y = (v.ravel() for v in np.meshgrid(grid, grid, indexing="ij"))
    import shapely

    under = shapely.buffer(shapely.MultiLineString(list(np.stack([starts, ends], axis=1))), radius + 0.02)
    from proveout.stages.passes.areas import shape_of

    claimed = shape_of(grown(cleared, -0.02, chord_mm=COARSE_MM))
    for shape in (under, claimed):
        shapely.prepare(shape)
    false = shapely.contains_xy(claimed, x, y) & ~shapely.contains_xy(under, x, y)
    assert not false.any(), f"{false.sum() * CELL**2:.2f} mm2 claimed and not cut"
    left = (floor.area() - shapely.area(under.intersection(shape_of(floor)))) / floor.area()
    assert left < 0.02
