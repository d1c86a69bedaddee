"""The grip bound: what hand calculation says, what intervals do, and which way every input pushes."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.grip.clamp_force import jaw_pressure_mpa
from proveout.grip.margins import MODES, grip_margins, preload_needed_n
from proveout.model.fact import Fact, exact_fact
from proveout.quantities.errors import OutOfRange

GRIP: dict[str, Any] = {
    "preload_n": 16000.0,
    "friction_ratio": 0.3,
    "patch_length_mm": 80.0,
    "patch_height_mm": 20.0,
    "jaw_gap_mm": 40.0,
    "force_along_n": 600.0,
    "force_across_n": 500.0,
    "force_up_n": 200.0,
    "cut_height_mm": 25.0,
    "offset_along_mm": 20.0,
    "yield_mpa": 240.0,
    "offset_across_mm": 10.0,
}


def fact(low: float, high: float) -> Fact:
    return Fact(low=low, nominal=0.5 * (low + high), high=high, unit="", source="test", strength="assumed")


def test_every_term_of_a_case_worked_by_hand() -> None:
    """Worked. h = 25 + 10 = 35, a = 40, b = 10, g = 40, kappa 0.2.

    M_x = 35 * 500 + 10 * 200 = 19 500; M_y = 35 * 600 + 20 * 200 = 25 000; M_z = 20 * 500 + 10 * 600 = 16 000.
    kappa g^2 / 4 = 80. 3 s_x / b = 10 / (33.333 + 80) = 0.088235; 3 s_z / a = 40 / (533.333 + 80) = 0.065217.
    E = 19 500 * 0.088235 + 16 000 * 0.065217 = 1720.59 + 1043.48 = 2764.07.
    D_x = 600 + 2 * 16 000 / 40 + 3 * 25 000 * 10 / 1700 = 600 + 800 + 441.18 = 1841.18.
    D_z = 200 + 2 * 19 500 / 40 + 3 * 25 000 * 40 / 1700 = 200 + 975 + 1764.71 = 2939.71.
    D = 3468.69. Capacity 0.3 * (2 * 15 500 - 2764.07) = 8470.78.
    Bearing (16 500 + 1382.04) / 1600 = 11.176. Tip 0.3 * 15 500 * 40 = 186 000.
    Reserve 2 * 0.3 * 16 000 / (3468.69 + 0.3 * (1000 + 2764.07)) = 9600 / 4597.91 = 2.0879.
    """
    found = grip_margins(**GRIP)
    assert found.slide.demand == pytest.approx(1841.18, abs=0.01)
    assert found.lift.demand == pytest.approx(2939.71, abs=0.01)
    assert found.slip.demand == pytest.approx(3468.69, abs=0.02)
    assert found.slip.capacity == pytest.approx(8470.78, abs=0.01)
    assert found.slip.margin == pytest.approx(1.0 - 3468.69 / 8470.78, abs=1e-5)
    assert found.gape.demand == pytest.approx(2764.07, abs=0.01)
    assert found.gape.capacity == 31000.0
    assert (found.tip.demand, found.tip.capacity) == pytest.approx((19500.0, 186000.0))
    assert (found.swing.demand, found.turn.demand) == pytest.approx((25000.0, 16000.0))
    assert found.bearing.demand == pytest.approx(11.176, abs=0.001)
    assert found.reserve_ratio == pytest.approx(2.0879, abs=0.0001)
    assert found.worst == "slip"
    assert found.holds


def test_a_pure_slide_through_the_middle_needs_what_two_faces_give() -> None:
    """Worked: 1613 N, mu 0.2: 4032.5 N a jaw, 2.5 times that is the published 10 081 N."""
    pure = {**GRIP, "force_along_n": 1613.0, "force_across_n": 0.0, "force_up_n": 0.0, "offset_across_mm": 0.0}
    pure |= {"friction_ratio": 0.2, "offset_along_mm": 0.0, "cut_height_mm": 0.0, "patch_height_mm": 1e-9}
    del pure["preload_n"], pure["yield_mpa"]
    assert preload_needed_n(**pure) == pytest.approx(4032.5, rel=1e-6)


def test_the_preload_needed_is_where_slip_begins() -> None:
    given_ = {name: value for name, value in GRIP.items() if name not in {"preload_n", "yield_mpa"}}
    needed = preload_needed_n(**given_)
    assert grip_margins(**{**GRIP, "preload_n": needed}).slip.margin == pytest.approx(0.0, abs=1e-9)
    assert grip_margins(**{**GRIP, "preload_n": 0.999 * needed}).slip.margin < 0.0


def test_forces_grown_by_the_reserve_just_begin_to_slip() -> None:
    reserve = grip_margins(**GRIP).reserve_ratio
    grown = {name: reserve * GRIP[name] for name in ("force_along_n", "force_across_n", "force_up_n")}
    assert grip_margins(**{**GRIP, **grown}).slip.margin == pytest.approx(0.0, abs=1e-9)


def test_without_friction_nothing_holds() -> None:
    found = grip_margins(**{**GRIP, "friction_ratio": 0.0})
    assert not found.holds
    assert found.slip.margin == -9.99


def test_a_push_across_as_large_as_the_preload_leaves_nothing() -> None:
    assert not grip_margins(**{**GRIP, "force_across_n": 16000.0}).holds


def test_no_load_leaves_only_the_pressure() -> None:
    quiet = {**GRIP, "force_along_n": 0.0, "force_across_n": 0.0, "force_up_n": 0.0}
    found = grip_margins(**quiet)
    assert found.slip.margin == 1.0
    assert found.reserve_ratio == 999.0
    assert found.bearing.demand == jaw_pressure_mpa(preload_n=16000.0, patch_length_mm=80.0, patch_height_mm=20.0)
    assert found.bearing.demand == 10.0


def test_a_shallow_grip_on_a_small_piece_crushes_it() -> None:
    """Worked: 20 kN on 2 x 38 mm is 263 MPa, over a yield of 240."""
    found = grip_margins(**{**GRIP, "preload_n": 20000.0, "patch_length_mm": 38.0, "patch_height_mm": 2.0})
    assert found.bearing.demand > 263.0
    assert found.bearing.margin < 0.0


def test_intervals_count_at_their_worst_ends() -> None:
    wide = {
        **GRIP,
        "preload_n": fact(15000.0, 20000.0),
        "friction_ratio": fact(0.25, 0.4),
        "force_along_n": fact(300.0, 600.0),
        "yield_mpa": fact(240.0, 276.0),
    }
    found = grip_margins(**wide)
    low = grip_margins(**{**GRIP, "preload_n": 15000.0, "friction_ratio": 0.25})
    high = grip_margins(**{**GRIP, "preload_n": 20000.0})
    assert found.slip == low.slip
    assert found.bearing == high.bearing


def test_an_interval_of_patch_is_no_better_than_any_patch_inside_it() -> None:
    wide = grip_margins(**{**GRIP, "patch_height_mm": fact(2.0, 30.0), "patch_length_mm": fact(10.0, 80.0)})
    for height in range(2, 31):
        for length in range(10, 81, 10):
            one = grip_margins(**{**GRIP, "patch_height_mm": float(height), "patch_length_mm": float(length)})
            for name in MODES:
                assert getattr(wide, name).margin <= getattr(one, name).margin + 1e-12


def test_a_fact_without_spread_equals_the_plain_number() -> None:
    facts: dict[str, Any] = {name: exact_fact(value, "", "test", "assumed") for name, value in GRIP.items()}
    assert grip_margins(**facts) == grip_margins(**GRIP)


@pytest.mark.parametrize(
    ("name", "factor", "better"),
    [
        ("preload_n", 1.1, True),
        ("friction_ratio", 1.1, True),
        ("patch_length_mm", 1.1, True),
        ("force_along_n", 1.1, False),
        ("force_across_n", 1.1, False),
        ("force_up_n", 1.1, False),
        ("cut_height_mm", 1.1, False),
        ("offset_along_mm", 1.1, False),
        ("offset_across_mm", 1.1, False),
    ],
)
def test_which_way_each_input_pushes_slip(name: str, factor: float, better: bool) -> None:  # noqa: FBT001
    plain = grip_margins(**GRIP).slip.margin
    changed = grip_margins(**{**GRIP, name: factor * GRIP[name]}).slip.margin
    assert (changed > plain) is better
    assert changed != plain


def test_the_cut_may_lie_anywhere_across_unless_told() -> None:
    unknown = {name: value for name, value in GRIP.items() if name != "offset_across_mm"}
    assert grip_margins(**unknown) == grip_margins(**{**GRIP, "offset_across_mm": 20.0})


@given(st.data())
def test_slip_contains_slide_lift_tip_turn_and_swing(data: st.DataObject) -> None:
    case = {name: data.draw(st.floats(0.2, 5.0), label=name) * value for name, value in GRIP.items()}
    case["friction_ratio"] = min(1.0, case["friction_ratio"])
    found = grip_margins(**case)
    for name in ("slide", "lift", "tip", "turn", "swing"):
        assert found.slip.margin <= getattr(found, name).margin + 1e-9


@given(st.floats(0.01, 100.0), st.floats(0.01, 100.0))
def test_margins_do_not_depend_on_the_units_of_length_and_force(length: float, force: float) -> None:
    scaled: dict[str, Any] = dict(GRIP)
    for name, value in GRIP.items():
        if name.endswith("_mm"):
            scaled[name] = value * length
        elif name.endswith("_n"):
            scaled[name] = value * force
        elif name.endswith("_mpa"):
            scaled[name] = value * force / length**2
    plain, other = grip_margins(**GRIP), grip_margins(**scaled)
    for name in MODES:
        assert math.isclose(getattr(plain, name).margin, getattr(other, name).margin, rel_tol=1e-9, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("preload_n", -1.0),
        ("friction_ratio", 1.2),
        ("patch_height_mm", 0.0),
        ("jaw_gap_mm", 0.0),
        ("force_up_n", -1.0),
        ("cut_height_mm", -0.1),
        ("yield_mpa", 0.0),
        ("force_along_n", float("inf")),
        ("preload_n", float("nan")),
    ],
)
def test_numbers_out_of_bounds_are_refused(name: str, value: float) -> None:
    with pytest.raises(OutOfRange, match=r"(?s)out of range|below 0"):
        grip_margins(**{**GRIP, name: value})
