"""ISO 965-1: pitch diameters of metric threads (from memory, so the rows are frozen), and its formulas beside them."""

from __future__ import annotations

import pytest

from proveout.cutting.thread_limits import (
    _GRADE_6_UM,
    GROUPS_MM,
    R40,
    basic_pitch_diameter_mm,
    metric_pitch_diameters_mm,
    metric_pitch_tolerance_mm,
)
from proveout.quantities.errors import OutOfRange

# thread, position and grade, low and high; M6 6H printed by a tap maker, the others from memory
ROWS = [
    (6.0, 1.0, "H", 6, 5.350, 5.500), (5.0, 0.8, "H", 6, 4.480, 4.605), (8.0, 1.25, "H", 6, 7.188, 7.348),
    (10.0, 1.5, "H", 6, 9.026, 9.206), (12.0, 1.75, "H", 6, 10.863, 11.063), (6.0, 1.0, "g", 6, 5.212, 5.324),
    (8.0, 1.25, "g", 6, 7.042, 7.160), (10.0, 1.5, "g", 6, 8.862, 8.994), (10.0, 1.0, "H", 6, 9.350, 9.500),
    (6.0, 1.0, "G", 6, 5.376, 5.526),
]  # fmt: skip
# other grades as remembered, micrometres: the rule rounds down and may not pass them
OTHERS = [
    (6.0, 1.0, 4, 1, 95), (6.0, 1.0, 5, 1, 118), (6.0, 1.0, 7, 1, 190), (6.0, 1.0, 8, 1, 236), (10.0, 1.5, 4, 1, 112),
    (10.0, 1.5, 5, 1, 140), (10.0, 1.5, 7, 1, 224), (20.0, 2.5, 4, 1, 140), (20.0, 2.5, 5, 1, 180),
    (20.0, 2.5, 7, 1, 280), (6.0, 1.0, 4, 0, 71), (6.0, 1.0, 8, 0, 180),
]  # fmt: skip


@pytest.mark.parametrize(("major", "pitch", "position", "grade", "low", "high"), ROWS)
def test_pitch_diameters(major: float, pitch: float, position: str, grade: int, low: float, high: float) -> None:
    found = metric_pitch_diameters_mm(major_mm=major, pitch_mm=pitch, grade=grade, position=position)
    assert found == pytest.approx((low, high), abs=1e-9)


@pytest.mark.parametrize(("major", "pitch", "grade", "inside", "table_um"), OTHERS)
def test_other_grades_are_never_wider_than_the_table(
    major: float, pitch: float, grade: int, inside: int, table_um: float
) -> None:
    found = 1000.0 * metric_pitch_tolerance_mm(
        major_mm=major, pitch_mm=pitch, grade=grade, side="inside" if inside else "outside"
    )
    assert 0.93 * table_um <= found <= table_um + 1e-9


def test_the_table_of_grade_6_follows_the_formula_of_the_standard() -> None:
    """Worked: 90 P^0.4 d^0.1 and 1.32 times that, rounded to R40, whose steps are 6 % apart."""
    for (top, pitch), (inside, outside) in _GRADE_6_UM.items():
        low = next(g[0] for g in GROUPS_MM if g[1] == top)
        rule = 90.0 * pitch**0.4 * (low * top) ** 0.05
        assert outside == pytest.approx(rule, rel=0.06)
        assert inside == pytest.approx(1.32 * rule, rel=0.06)


def test_the_series_has_forty_steps_of_a_fortieth_of_a_decade() -> None:
    """Worked: ten to the power of k / 40, rounded to three figures by at most 1.5 %."""
    assert len(R40) == 40
    assert list(R40) == pytest.approx([10.0 ** (k / 40.0) for k in range(40)], rel=0.0151)


def test_the_basic_pitch_diameter() -> None:
    assert basic_pitch_diameter_mm(major_mm=6.0, pitch_mm=1.0) == pytest.approx(5.35048, abs=1e-5)


@pytest.mark.parametrize(
    ("major", "pitch", "grade", "position"),
    [(200.0, 3.0, 6, "H"), (6.0, 1.0, 9, "H"), (6.0, 1.0, 6, "E"), (6.0, 7.0, 6, "H"), (6.0, 0.9, 6, "g")],
)
def test_what_the_rules_do_not_hold_is_refused(major: float, pitch: float, grade: int, position: str) -> None:
    with pytest.raises(OutOfRange):
        metric_pitch_diameters_mm(major_mm=major, pitch_mm=pitch, grade=grade, position=position)
