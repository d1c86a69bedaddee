"""Tungaloy general catalogue 2020-21, p. 1656: twist drills, K = 1.01 for aluminium. Seen directly.

The formulas and K are printed; the values are worked from them.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.cutting.drilling import drill_power_mw, drill_thrust_n, drill_torque_n_mm
from proveout.quantities.units import rad_per_s_from_rpm

ROWS = [
    # D, f, thrust N, torque N m
    ("10", "0.2", "1466", "4.04"),  # 570 * 1.01 * 10 * 0.25463; 1.01 * 100 * (0.630 + 3.368) / 100
    ("6.8", "0.15", "780.5", "1.474"),  # 570 * 1.01 * 6.8 * 0.19938; 1.01 * 46.24 * (0.630 + 2.526) / 100
    ("5", "0.1", "406.6", "0.584"),  # 570 * 1.01 * 5 * 0.14125; 1.01 * 25 * (0.630 + 1.684) / 100
]


@pytest.mark.parametrize(("diameter", "feed", "thrust", "torque"), ROWS)
def test_thrust_and_torque(agrees: Callable[..., None], diameter: str, feed: str, thrust: str, torque: str) -> None:
    given = {"material_ratio": 1.01, "diameter_mm": float(diameter), "feed_per_turn_mm": float(feed)}
    agrees(drill_thrust_n(**given), thrust)
    agrees(drill_torque_n_mm(**given) / 1000.0, torque)


def test_a_drill_in_low_carbon_steel_is_of_the_order_that_a_training_text_prints() -> None:
    """Printed in Mitsubishi's training text, of a 10 mm drill at 0.3 mm a turn: 15 N m and 2500 N, steel implied.

    The formula's K of S20C is 2.22: 12.6 N m and 4550 N. An order is a factor of two either way, no more is claimed.
    """
    given = {"material_ratio": 2.22, "diameter_mm": 10.0, "feed_per_turn_mm": 0.3}
    assert 0.5 <= drill_torque_n_mm(**given) / 15e3 <= 2.0
    assert 0.5 <= drill_thrust_n(**given) / 2500.0 <= 2.0


def test_power_by_the_maker_lies_near_torque_times_speed(agrees: Callable[..., None]) -> None:
    """Worked: 1.01 * 100 * 3000 * (0.647 + 3.458) * 1e-6 = 1.244 kW; torque times speed gives 1.269."""
    given = {"material_ratio": 1.01, "diameter_mm": 10.0, "feed_per_turn_mm": 0.2}
    spindle = rad_per_s_from_rpm(3000.0)
    power = drill_power_mw(**given, spindle_rad_per_s=spindle)
    agrees(power / 1e6, "1.244")
    by_torque = drill_torque_n_mm(**given) * spindle
    agrees(by_torque / 1e6, "1.268", more=0.0003)  # printed with 9550 in place of 30 000 / pi, 0.008 % larger
    assert power == pytest.approx(by_torque, rel=0.03)
