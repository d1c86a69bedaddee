"""Dormer Pramet milling catalogue 2021-22, p. 784: P = a_p a_e v_f / x, x = 120 000 for aluminium. Seen directly.

The divisor is printed; the value is worked: 8 * 4 * 2291.83 / 120 000 = 0.611 kW at the motor.
"""

from __future__ import annotations

from collections.abc import Callable

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
