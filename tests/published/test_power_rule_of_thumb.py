"""Dormer Pramet milling catalogue 2021-22, p. 784: P = a_p a_e v_f / x, x = 120 000 for aluminium. Seen directly.

The divisor is printed; the value is worked: 8 * 4 * 2291.83 / 120 000 = 0.611 kW at the motor.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.power import milling_power_mw, rule_of_thumb_power_mw


def test_the_rule_gives_its_worked_value_and_lies_far_below_the_other_method(agrees: Callable[..., None]) -> None:
    feed = 2291.83 / 60.0
    rule = rule_of_thumb_power_mw(
        axial_depth_mm=8.0, radial_engagement_mm=4.0, table_feed_mm_per_s=feed, divisor=120_000.0
    )
    agrees(rule / 1e6, "0.611")
    other = milling_power_mw(
        axial_depth_mm=8.0,
        radial_engagement_mm=4.0,
        table_feed_mm_per_s=feed,
        specific_force_mpa=1720.6,
        efficiency_ratio=0.75,
    )
    agrees(other / rule, "4.6")
    agrees(other / 1e6, "2.80")


@pytest.mark.parametrize(("divisor", "pressure"), [(24_000.0, 1875.0), (30_000.0, 1500.0), (120_000.0, 375.0)])
def test_each_divisor_stands_for_a_cutting_pressure_at_three_quarters_of_efficiency(
    divisor: float, pressure: float
) -> None:
    """Printed divisors of steel, cast iron and aluminium. Worked: 60e6 x 0.75 / x N/mm2."""
    cut = {"axial_depth_mm": 8.0, "radial_engagement_mm": 4.0, "table_feed_mm_per_s": 38.0}
    rule = rule_of_thumb_power_mw(**cut, divisor=divisor)
    assert milling_power_mw(**cut, specific_force_mpa=pressure, efficiency_ratio=0.75) == pytest.approx(rule, rel=1e-9)
