"""Stellram milling catalogue, p. 87: h_m = f_z sqrt(a_e / d) for a_e below half the diameter. Seen directly.

The formula is printed; the values are worked from it with f_z 0.1, D 10.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.chip_thickness import light_cut_chip_thickness_mm
from proveout.quantities.errors import OutOfRange


@pytest.mark.parametrize(("engagement", "worked"), [("1", "0.03162"), ("2.5", "0.05000")])  # 0.1 sqrt 0.1, 0.1 * 0.5
def test_short_form_for_a_light_cut(agrees: Callable[..., None], engagement: str, worked: str) -> None:
    found = light_cut_chip_thickness_mm(feed_per_tooth_mm=0.1, radial_engagement_mm=float(engagement), diameter_mm=10.0)
    agrees(found, worked)


def test_short_form_is_refused_beyond_half_the_diameter() -> None:
    with pytest.raises(OutOfRange, match="radial_engagement_mm"):
        light_cut_chip_thickness_mm(feed_per_tooth_mm=0.1, radial_engagement_mm=5.1, diameter_mm=10.0)
