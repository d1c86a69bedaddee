"""A cantilever of round section.

Worked: F 100, L 40, D 10, E 600 000: I = pi 10^4 / 64 = 490.87; 100 * 64 000 / (3 * 600 000 * 490.87) = 7.243e-3 mm.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.deflection import tool_deflection_mm

PLAIN = {"force_n": 100.0, "stick_out_mm": 40.0, "diameter_mm": 10.0, "elasticity_mpa": 600e3, "diameter_ratio": 1.0}


def test_plain_bar(agrees: Callable[..., None]) -> None:
    agrees(tool_deflection_mm(**PLAIN) * 1000.0, "7.243")


def test_twice_the_length_bends_eight_times_and_twice_the_diameter_a_sixteenth() -> None:
    plain = tool_deflection_mm(**PLAIN)
    assert tool_deflection_mm(**{**PLAIN, "stick_out_mm": 80.0}) == pytest.approx(8.0 * plain, rel=1e-12)
    assert tool_deflection_mm(**{**PLAIN, "diameter_mm": 20.0}) == pytest.approx(plain / 16.0, rel=1e-12)
