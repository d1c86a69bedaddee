"""Height maps and what a cutter touches, against slow and obvious Python, scipy and plane geometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.ndimage
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapes import box, cut_box, solid_of

from proveout.geometry.frames import Frame
from proveout.quantities.errors import OutOfRange
from proveout.reach.reaching import (
    BARE,
    COARSE,
    HeightMap,
    Stick,
    _wide,
    disc_rows,
    height_map,
    is_touched,
    look_frame,
    lowest_touch,
    widened,
)

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


def slow(heights: Floats, radius_px: float, *, highest: bool) -> Floats:
    """Every pixel against every other."""
    nx, ny = heights.shape
    out = np.empty_like(heights)
    i, j = np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij")
    for a in range(nx):
        for b in range(ny):
            near = heights[(i - a) ** 2 + (j - b) ** 2 <= radius_px**2]
            out[a, b] = near.max() if highest else near.min()
    return out


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


@FEW
@given(EXAMPLES, st.floats(0.0, 14.0))
def test_the_coarse_look_for_the_holder_is_never_too_low_and_at_most_two_blocks_wide(
    seed: int, radius_px: float
) -> None:
    heights = random_heights(seed, most=40)
    coarse = _wide(heights, radius_px=radius_px)
    assert (coarse >= slow(heights, radius_px, highest=True)).all()
    assert (coarse <= slow(heights, radius_px + 2.0 * COARSE * math.sqrt(2.0) + 1.0, highest=True)).all()


def mapped(heights: Floats, pitch_mm: float = 0.5) -> HeightMap:
    return HeightMap(frame=UP, low_x_mm=-1.0, low_y_mm=2.0, pitch_mm=pitch_mm, heights=heights)


@FEW
@given(EXAMPLES, st.floats(0.5, 3.0), st.floats(2.0, 25.0), st.floats(0.0, 3.0))
def test_a_cutter_touches_what_some_free_place_of_its_tip_brings_it_to(
    seed: int, radius_mm: float, stick_out_mm: float, wider_mm: float
) -> None:
    """Brute force: every place of the tip, every pixel under tip and holder, every pixel it then comes down to."""
    shape = mapped(random_heights(seed, most=20))
    stick = Stick(radius_mm=radius_mm, stick_out_mm=stick_out_mm, holder_radius_mm=radius_mm + wider_mm)
    found = lowest_touch(shape, stick)
    tip = slow(shape.heights, radius_mm / 0.5, highest=True)
    exact_holder = slow(shape.heights, (radius_mm + wider_mm) / 0.5, highest=True)
    wide_holder = slow(shape.heights, (radius_mm + wider_mm) / 0.5 + 2.0 * COARSE * math.sqrt(2.0) + 1.0, highest=True)
    best, least = (
        slow(np.maximum(tip, holder - stick_out_mm), radius_mm / 0.5 + 1.0, highest=False)
        for holder in (exact_holder, wide_holder)
    )
    # never lower than a true cutter comes, never higher than one whose holder is two blocks wider
    assert (found >= best).all()
    assert (found <= least).all()
    nx, ny = shape.heights.shape
    i, j = (v.ravel() for v in np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij"))
    z = shape.heights[i, j]
    points = np.column_stack([-1.0 + (i + 0.5) * 0.5, 2.0 + (j + 0.5) * 0.5, z])
    upward = np.tile([0.0, 0.0, 1.0], (len(points), 1))
    touched = is_touched(shape, found, points, upward, slack_mm=0.01)
    np.testing.assert_array_equal(touched, found[i, j] <= z + 0.01 + 0.25 * 0.5)
    assert not is_touched(shape, found, points, -upward, slack_mm=0.01).any()


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


@pytest.mark.parametrize(("diameter_mm", "reaches"), [(5.0, True), (9.0, True), (12.0, False)])
def test_a_slot_ten_wide_takes_cutters_up_to_its_width(diameter_mm: float, reaches: bool) -> None:  # noqa: FBT001
    """A slot 10 wide and 8 deep through a block; the cutter's stick-out is long enough."""
    assert _floor_touched(diameter_mm, stick_out_mm=20.0) == reaches


@pytest.mark.parametrize(("stick_out_mm", "reaches"), [(9.0, True), (7.0, False)])
def test_a_holder_wider_than_the_slot_needs_the_stick_out(stick_out_mm: float, reaches: bool) -> None:  # noqa: FBT001
    assert _floor_touched(5.0, stick_out_mm=stick_out_mm) == reaches


def _floor_touched(diameter_mm: float, *, stick_out_mm: float) -> bool:
    solid = solid_of(cut_box(box(40, 30, 20), (-1, 10, 12), (41, 20, 21)))
    shape = height_map(solid.vertices_mm, solid.triangles, frame=UP, pitch_mm=0.25, margin_mm=8.0)
    stick = Stick(radius_mm=diameter_mm / 2.0, stick_out_mm=stick_out_mm, holder_radius_mm=14.0)
    middle = np.array([[20.0, 15.0, 12.0], [5.0, 12.0, 12.0], [30.0, 18.0, 12.0]])
    found = is_touched(shape, lowest_touch(shape, stick), middle, np.tile([0.0, 0.0, 1.0], (3, 1)), slack_mm=0.05)
    assert found.all() == found.any()
    return bool(found.all())


@FEW
@given(st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1)).filter(lambda v: np.linalg.norm(v) > 0.1))
def test_a_look_is_down_the_direction_asked(direction: tuple[float, float, float]) -> None:
    unit = np.array(direction) / np.linalg.norm(direction)
    frame = look_frame((float(unit[0]), float(unit[1]), float(unit[2])))
    np.testing.assert_allclose(frame.z, unit, atol=1e-9)
    assert frame.x[2] <= 1.0


@pytest.mark.parametrize("radius_px", [math.sqrt(2.0), math.sqrt(50.0), math.sqrt(162.0), 6.3])
def test_the_coarse_look_sees_a_spike_across_the_corner_of_a_block(radius_px: float) -> None:
    """A spike at each place of a block, looked for from exactly the radius away, diagonally above all."""
    for a in range(COARSE):
        for b in range(COARSE):
            heights = np.zeros((36, 36))
            heights[16 + a, 16 + b] = 9.0
            assert (_wide(heights, radius_px=radius_px) >= slow(heights, radius_px, highest=True)).all()
