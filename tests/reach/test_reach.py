"""Height maps and discs on them, against slow and obvious Python and scipy."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.ndimage
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.quantities.errors import OutOfRange
from proveout.reach.reaching import BARE, disc_rows, height_map, look_frame, widened

Floats = NDArray[np.float64]
UP = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
EXAMPLES = st.integers(0, 10**6)
FEW = settings(max_examples=30)


def random_heights(seed: int, most: int = 26) -> Floats:
    """Blocks of random height on a low plane, some of it bare."""
    draw = np.random.default_rng(seed)
    nx, ny = (int(v) for v in draw.integers(6, most, 2))
    heights = np.zeros((nx, ny))
    for _ in range(int(draw.integers(1, 7))):
        i, j = int(draw.integers(nx)), int(draw.integers(ny))
        heights[i : i + int(draw.integers(1, 8)), j : j + int(draw.integers(1, 8))] = draw.uniform(0.0, 20.0)
    heights[draw.random((nx, ny)) < 0.05] = BARE
    return heights


@FEW
@given(EXAMPLES, st.floats(0.0, 9.0), st.booleans())
def test_widening_is_grey_dilation_by_a_disc(seed: int, radius_px: float, highest: bool) -> None:  # noqa: FBT001
    heights = random_heights(seed)
    r = math.floor(radius_px)
    x, y = np.meshgrid(np.arange(-r, r + 1), np.arange(-r, r + 1), indexing="ij")
    disc = x * x + y * y <= radius_px * radius_px
    sign = 1.0 if highest else -1.0
    by_scipy = sign * scipy.ndimage.grey_dilation(sign * heights, footprint=disc, mode="constant", cval=-np.inf)
    np.testing.assert_array_equal(widened(heights, radius_px=radius_px, highest=highest), by_scipy)


@pytest.mark.parametrize("radius_px", [0.0, 0.99, 1.0, 1.5, 2.9, 7.0])
def test_a_disc_has_the_pixels_within_its_radius(radius_px: float) -> None:
    rows = disc_rows(radius_px)
    r = (len(rows) - 1) // 2
    count = sum((i * i + j * j <= radius_px**2) for i in range(-9, 10) for j in range(-9, 10))
    assert int((2 * rows + 1).sum()) == count
    assert r == math.floor(radius_px)


def terrain(seed: int) -> tuple[Floats, NDArray[np.int32]]:
    """A net of 6 x 5 corners at random heights and slightly random places, two triangles a cell."""
    draw = np.random.default_rng(seed)
    x, y = np.meshgrid(np.arange(6) * 3.0, np.arange(5) * 3.0, indexing="ij")
    x, y = x + draw.uniform(-0.9, 0.9, x.shape), y + draw.uniform(-0.9, 0.9, y.shape)
    points = np.column_stack([x.ravel(), y.ravel(), draw.uniform(0.0, 4.0, x.size)])
    rows = []
    for a in range(5):
        for b in range(4):
            p, q, r, s = a * 5 + b, (a + 1) * 5 + b, (a + 1) * 5 + b + 1, a * 5 + b + 1
            rows += [(p, q, r), (p, r, s)]
    return points, np.array(rows, dtype=np.int32)


def ray_height(points: Floats, triangles: NDArray[np.int32], x: float, y: float) -> float:
    """The highest triangle over a place, by solving for its barycentric coordinates."""
    best = -math.inf
    for triangle in triangles:
        a, b, c = points[triangle]
        share = np.linalg.solve(np.array([[a[0], b[0], c[0]], [a[1], b[1], c[1]], [1, 1, 1]]), np.array([x, y, 1.0]))
        if share.min() >= -1e-12:
            best = max(best, float(share @ [a[2], b[2], c[2]]))
    return best


@pytest.mark.parametrize("seed", range(2))
def test_a_height_map_is_what_rays_through_its_pixels_meet(seed: int) -> None:
    """Between the height over the pixel's middle and that plus the steepest slope over half a pixel."""
    points, triangles = terrain(seed)
    shape = height_map(points, triangles, frame=UP, pitch_mm=0.7, margin_mm=1.5)
    slopes = []
    for a, b, c in points[triangles]:
        n = np.cross(b - a, c - a)
        slopes.append((abs(n[0]) + abs(n[1])) / abs(n[2]))
    loose = max(slopes) * 0.5 * shape.pitch_mm + 1e-9
    covered = 0
    for i in range(shape.heights.shape[0]):
        for j in range(shape.heights.shape[1]):
            x = shape.low_x_mm + (i + 0.5) * shape.pitch_mm
            y = shape.low_y_mm + (j + 0.5) * shape.pitch_mm
            exact = ray_height(points, triangles, x, y)
            if exact > -math.inf:
                covered += 1
                assert exact - 1e-9 <= shape.heights[i, j] <= exact + loose
    assert covered > 150
    assert (shape.heights[0] == BARE).all()
    assert (shape.heights[:, -1] == BARE).all()


def test_a_sheet_seen_edge_on_is_not_lost() -> None:
    points = np.array([[0.0, 1.03, 0.0], [9.0, 1.03, 0.0], [9.0, 1.03, 5.0], [0.0, 1.03, 5.0]])
    shape = height_map(points, np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32), frame=UP, pitch_mm=0.5, margin_mm=1.0)
    assert int((shape.heights > 4.9).sum()) >= 18


def test_a_map_is_made_coarser_rather_than_huge_and_refuses_a_pitch_of_nothing() -> None:
    points, triangles = terrain(0)
    assert max(height_map(points, triangles, frame=UP, pitch_mm=1e-3, margin_mm=0.0).heights.shape) <= 642
    with pytest.raises(OutOfRange, match="pitch above zero"):
        height_map(points, triangles, frame=UP, pitch_mm=0.0, margin_mm=0.0)


@FEW
@given(st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1)).filter(lambda v: np.linalg.norm(v) > 0.1))
def test_a_look_is_down_the_direction_asked(direction: tuple[float, float, float]) -> None:
    unit = np.array(direction) / np.linalg.norm(direction)
    frame = look_frame((float(unit[0]), float(unit[1]), float(unit[2])))
    np.testing.assert_allclose(frame.z, unit, atol=1e-9)
    assert frame.x[2] <= 1.0
