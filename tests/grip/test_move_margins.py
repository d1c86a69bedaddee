"""The bound move by move: hand calculation, signed forces, corners of both boxes, and which way every end pushes."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from holding_cases import GripCase, grip_case, interval, loads_of, picked
from hypothesis import given
from hypothesis import strategies as st

from proveout.grip.jaw_patches import Patches, whole_patches
from proveout.grip.margins import MODES, grip_margins
from proveout.grip.move_margins import move_margins
from proveout.model.move_loads import MoveLoads
from proveout.quantities.errors import OutOfRange
from proveout.quantities.interval import ends

GRIP: dict[str, Any] = {"preload_n": 16000.0, "friction_ratio": 0.3, "jaw_gap_mm": 40.0, "yield_mpa": 240.0}


def patch(length: Any = 80.0, height: Any = 20.0, *, moves: int = 1, aside: float = 0.0) -> Patches:
    """Jaw tops 20 mm above the seat, their middle at x = 0: the middle of a patch 20 mm high lies at z = 10."""
    return whole_patches(
        length_mm=length, height_mm=height, jaw_top_mm=20.0, middle_mm=0.0, aside_mm=aside, moves_count=moves
    )  # fmt: skip


def at(x: float, y: float, z: float) -> tuple[float, float, float]:
    """A place given from the middle between the patches."""
    return x, y - 20.0, z + 10.0


def one(force: Any, place: tuple[float, float, float], **more: Any) -> MoveLoads:
    return loads_of(force, force, at(*place), at(*place), **more)


def test_signed_moments_of_a_case_worked_by_hand() -> None:
    """Worked. a = 40, b = 10, g = 40, kappa g^2 / 4 = 80; F = (600, 500, 200) at r = (20, 10, 35).

    M_x = 10 200 - 35 500 = -15 500; M_y = 35 600 - 20 200 = 17 000; M_z = 20 500 - 10 600 = 4000.
    E = 15 500 0.0882353 + 4000 0.0652174 = 1367.65 + 260.87 = 1628.52.
    D_x = 600 + 200 + 3 17 000 10 / 1700 = 1100. D_z = 200 + 775 + 3 17 000 40 / 1700 = 2175. D = 2437.34.
    Grasp 0.3 (31 000 - 1628.52) = 8811.45. Bearing (16 500 + 814.26) / 1600 = 10.8214.
    Reserve 9600 / (2437.34 + 0.3 (1000 + 1628.52)) = 2.9760.
    """
    found = move_margins(one((600.0, 500.0, 200.0), (20.0, 10.0, 35.0)), patch(), **GRIP)
    margin = dict(zip(MODES, found.margins[0].tolist(), strict=True))
    assert found.wrench[0, 0].tolist() == pytest.approx([600.0, 500.0, 200.0, -15500.0, 17000.0, 4000.0])
    assert margin["slip"] == pytest.approx(1.0 - 2437.34 / 8811.45, abs=1e-5)
    assert margin["slide"] == pytest.approx(1.0 - 1100.0 / 8811.45, abs=1e-5)
    assert margin["lift"] == pytest.approx(1.0 - 2175.0 / 8811.45, abs=1e-5)
    assert margin["tip"] == pytest.approx(1.0 - 15500.0 / 186000.0, abs=1e-9)
    assert margin["turn"] == pytest.approx(1.0 - 4000.0 / 186000.0, abs=1e-9)
    assert margin["swing"] == pytest.approx(1.0 - 17000.0 / (0.2 * 15500.0 * math.hypot(40.0, 10.0)), abs=1e-9)
    assert margin["gape"] == pytest.approx(1.0 - 1628.52 / 31000.0, abs=1e-6)
    assert found.pressure_mpa[0] == pytest.approx(10.8214, abs=1e-4)
    assert found.reserve_ratio[0] == pytest.approx(2.9760, abs=1e-4)
    assert (found.worst, found.mode_of(0), found.holds) == (0, "slip", True)


def test_a_push_through_the_middle_of_the_patches_makes_no_moment_at_all() -> None:
    """Worked: 1613 N along the jaws in the middle: 2 0.3 16 000 / 1613 = 5.9516; by sizes alone the same."""
    found = move_margins(one((1613.0, 0.0, 0.0), (0.0, 0.0, 0.0)), patch(), **GRIP)
    assert found.reserve_ratio[0] == pytest.approx(9600.0 / 1613.0)
    # 20 mm aside it turns nothing, and lifting there swings the work by as much as a push 20 mm up does
    along, aside = (
        move_margins(one(f, p), patch(), **GRIP).reserve_ratio[0]
        for f, p in (((1000.0, 0.0, 0.0), (20.0, 0.0, 0.0)), ((0.0, 0.0, 1000.0), (20.0, 0.0, 0.0)))
    )
    assert along == pytest.approx(9.6)
    assert aside < along


def test_a_drills_torque_turns_the_work_about_its_own_axis_worked_by_hand() -> None:
    """Worked. 100 N m about z: D_x = 2 100 000 / 40 = 5000, E = 100 000 0.0652174 = 6521.74; 9600 / (5000 + 1956.5)."""
    found = move_margins(one((0.0, 0.0, 0.0), (25.0, 7.0, 3.0), couple=[100e3]), patch(), **GRIP)
    assert found.reserve_ratio[0] == pytest.approx(9600.0 / (5000.0 + 0.3 * 6521.74), abs=1e-4)
    # about y it swings: 3 100 000 / 1700 of 10 along and of 40 up
    across = one((0.0, 0.0, 0.0), (25.0, 7.0, 3.0), couple=[100e3], axis=(0.0, 1.0, 0.0))
    swung = move_margins(across, patch(), **GRIP).reserve_ratio[0]
    assert swung == pytest.approx(9600.0 / (3.0 * 100e3 / 1700.0 * math.hypot(40.0, 10.0)), abs=1e-6)
    # either way round counts: against a push that it helps and one that it does not
    for turn in (-1.0, 1.0):
        pushed = one((0.0, 0.0, turn * 200.0), (10.0, 0.0, 0.0), couple=[3e3], axis=(0.0, 1.0, 0.0))
        assert abs(move_margins(pushed, patch(), **GRIP).wrench[0, 0, 4]) == pytest.approx(5000.0)


def test_forces_of_any_sign_at_any_place_are_never_worse_than_the_bound_by_sizes() -> None:
    """Boxes that are even about the middle: each moment alone comes out as by sizes, all three at once cannot.

    Where one of the six numbers is 0 they can, and the two bounds are one.
    """
    draw = np.random.default_rng(7)
    sharper = 0
    for number in range(200):
        size, off = draw.uniform(0.0, 900.0, 3), draw.uniform(10.0, 60.0, 3)
        if number % 2:
            (size if number % 4 == 1 else off)[number // 4 % 2] = 0.0
        found = move_margins(loads_of(-size, size, at(*-off), at(*off)), patch(), **GRIP)
        known = grip_margins(
            **GRIP, patch_length_mm=80.0, patch_height_mm=20.0, force_along_n=size[0], force_across_n=size[1],
            force_up_n=size[2], cut_height_mm=off[2] - 10.0, offset_along_mm=off[0], offset_across_mm=off[1],
        )  # fmt: skip
        for mode, margin in zip(MODES, found.margins[0], strict=True):
            assert margin >= getattr(known, mode).margin - 1e-9
            if mode in {"tip", "swing", "turn"} or number % 2:
                assert margin == pytest.approx(getattr(known, mode).margin, abs=1e-9)
        assert found.reserve_ratio[0] >= known.reserve_ratio * (1.0 - 1e-12)
        if number % 2:
            assert found.reserve_ratio[0] == pytest.approx(known.reserve_ratio)
        sharper += bool(found.reserve_ratio[0] > known.reserve_ratio * 1.01)
    assert sharper > 50


def test_no_load_within_the_boxes_is_worse_than_their_corners() -> None:
    """Six hundred moves, each with twenty loads and places drawn from within its boxes."""
    draw = np.random.default_rng(11)
    for _ in range(30):
        case = grip_case(draw, moves=20, near=True)
        found, loads = case.margins(), case.loads
        for _ in range(20):
            force, place = (
                low + draw.random(low.shape) * (high - low)
                for low, high in ((loads.force_low_n, loads.force_high_n), (loads.at_low_mm, loads.at_high_mm))
            )
            exact = loads_of(force, force, place, place, couple=draw.random(20) * loads.couple_n_mm, axis=loads.axis)
            inner = GripCase(exact, case.patches, case.preload_n, case.friction_ratio, case.gap_mm).margins()
            assert (inner.reserve_ratio >= found.reserve_ratio * (1.0 - 1e-12)).all()
            assert (inner.margins >= found.margins - 1e-12).all()
            assert (inner.pressure_mpa <= found.pressure_mpa * (1.0 + 1e-12)).all()


@pytest.mark.parametrize("axis", [(0.0, 0.0, 1.0), (0.0, 0.6, 0.8), (1.0, 0.0, 0.0), (0.48, -0.6, 0.64)])
def test_no_force_across_and_along_the_axis_is_worse_than_the_prism_about_them(axis: tuple[float, ...]) -> None:
    """500 N any way across and 200 N along, drawn at their largest; the boxes alone say less than box and prism."""
    draw, low, high = np.random.default_rng(13), at(-10.0, -5.0, 20.0), at(30.0, 15.0, 35.0)
    upright = np.array(axis)
    reach = 500.0 * np.sqrt(1.0 - upright**2) + 200.0 * np.abs(upright)
    box = loads_of(-reach, reach, low, high, axis=axis)
    known = {"across_n": 500.0, "along_n": 200.0}
    alone, both = move_margins(box, patch(), **GRIP), move_margins(box, patch(), **GRIP, **known)
    assert (both.margins >= alone.margins).all()
    assert alone.reserve_ratio[0] < both.reserve_ratio[0] < 1.8 * alone.reserve_ratio[0]
    assert both.pressure_mpa[0] <= alone.pressure_mpa[0]
    nearest = 99.0
    for _ in range(800):
        heading = np.cross(upright, draw.normal(size=3))
        force = 500.0 * heading / np.linalg.norm(heading) + draw.choice([-200.0, 200.0]) * upright
        place = np.where(draw.random(3) < 0.5, low, high)
        inner = move_margins(loads_of(force, force, place, place, axis=axis), patch(), **GRIP)
        assert (inner.margins >= both.margins - 1e-12).all()
        assert inner.pressure_mpa[0] <= both.pressure_mpa[0] + 1e-12
        nearest = min(nearest, inner.reserve_ratio[0])
    assert nearest < 1.03 * both.reserve_ratio[0]


def test_an_interval_of_patch_is_no_better_than_any_patch_inside_it() -> None:
    draw = np.random.default_rng(12)
    wide = patch(interval(20.0, 80.0), interval(3.0, 20.0), aside=30.0)
    for number in range(40):
        # a couple alone presses hardest on a patch between the shortest and the longest
        turned = {"couple": [5e4]} if number % 4 == 0 else {}
        force = np.zeros(3) if turned else draw.uniform(-500.0, 500.0, 3)
        load = one(force, tuple(draw.uniform(-40.0, 40.0, 3)), **turned)
        whole = move_margins(load, wide, **GRIP)
        for _ in range(40):
            length, height = draw.uniform(20.0, 80.0), draw.uniform(3.0, 20.0)
            x, z = draw.uniform(-(80.0 - length) / 2.0, (80.0 - length) / 2.0), draw.uniform(0.0, 20.0 - height)
            inner = Patches(
                length_mm=np.full((1, 2), length), height_mm=np.full((1, 2), height), along_mm=np.full((1, 2), x),
                up_mm=np.full((1, 2), z + height / 2.0),
            )  # fmt: skip
            found = move_margins(load, inner, **GRIP)
            assert (whole.margins <= found.margins + 1e-12).all()
            assert whole.reserve_ratio[0] <= found.reserve_ratio[0] * (1.0 + 1e-12)


ENDS = (
    "force low", "force high", "couple", "place low", "place high", "preload low", "preload high", "friction", "yield",
    "length", "height", "along", "up", "stiffness",
)  # fmt: skip


@given(st.sampled_from(ENDS), st.integers(0, 10_000), st.floats(0.0, 2.0))
def test_moving_any_end_against_us_never_raises_a_margin(which: str, seed: int, by: float) -> None:
    draw = np.random.default_rng(seed)
    case = grip_case(draw, moves=6, near=bool(seed % 2))
    loads, patches = case.loads, case.patches
    given_: dict[str, Any] = {
        "preload_n": case.preload_n, "friction_ratio": case.friction_ratio, "yield_mpa": interval(200.0, 240.0)
    }  # fmt: skip
    before = move_margins(loads, patches, jaw_gap_mm=case.gap_mm, **given_)
    share, axis = by / 2.0, int(draw.integers(0, 3))
    step = np.zeros((6, 3))
    step[:, axis] = by * 40.0
    if which == "couple":
        loads = msgspec.structs.replace(loads, couple_n_mm=loads.couple_n_mm * (1.0 + by) + by)
    elif which in {"force low", "place low"}:
        name = "force_low_n" if which == "force low" else "at_low_mm"
        loads = msgspec.structs.replace(loads, **{name: getattr(loads, name) - step})
    elif which in {"force high", "place high"}:
        name = "force_high_n" if which == "force high" else "at_high_mm"
        loads = msgspec.structs.replace(loads, **{name: getattr(loads, name) + step})
    elif which in {"preload low", "friction", "yield"}:
        name = {"preload low": "preload_n", "friction": "friction_ratio", "yield": "yield_mpa"}[which]
        known = given_[name]
        given_[name] = msgspec.structs.replace(known, low=known.low * (1.0 - 0.9 * share))
    elif which == "preload high":
        given_["preload_n"] = msgspec.structs.replace(case.preload_n, high=case.preload_n.high * (1.0 + by))
    elif which in {"length", "height"}:
        side = getattr(patches, f"{which}_mm").copy()
        side[:, 0] *= 1.0 - 0.9 * share
        patches = msgspec.structs.replace(patches, **{f"{which}_mm": side})
    elif which in {"along", "up"}:
        place = getattr(patches, f"{which}_mm") + by * 20.0 * np.array([-1.0, 0.0])
        patches = msgspec.structs.replace(patches, **{f"{which}_mm": place})
    else:
        given_["stiffness_ratio"] = 0.2 * (1.0 - 0.9 * share)
    after = move_margins(loads, patches, jaw_gap_mm=case.gap_mm, **given_)
    assert (after.margins <= before.margins + 1e-9).all()
    assert (after.reserve_ratio <= before.reserve_ratio * (1.0 + 1e-9)).all()
    assert (after.pressure_mpa >= before.pressure_mpa * (1.0 - 1e-9)).all()


def test_forces_grown_by_the_reserve_just_begin_to_slip() -> None:
    draw = np.random.default_rng(4)
    case = grip_case(draw, moves=30, near=False)
    found = case.margins()
    for grown, holds in ((1.0 - 1e-9, True), (1.0 + 1e-6, False)):
        share = found.reserve_ratio * grown
        loads = loads_of(
            case.loads.force_low_n * share[:, None], case.loads.force_high_n * share[:, None], case.loads.at_low_mm,
            case.loads.at_high_mm, couple=case.loads.couple_n_mm * share, axis=case.loads.axis,
        )  # fmt: skip
        again = GripCase(loads, case.patches, case.preload_n, case.friction_ratio, case.gap_mm).margins()
        assert ((again.margins[:, MODES.index("slip")] >= 0.0) == holds).all()
    # what the grip spends does not hang on the preload: one less by the reserve holds no more and no less
    again = case.margins(preload_n=ends(case.preload_n)[0] / float(found.reserve_ratio[3]))
    assert again.reserve_ratio[3] == pytest.approx(1.0)


def test_half_the_force_has_twice_the_reserve() -> None:
    case = grip_case(np.random.default_rng(9), moves=20, near=False)
    assert case.margins(scale_ratio=0.5).reserve_ratio == pytest.approx(2.0 * case.margins().reserve_ratio)


def test_without_moves_nothing_is_found_and_nothing_breaks() -> None:
    nothing = np.zeros((0, 3))
    found = move_margins(loads_of(nothing, nothing, nothing, nothing), patch(moves=0), **GRIP)
    assert (found.worst, len(found.reserve_ratio), found.holds) == (-1, 0, True)


def test_no_load_leaves_only_the_pressure() -> None:
    found = move_margins(one((0.0, 0.0, 0.0), (5.0, 5.0, 5.0)), patch(), **GRIP)
    assert found.reserve_ratio[0] == 999.0
    assert found.pressure_mpa[0] == 10.0
    assert found.margins[0, MODES.index("slip")] == 1.0


@pytest.mark.parametrize(
    ("changed", "load", "limit"),
    [
        ({"preload_n": -1.0}, one((1.0, 1.0, 1.0), (0.0, 0.0, 0.0)), "0 or more"),
        ({"friction_ratio": 1.1}, one((1.0, 1.0, 1.0), (0.0, 0.0, 0.0)), "0.0 to 1.0"),
        ({"jaw_gap_mm": 0.0}, one((1.0, 1.0, 1.0), (0.0, 0.0, 0.0)), "above 0"),
        ({}, loads_of((2.0, 0.0, 0.0), (1.0, 0.0, 0.0), at(0, 0, 0), at(0, 0, 0)), "low <= high"),
        ({}, one((float("nan"), 0.0, 0.0), (0.0, 0.0, 0.0)), "low <= high"),
        ({}, one((1.0, 0.0, 0.0), (0.0, 0.0, 0.0), couple=[-1.0]), "0 or more"),
        ({}, loads_of(np.ones((2, 3)), np.ones((2, 3)), np.ones((2, 3)), np.ones((2, 3))), "one patch for each move"),
    ],
)
def test_numbers_out_of_bounds_are_refused(changed: dict[str, Any], load: MoveLoads, limit: str) -> None:
    with pytest.raises(OutOfRange, match=limit):
        move_margins(load, patch(), **{**GRIP, **changed})


def test_picked_loads_lie_within_their_boxes() -> None:
    """The judges of the other file are asked about loads that the boxes hold, some of them at corners."""
    draw = np.random.default_rng(3)
    case = grip_case(draw, moves=200, near=True)
    one_each = picked(draw, case, np.arange(200))
    assert (one_each.force_n >= case.loads.force_low_n - 1e-9).all()
    assert (one_each.force_n <= case.loads.force_high_n + 1e-9).all()
    corners = ((one_each.force_n == case.loads.force_low_n) | (one_each.force_n == case.loads.force_high_n)).all(axis=1)
    assert 0.2 < corners.mean() < 1.0
    assert (one_each.half_length_mm * 2.0 >= case.patches.length_mm[:, 0] - 1e-9).all()
