"""An offset follows readings only where they show that a size lies off, and never far at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.gauging.offsets import offset_mm
from proveout.quantities.errors import OutOfRange

AIM, CAP = 20.0, 0.02
WIGGLE = (0.001, -0.001, 0.0015, -0.0005, 0.0, 0.001, -0.0012, 0.0003)


def found(readings: list[float], *, gauge_mm: float = 0.0, cap_mm: float = CAP):  # noqa: ANN201 - an Offset
    return offset_mm(readings_mm=readings, aim_mm=AIM, gauge_mm=gauge_mm, cap_mm=cap_mm)


def test_parts_that_read_large_are_moved_back_by_as_much() -> None:
    told = found([AIM + 0.012 + one for one in WIGGLE])
    assert told.off == pytest.approx(0.012, abs=2e-4)
    assert told.added == pytest.approx(-told.off)
    assert not told.is_capped


@given(st.floats(-0.03, 0.03), st.floats(0.1, 2.0))
@settings(max_examples=50, deadline=None)
def test_what_is_added_moves_readings_towards_the_aim_and_never_beyond_or_far(off: float, scale: float) -> None:
    told = found([AIM + off + scale * one for one in WIGGLE])
    assert abs(told.added) <= CAP
    assert told.added * told.off <= 0.0
    assert abs(told.added) <= abs(told.off) + 1e-12


def test_a_far_readings_change_is_capped_and_says_so() -> None:
    told = found([AIM + 0.05 + one for one in WIGGLE])
    assert (told.added, told.is_capped) == (-CAP, True)


def test_fewer_than_four_readings_say_nothing() -> None:
    assert found([AIM + 0.015] * 3).added == 0.0


def test_a_single_reading_inside_the_limits_moves_nothing() -> None:
    calm = [AIM + one for one in WIGGLE]
    for at in range(len(calm)):
        told = found([*calm[:at], AIM + 0.0035, *calm[at + 1 :]])
        assert told.added == 0.0


def test_good_work_is_left_alone_nearly_always() -> None:
    """Chance alone must not ask: of 400 runs of 12 good readings at most 3 % do, and never by more than it is off."""
    draw = np.random.default_rng(9)
    asked = sum(found(list(AIM + draw.normal(0.0, 0.002, 12))).added != 0.0 for _ in range(400))
    assert asked <= 12


def test_what_the_gauge_cannot_tell_is_left_alone() -> None:
    readings = [AIM + 0.008 + 0.1 * one for one in WIGGLE]
    assert found(readings, gauge_mm=0.010).added == 0.0
    assert found(readings, gauge_mm=0.004).added != 0.0


@pytest.mark.parametrize("wrong", [{"readings_mm": []}, {"cap_mm": 0.0}, {"gauge_mm": -1.0}, {"aim_mm": float("nan")}])
def test_arguments_out_of_bounds_are_refused(wrong: dict[str, object]) -> None:
    given: dict[str, object] = {"readings_mm": [1.0], "aim_mm": 1.0, "gauge_mm": 0.0, "cap_mm": 0.1, **wrong}
    with pytest.raises(OutOfRange):
        offset_mm(**given)  # type: ignore[arg-type]
