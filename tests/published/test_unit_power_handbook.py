"""Machinery's Handbook, unit power P = K_p C Q W / E; pairs of units seen, example and aluminium from memory.

P5b, worked: Q = 12 x 350 x 0.016 x 0.100 = 6.72 in3/min; 0.62 x 0.94 x 6.72 x 1.30 = 5.09 hp, over 0.8 = 6.36.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.unit_power import unit_power_mw

HP_W, IN3_MM3 = 745.7, 25.4**3
MPA = HP_W * 1000.0 / (IN3_MM3 / 60.0)
"""Of one hp for each in3/min."""


@pytest.mark.parametrize(
    ("hp", "kw"),
    [("0.63", "1.72"), ("0.82", "2.24"), ("1.00", "2.73"), ("1", "2.7303"), ("0.33", "0.901"), ("0.25", "0.683")],
)
def test_p5_pairs_of_units(agrees: Callable[..., None], hp: str, kw: str) -> None:
    found = unit_power_mw(
        removal_rate_mm3_per_s=1000.0, unit_power_mpa=float(hp) * MPA, feed_factor_ratio=1.0, wear_factor_ratio=1.0,
        efficiency_ratio=1.0,
    )  # fmt: skip
    agrees(found / 1e6, kw)


@pytest.mark.parametrize(("efficiency", "hp"), [(1.0, "5.09"), (0.8, "6.36")])
def test_p5b_turning_example(agrees: Callable[..., None], efficiency: float, hp: str) -> None:
    found = unit_power_mw(
        removal_rate_mm3_per_s=12.0 * 350.0 * 0.016 * 0.100 * IN3_MM3 / 60.0, unit_power_mpa=0.62 * MPA,
        feed_factor_ratio=0.94, wear_factor_ratio=1.30, efficiency_ratio=efficiency,
    )  # fmt: skip
    agrees(found / 1000.0 / HP_W, hp)


def test_p6_it_gives_about_half_of_what_specific_force_gives(agrees: Callable[..., None]) -> None:
    """Worked: 1.2223 cm3/s x 0.90 = 1.100 kW; specific force gives 2.103 kW for the same cut (P3)."""
    found = unit_power_mw(
        removal_rate_mm3_per_s=1222.3, unit_power_mpa=900.0, feed_factor_ratio=1.0, wear_factor_ratio=1.0,
        efficiency_ratio=1.0,
    )  # fmt: skip
    agrees(found / 1e6, "1.100")
    assert 1.3 <= 2.103 / (found / 1e6) <= 2.0
    small_feed = unit_power_mw(
        removal_rate_mm3_per_s=1222.3, unit_power_mpa=900.0, feed_factor_ratio=1.45, wear_factor_ratio=1.0,
        efficiency_ratio=1.0,
    )  # fmt: skip
    agrees(small_feed / 1e6, "1.6")
