"""Machinery's Handbook, 31st ed., pp. 1152-1153: drills by factors of feed, diameter, chisel edge and wear.

Formulas and rows of the tables seen directly; K_d, W and the feed of the example, and its answer, from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.cutting import handbook_drill as hd
from proveout.cutting.drilling import DRILL_MATERIAL_RATIO, DRILL_WORN_RATIO, drill_thrust_n, drill_torque_n_mm
from proveout.quantities.errors import OutOfRange
from proveout.quantities.measures import MW_PER_HP, N_PER_LBF
from proveout.quantities.units import MM_PER_INCH, rad_per_s_from_rpm

# 7/8 in standard drill, steel of 200 HB, 350 rpm, 0.008 in a turn, E 0.80
EXAMPLE: dict[str, Any] = {
    "material_ratio": 24_000.0, "diameter_mm": 0.875 * MM_PER_INCH, "feed_per_turn_mm": 0.008 * MM_PER_INCH,
    "wear_factor_ratio": 1.30,
}  # fmt: skip
# what is tabled, of, the power of it that stands for the table, as printed
FACTORS = [
    *((hd.FEED_POWER, f, p) for f, p in (
        ("0.004", "0.012"), ("0.005", "0.014"), ("0.008", "0.021"), ("0.010", "0.025"), ("0.015", "0.035"),
        ("0.020", "0.044"), ("0.10", "0.158"), ("0.15", "0.219"), ("0.20", "0.276"), ("0.25", "0.330"),
    )),
    *((hd.THRUST_POWER, d, p) for d, p in (
        ("0.250", "0.330"), ("0.500", "0.574"), ("0.875", "0.899"), ("1.000", "1"), ("6.40", "4.42"), ("8.00", "5.28"),
        ("12.5", "7.54"),
    )),
    *((hd.TORQUE_POWER, d, p) for d, p in (
        ("0.250", "0.082"), ("0.500", "0.287"), ("0.875", "0.786"), ("1.000", "1"), ("6.40", "28.26"),
        ("8.00", "42.22"), ("12.5", "94.28"),
    )),
]  # fmt: skip


@pytest.mark.parametrize(("power", "of", "factor"), FACTORS)
def test_powers_give_every_row_of_the_tables_that_was_seen(
    agrees: Callable[..., None], power: float, of: str, factor: str
) -> None:
    agrees(float(of) ** power, factor)


def test_the_example_of_a_drill_in_steel() -> None:
    """2313 lb and 559 lb in, 3.1 hp at the drill and 3.9 at the motor, from memory; reckoned 2312.9, 558.8, 3.10, 3.88.

    Half a per cent: the answer was worked with factors of two and three figures, these are powers.
    """
    assert hd.handbook_drill_thrust_n(**EXAMPLE) / N_PER_LBF == pytest.approx(2313, rel=5e-3)
    torque = hd.handbook_drill_torque_n_mm(**EXAMPLE) / (N_PER_LBF * MM_PER_INCH)
    assert torque == pytest.approx(559, rel=5e-3)
    speed = rad_per_s_from_rpm(350.0)
    power = hd.handbook_drill_power_mw(**EXAMPLE, spindle_rad_per_s=speed, efficiency_ratio=1.0) / MW_PER_HP
    motor = hd.handbook_drill_power_mw(**EXAMPLE, spindle_rad_per_s=speed, efficiency_ratio=0.80) / MW_PER_HP
    assert (power, motor) == pytest.approx((3.10, 3.88), rel=5e-3)
    assert (round(power, 1), round(motor, 1)) == (3.1, 3.9)


def test_the_power_is_torque_times_speed() -> None:
    """63 025 stands for 33 000 12 / (2 pi) = 63 025.4."""
    speed = rad_per_s_from_rpm(350.0)
    power = hd.handbook_drill_power_mw(**EXAMPLE, spindle_rad_per_s=speed, efficiency_ratio=1.0)
    assert power == pytest.approx(hd.handbook_drill_torque_n_mm(**EXAMPLE) * speed, rel=1e-5)


def test_a_split_point_pushes_and_turns_less() -> None:
    """Worked: the torque by 1.000 / 1.085; of the thrust 2 1.1 0.02101 0.8987 + 0.7656 0.001 of K_d W are left."""
    split = {**EXAMPLE, "point": "split"}
    assert hd.handbook_drill_torque_n_mm(**split) / hd.handbook_drill_torque_n_mm(**EXAMPLE) == pytest.approx(1 / 1.085)
    assert hd.handbook_drill_thrust_n(**split) / N_PER_LBF / (24_000 * 1.3) == pytest.approx(0.042306, rel=1e-3)


@given(diameter=st.floats(6.35, 25.4), feed=st.floats(0.1, 0.508), point=st.sampled_from(["standard", "split"]))
def test_in_aluminium_the_formula_that_plans_use_asks_for_more(diameter: float, feed: float, point: Any) -> None:
    """With K_d 7000, from memory, and as worn as plans take a drill: the harder of both methods is the one in use."""
    given_ = {"diameter_mm": diameter, "feed_per_turn_mm": feed}
    book: dict[str, Any] = {"material_ratio": 7000.0, "wear_factor_ratio": DRILL_WORN_RATIO, "point": point, **given_}
    maker = {"material_ratio": DRILL_MATERIAL_RATIO, **given_}
    assert hd.handbook_drill_thrust_n(**book) < drill_thrust_n(**maker)
    assert hd.handbook_drill_torque_n_mm(**book) < drill_torque_n_mm(**maker)


@pytest.mark.parametrize(
    "changed",
    [
        {"material_ratio": 999.0}, {"diameter_mm": 6.3}, {"diameter_mm": 25.5}, {"feed_per_turn_mm": 0.09},
        {"feed_per_turn_mm": 0.52}, {"wear_factor_ratio": 0.9},
    ],
)  # fmt: skip
def test_beyond_the_rows_that_were_seen_it_refuses(changed: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        hd.handbook_drill_thrust_n(**{**EXAMPLE, **changed})
    with pytest.raises(OutOfRange):
        hd.handbook_drill_torque_n_mm(**{**EXAMPLE, **changed})
