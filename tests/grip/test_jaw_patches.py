"""Where jaws and work are sure to touch, worked by hand on small numbers."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from holding_cases import interval

from proveout.grip.jaw_patches import GONE_MM, THIN_MM, Patches, remaining_patches, whole_patches
from proveout.quantities.errors import OutOfRange

TOP, GAP = 20.0, 40.0


def whole(moves: int, *, length: Any = 80.0, height: Any = 20.0, aside: float = 0.0) -> Patches:
    return whole_patches(
        length_mm=length, height_mm=height, jaw_top_mm=TOP, middle_mm=0.0, aside_mm=aside, moves_count=moves
    )  # fmt: skip


def cut(patches: Patches, *boxes: tuple[tuple[float, float, float], tuple[float, float, float]]) -> Patches:
    low, high = (np.array([box[end] for box in boxes]) for end in (0, 1))
    return remaining_patches(patches, at_low_mm=low, at_high_mm=high, jaw_top_mm=TOP, jaw_gap_mm=GAP)


def row(patches: Patches, at: int) -> list[list[float]]:
    return [side[at].tolist() for side in (patches.length_mm, patches.height_mm, patches.along_mm, patches.up_mm)]


ABOVE = ((-50.0, -40.0, 20.0), (50.0, 0.0, 30.0))
AT_THE_JAW = ((10.0, -15.0, 5.0), (20.0, 0.0, 30.0))


def test_the_middle_of_a_patch_that_may_lose_height_may_lie_lower() -> None:
    """Worked: 14 to 20 mm of height below jaw tops at 20: the middle of 14 mm lies between 7 and 13."""
    found = whole(2, length=interval(70.0, 80.0), height=interval(14.0, 20.0), aside=5.0)
    assert row(found, 1) == [[70.0, 80.0], [14.0, 20.0], [-5.0, 5.0], [7.0, 13.0]]


def test_cuts_above_the_jaws_and_deep_inside_the_work_leave_the_patch_as_it_is() -> None:
    inside = ((-10.0, -30.0, 5.0), (10.0, -THIN_MM, 30.0))
    other = ((-10.0, THIN_MM - GAP, 5.0), (10.0, -20.0, 30.0))
    assert row(cut(whole(3), ABOVE, inside, other), 2) == row(whole(3), 2)


@pytest.mark.parametrize("deep", [0.0, 0.5, 1.9])
@pytest.mark.parametrize("side", ["fixed", "moving"])
def test_a_cut_at_either_jaw_or_close_behind_its_face_parts_the_patch(side: str, deep: float) -> None:
    """Worked: x 10 to 20 is gone down to 5, so 50 x 20 on the left is left: its middle at -15 and 10."""
    y = (-15.0, -deep) if side == "fixed" else (deep - GAP, -20.0)
    found = cut(whole(2), ABOVE, ((10.0, y[0], 5.0), (20.0, y[1], 30.0)))
    assert row(found, 0) == row(whole(2), 0)  # not before it is cut
    assert row(found, 1) == [[50.0, 80.0], [20.0, 20.0], [-15.0, -15.0], [10.0, 10.0]]


def test_a_shallow_cut_all_along_lowers_the_patch() -> None:
    """Worked: cut down to 15 over everything: 80 x 15, its middle at 7.5; down to -1 there is nothing left."""
    found = cut(whole(1), ((-60.0, -5.0, 15.0), (60.0, 0.0, 30.0)))
    assert row(found, 0) == [[80.0, 80.0], [15.0, 20.0], [0.0, 0.0], [7.5, 7.5]]
    gone = cut(whole(1), ((-60.0, -5.0, -1.0), (60.0, 0.0, 30.0)))
    assert gone.height_mm[0, 0] == GONE_MM


def test_metal_once_cut_stays_cut_and_cuts_add_up() -> None:
    """Worked: 10 to 20, then -30 to -20: what is left is 30 mm from -20 to 10; above them 80 x 5 is less."""
    second = ((-30.0, -40.0, 5.0), (-20.0, -36.0, 30.0))
    found = cut(whole(4), AT_THE_JAW, ABOVE, second, ABOVE)
    assert row(found, 1) == row(found, 0)
    assert row(found, 2) == [[30.0, 80.0], [20.0, 20.0], [-5.0, -5.0], [10.0, 10.0]]
    assert row(found, 3) == row(found, 2)


def test_corner_radius_and_burr_are_lost_of_what_is_left_too() -> None:
    """Worked: 76 to 80 by 18.5 to 20: of the 50 x 20 on the left 46 x 18.5 is sure, its middle anywhere inside."""
    found = cut(whole(1, length=interval(76.0, 80.0), height=interval(18.5, 20.0), aside=2.0), AT_THE_JAW)
    assert row(found, 0) == [[46.0, 80.0], [18.5, 20.0], [-17.0, -13.0], [9.25, 10.75]]


def test_a_patch_of_unknown_place_loses_whatever_is_cut_anywhere() -> None:
    """Worked: 40 mm of contact somewhere on 80: a cut 10 wide may lie in it and part it in two of 15.

    15 x 20 is less than 40 x 5 would be with the depth, and more with a cut that leaves 40 x 7.
    """
    somewhere = whole(1, length=40.0, aside=20.0)
    found = cut(somewhere, AT_THE_JAW)
    assert row(found, 0)[:2] == [[15.0, 40.0], [20.0, 20.0]]
    assert row(found, 0)[2] == [-32.5, 32.5]
    shallow = cut(somewhere, ((10.0, -15.0, 8.0), (20.0, 0.0, 30.0)))
    assert row(shallow, 0) == [[40.0, 40.0], [8.0, 20.0], [-20.0, 20.0], [4.0, 4.0]]


def drawn_cuts(draw: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    low = np.column_stack([draw.uniform(-40.0, 40.0, 6), draw.choice([-39.0, -3.0], 6), draw.uniform(-1.0, 25.0, 6)])
    return low, low + np.array([8.0, 3.0, 40.0])


def test_more_metal_cut_never_leaves_a_larger_patch() -> None:
    draw = np.random.default_rng(6)
    for _ in range(60):
        low, high = drawn_cuts(draw)
        found = remaining_patches(whole(6, length=50.0), at_low_mm=low, at_high_mm=high, jaw_top_mm=TOP, jaw_gap_mm=GAP)
        area = found.length_mm[:, 0] * found.height_mm[:, 0]
        assert (np.diff(area) <= 1e-9).all()


@pytest.mark.parametrize("aside", [0.0, 15.0])
def test_what_is_called_sure_is_there_wherever_the_patch_lies(aside: float) -> None:
    """Against a skyline of 0.1 mm: the largest rectangle there is no smaller, and the place told has room for it."""
    draw = np.random.default_rng(16)
    for _ in range(40):
        low, high = drawn_cuts(draw)
        found = remaining_patches(
            whole(6, length=50.0, aside=aside), at_low_mm=low, at_high_mm=high, jaw_top_mm=TOP, jaw_gap_mm=GAP
        )
        middle = draw.uniform(-aside, aside)
        x = np.arange(middle - 24.95, middle + 25.0, 0.1)
        skyline = np.full(len(x), TOP)
        for k in range(6):
            if low[k, 2] < TOP:
                skyline[(x > low[k, 0] - 0.05) & (x < high[k, 0] + 0.05)] = np.minimum(
                    skyline[(x > low[k, 0] - 0.05) & (x < high[k, 0] + 0.05)], max(0.0, low[k, 2])
                )
            length, height = found.length_mm[k, 0], found.height_mm[k, 0]
            if min(length, height) <= GONE_MM:
                continue
            stands = np.concatenate([[0], (skyline >= height - 1e-9).astype(int), [0]])
            begins, stops = np.flatnonzero(np.diff(stands) == 1), np.flatnonzero(np.diff(stands) == -1)
            assert (stops - begins).max() * 0.1 >= length - 0.25
            assert found.up_mm[k, 0] - height / 2.0 >= -1e-9
            assert found.up_mm[k, 1] + height / 2.0 <= TOP + 1e-9


def test_a_patch_without_size_is_refused() -> None:
    with pytest.raises(OutOfRange, match="above 0"):
        whole(1, height=interval(0.0, 3.0))
