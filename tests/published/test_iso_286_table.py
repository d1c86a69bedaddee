"""ISO 286-1, standard tolerance grades, as reproduced on an engineering page (printed, as quoted)."""

from __future__ import annotations

import pytest

from proveout.quantities.coat import clearance_mm
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import grade_mm, hole_h_limits_mm, shaft_h_limits_mm

ROWS = [
    # size on and just above a step; grade; micrometres
    (3.0, 5, 4),
    (25.0, 5, 9),
    (3.0, 6, 6),
    (3.001, 6, 8),
    (10.0, 7, 15),
    (10.1, 7, 18),
    (18.0, 8, 27),
    (20.0, 8, 33),
    (25.0, 7, 21),
    (50.0, 9, 62),
    (80.0, 10, 120),
    (120.0, 11, 220),
    (121.0, 12, 400),
    (250.0, 13, 720),
    (315.0, 14, 1300),
]
STEPS = [(1, 3), (3, 6), (6, 10), (10, 18), (18, 30), (30, 50), (50, 80), (80, 120), (120, 180), (180, 250), (250, 315)]


@pytest.mark.parametrize(("size_mm", "grade", "printed_um"), ROWS)
def test_grades(size_mm: float, grade: int, printed_um: int) -> None:
    assert grade_mm(grade=grade, size_mm=size_mm) * 1000.0 == pytest.approx(printed_um, abs=1e-9)


@pytest.mark.parametrize(
    ("grade", "units"), [(5, 7), (6, 10), (7, 16), (8, 25), (9, 40), (10, 64), (11, 100), (12, 160)]
)
def test_the_whole_table_follows_the_standards_own_formula(grade: int, units: int) -> None:
    """i = 0.45 cbrt D + 0.001 D at the geometric mean of a step.

    Rounded to whole micrometres either way, large values to round numbers, up to 6 %; neighbouring rows differ by 12 %
    or more, so a slipped row shows. The first step is left out: its printed values lie 15 % above the formula.
    """
    for low, high in STEPS[1:]:
        middle = (low * high) ** 0.5
        formula_um = units * (0.45 * middle ** (1.0 / 3.0) + 0.001 * middle)
        assert grade_mm(grade=grade, size_mm=float(high)) * 1000.0 == pytest.approx(formula_um, rel=0.06, abs=0.99)


def test_holes_grow_up_and_shafts_down() -> None:
    """Printed: 25 H7 is +21 and 0."""
    assert hole_h_limits_mm(size_mm=25.0, grade=7) == pytest.approx((25.0, 25.021), abs=1e-12)
    assert shaft_h_limits_mm(size_mm=25.0, grade=6) == pytest.approx((24.987, 25.0), abs=1e-12)


@pytest.mark.parametrize(("grade", "size_mm"), [(4, 10.0), (15, 10.0), (7, 0.0), (7, 315.1), (7, float("nan"))])
def test_outside_the_table_is_refused(grade: int, size_mm: float) -> None:
    with pytest.raises(OutOfRange, match="table"):
        grade_mm(grade=grade, size_mm=size_mm)


def test_a_running_fit() -> None:
    """From memory, worked with the table: 25 H7 is +21 and 0, 25 g6 is -7 and -20: clearance 7 to 41 micrometres."""
    low, high = hole_h_limits_mm(size_mm=25.0, grade=7)
    ends = clearance_mm(around_low_mm=low, around_high_mm=high, inside_low_mm=25.0 - 0.020, inside_high_mm=25.0 - 0.007)
    assert ends == pytest.approx((0.007, 0.041), abs=1e-12)
