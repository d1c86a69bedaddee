"""Stress area and engagement of threads: a table value and two worked examples."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from proveout.cutting.thread_strength import (
    engagement_by_stress_area_mm,
    engagement_in_soft_metal_mm,
    tensile_stress_area_mm2,
)
from proveout.quantities.errors import OutOfRange

INCH = 25.4


def test_stress_area_of_a_quarter_inch_screw(agrees: Callable[..., None]) -> None:
    """X4. Printed, as quoted: 1/4-20, 0.0318 square inches."""
    area = tensile_stress_area_mm2(major_mm=0.25 * INCH, pitch_mm=INCH / 20.0)
    agrees(area / INCH**2, "0.0318")
    assert area / INCH**2 == pytest.approx(0.03182, rel=0.003)


def test_engagement_of_a_quarter_inch_screw() -> None:
    """X5. As quoted, with the least pitch diameter of 2A from memory: 0.173 in."""
    length = engagement_by_stress_area_mm(
        stress_area_mm2=0.03182 * INCH**2, minor_high_mm=0.2070 * INCH, pitch_low_mm=0.2127 * INCH,
        pitch_mm=INCH / 20.0,
    )  # fmt: skip
    assert length / INCH == pytest.approx(0.173, rel=0.01)


def test_engagement_of_a_strong_screw_in_aluminium(agrees: Callable[..., None]) -> None:
    """X6. Printed: M10 x 1.5, 58 mm2 of 1200 MPa in a part of 130 MPa in shear: 21.6 mm (worked 21.55)."""
    length = engagement_in_soft_metal_mm(
        force_n=1200.0 * 58.0, shear_mpa=130.0, major_low_mm=9.968, pitch_high_mm=9.206, pitch_mm=1.5
    )
    agrees(length, "21.6", more=0.06)
    assert length == pytest.approx(21.55, rel=0.005)


def test_a_wider_thread_in_the_part_needs_more_length() -> None:
    lengths = [
        engagement_in_soft_metal_mm(
            force_n=1000.0, shear_mpa=130.0, major_low_mm=9.968, pitch_high_mm=wide, pitch_mm=1.5
        )
        for wide in (9.026, 9.206, 9.5)
    ]
    assert lengths == sorted(lengths)
    assert not math.isclose(lengths[0], lengths[-1])


def test_diameters_that_leave_no_thread_are_refused() -> None:
    with pytest.raises(OutOfRange, match="no thread"):
        engagement_in_soft_metal_mm(force_n=1.0, shear_mpa=1.0, major_low_mm=9.0, pitch_high_mm=9.1, pitch_mm=1.5)
    with pytest.raises(OutOfRange, match="no thread"):
        engagement_by_stress_area_mm(stress_area_mm2=1.0, minor_high_mm=5.0, pitch_low_mm=4.0, pitch_mm=1.0)
    with pytest.raises(OutOfRange, match="no core"):
        tensile_stress_area_mm2(major_mm=1.0, pitch_mm=1.1)
