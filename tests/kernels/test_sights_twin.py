"""Pages, tops and pockets by kernels, against scipy's morphology and plain loops: bit for bit."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt, grey_closing

from proveout.grip.kernels.pocket import first_blocked, is_clear
from proveout.removal.posing import widest_patch, without_gaps
from proveout.removal.touching import cell_tops_mm

NOTHING_MM = -1e4


@pytest.mark.parametrize("seed", range(6))
def test_gaps_of_a_page_are_closed_as_by_a_dilation_and_an_erosion(seed: int) -> None:
    draw = np.random.default_rng(seed)
    near = draw.uniform(-50.0, 50.0, (37, 23))
    near[draw.random(near.shape) < (0.1, 0.3, 0.5, 0.7, 0.9, 0.02)[seed]] = -np.inf
    far = np.where(np.isfinite(near), near, NOTHING_MM)
    wanted = np.where(far > NOTHING_MM, far, grey_closing(far, size=(3, 3)))
    assert (without_gaps(near, nothing_mm=NOTHING_MM) == wanted).all()


@pytest.mark.parametrize("seed", range(8))
def test_the_widest_patch_is_that_of_the_exact_distances(seed: int) -> None:
    draw = np.random.default_rng(seed)
    one = draw.uniform(0.0, 1.0, (41, 29))
    other = one.copy()
    for _ in range(seed):
        i, j, size = (int(v) for v in draw.integers(0, 25, 3))
        other[i : i + size, j : j + size] += 3.0
    other[draw.random(other.shape) < 0.02] = one[draw.random(other.shape) < 0.02].max(initial=0.5)
    apart = np.abs(one - other) >= 1.0
    room = np.asarray(distance_transform_edt(np.pad(apart, 1)))[1:-1, 1:-1]
    cells, at = widest_patch(one, other, least_mm=1.0)
    assert cells == room.max()
    if cells > 0.0:
        assert at == np.unravel_index(int(np.argmax(room)), room.shape)


def test_a_strip_at_the_rim_of_the_page_is_as_wide_as_it_is() -> None:
    """worked: five rows of cells; the middle one lies three from the first row without, and from beyond the page."""
    one = np.zeros((31, 17))
    for rows in (slice(0, 5), slice(12, 17)):
        other = one.copy()
        other[:, rows] = 2.0
        assert widest_patch(one, other, least_mm=1.0)[0] == 3.0
        assert widest_patch(one.T, other.T, least_mm=1.0)[0] == 3.0


def test_tops_of_cells_are_those_of_the_highest_metal() -> None:
    draw = np.random.default_rng(3)
    metal = draw.random((9, 7, 12)) < 0.1
    heights = -4.0 + 0.5 * (np.arange(12) + 1.0)
    assert (cell_tops_mm(metal, low_mm=-4.0, cell_mm=0.5) == np.where(metal, heights, -np.inf).max(axis=2)).all()


@pytest.mark.parametrize("seed", range(8))
def test_a_jaw_closes_as_far_as_when_it_is_tried_step_by_step(seed: int) -> None:
    draw = np.random.default_rng(seed)
    deep = np.asarray(distance_transform_edt(draw.random((50, 60)) < 0.9)) * 0.1
    deep[:, 40:] = 0.0
    low, points = np.array([-2.0, -3.0]), draw.uniform(-3.0, 5.0, (200, 2))
    points[:, 1] += 4.0
    tops = np.where(deep > 0.2, np.arange(60), -1).max(axis=1)
    steps = [0.37 - 0.25 * k for k in range(40)]
    met = (k for k, y in enumerate(steps) if not is_clear(deep, low, 0.1, points, 0.11, y, 0.2))
    wanted = next(met, 40)
    assert first_blocked(deep, tops, low, 0.1, points, 0.11, 0.37, 0.25, 40, 0.2) == wanted
    assert 0 < wanted < 40
