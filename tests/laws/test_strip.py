"""A strip of changing section against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.grip.strip import varying_strip_load_n
from proveout.quantities.errors import OutOfRange

MODULUS, LONG = 68_900.0, 100.0


def load(moments: list[float] | np.ndarray, *, long: float = LONG) -> float:
    return varying_strip_load_n(elastic_mpa=MODULUS, second_moments_mm4=np.array(moments), length_mm=long)


def test_alike_everywhere_it_is_the_column_of_euler() -> None:
    """Worked: I = 80 x 27 / 12 = 180 mm^4: pi^2 x 68 900 x 180 / 10 000 = 12 240.3 N; n = 10 gives
    400 sin^2(9 deg) / pi^2 = 0.99181 of it, n = 100 0.999918: always below."""
    exact = math.pi**2 * MODULUS * 180.0 / LONG**2
    assert exact == pytest.approx(12_240.3, abs=0.5)
    assert load([180.0] * 10) == pytest.approx(0.99181 * exact, rel=1e-4)
    assert load([180.0] * 100) == pytest.approx(0.999918 * exact, rel=1e-5)


def test_a_column_of_two_halves_follows_the_closed_form() -> None:
    """Worked: halves of I1 and I2 = 4 I1, ends free: tan(k1 a) / k1 + tan(k2 a) / k2 = 0 with k2 = k1 / 2, a = L / 2;
    with t = tan(k1 a / 2): 2 t / (1 - t^2) + 2 t = 0, so t^2 = 2, k1 a = 2 atan(sqrt 2) = 1.910633; P = E I1 k1^2."""
    exact = MODULUS * 180.0 * (2.0 * math.atan(math.sqrt(2.0)) / 50.0) ** 2
    assert load([180.0] * 80 + [720.0] * 80) == pytest.approx(exact, rel=5e-3)


def test_a_slot_right_across_is_a_hinge_and_a_thin_place_at_a_jaw_is_not() -> None:
    assert load([180.0] * 20 + [0.0] + [180.0] * 20) == 0.0
    whole = load([180.0] * 40)
    # the bow is greatest in the middle: thin there costs much, thin where it is pressed next to nothing
    middle = load([180.0] * 19 + [18.0] * 2 + [180.0] * 19)
    end = load([18.0] * 2 + [180.0] * 38)
    assert middle < 0.6 * whole
    assert 0.97 * whole < end < whole


@given(st.lists(st.floats(1.0, 1000.0), min_size=8, max_size=30))
def test_it_lies_between_the_least_and_the_largest_section(moments: list[float]) -> None:
    found = load(moments)
    assert load([min(moments)] * len(moments)) <= found * (1.0 + 1e-9)
    assert found <= load([max(moments)] * len(moments)) * (1.0 + 1e-9)
    assert load([2.0 * m for m in moments]) == pytest.approx(2.0 * found, rel=1e-9)
    assert load(moments, long=50.0) == pytest.approx(4.0 * found, rel=1e-9)
    assert load(moments[::-1]) == pytest.approx(found, rel=1e-6)


@pytest.mark.parametrize("moments", [[1.0] * 7, [1.0] * 8 + [-1.0], [math.nan] * 8])
def test_what_is_no_strip_is_refused(moments: list[float]) -> None:
    with pytest.raises(OutOfRange):
        load(moments)
    with pytest.raises(OutOfRange):
        load([1.0] * 8, long=0.0)
