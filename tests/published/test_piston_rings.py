"""Piston rings: limits of the charts of 25 groups of 5, and what the chart finds; the first groups as printed.

The whole data lie outside (tests/outside/test_statistics.py); here are the figures that follow from the printed means.
Printed: mean of means 74.001176, mean range 0.02276; worked with A2 0.577, D4 2.114, d2 2.326: limits 73.98804 and
74.01431, 0.0481, standard deviation 0.009785; within 73.95 to 74.05 Cp 1.703 and Cpk 1.663.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from proveout.gauging.capability import capability_ratio, worse_side_ratio
from proveout.gauging.charts import chart_of_deviations, chart_of_ranges, chart_of_singles
from proveout.gauging.constants import chart_factors, mean_range_ratio
from proveout.quantities.errors import OutOfRange

MEAN, RANGE = 74.001176, 0.02276
FIRST = (74.030, 74.002, 74.019, 73.992, 74.008)
SECOND = (73.995, 73.992, 74.001, 74.011, 74.004)


def test_limits_and_capability_are_those_printed(agrees: Callable[..., None]) -> None:
    """Q8."""
    factors = chart_factors(group_count=5)
    agrees(MEAN + factors.a2 * RANGE, "74.01431", more=0.0005 * RANGE)
    agrees(MEAN - factors.a2 * RANGE, "73.98804", more=0.0005 * RANGE)
    agrees(factors.d4 * RANGE, "0.0481", more=0.0005 * RANGE)
    deviation = RANGE / mean_range_ratio(group_count=5)
    agrees(deviation, "0.009785", more=RANGE * 0.0005 / 2.326**2)
    agrees(capability_ratio(low=73.95, high=74.05, deviation=deviation), "1.703", more=1.703 * 0.0005 / 2.326)
    agrees(
        worse_side_ratio(low=73.95, high=74.05, mean=MEAN, deviation=deviation), "1.663", more=1.663 * 0.0005 / 2.326
    )  # fmt: skip


def test_a_chart_of_two_groups_is_worked_by_hand() -> None:
    """Worked: means 74.0102 and 74.0006, ranges 0.038 and 0.019: 74.0054 -+ 0.57682 x 0.0285 = 0.016439."""
    chart = chart_of_ranges([FIRST, SECOND])
    assert chart.places.points == pytest.approx((74.0102, 74.0006), abs=1e-9)
    assert chart.spreads.points == pytest.approx((0.038, 0.019), abs=1e-9)
    assert (chart.places.low, chart.places.middle, chart.places.high) == pytest.approx(
        (73.988961, 74.0054, 74.021839), abs=1e-6
    )
    assert chart.spreads.high == pytest.approx(2.1145 * 0.0285, abs=1e-5)
    assert chart.deviation == pytest.approx(0.0285 / 2.32593, abs=1e-7)


def test_a_chart_of_deviations_and_one_of_single_readings_are_worked_by_hand() -> None:
    """Worked: of 1, 2, 3 and 2, 4, 6: deviations 1 and 2, mean 1.5, c4 0.88623; of 1, 3, 2, 4: ranges 2, 1, 2."""
    chart = chart_of_deviations([(1.0, 2.0, 3.0), (2.0, 4.0, 6.0)])
    assert chart.spreads.points == pytest.approx((1.0, 2.0))
    assert chart.deviation == pytest.approx(1.5 / 0.886227, rel=1e-6)
    assert chart.places.high == pytest.approx(3.0 + 1.95441 * 1.5, rel=1e-6)
    single = chart_of_singles((1.0, 3.0, 2.0, 4.0))
    assert single.spreads.points == pytest.approx((2.0, 1.0, 2.0))
    assert single.places.high == pytest.approx(2.5 + 3.0 * (5.0 / 3.0) / 1.128379, rel=1e-6)
    assert single.spreads.high == pytest.approx(3.266532 * 5.0 / 3.0, rel=1e-6)


def test_groups_of_several_sizes_or_none_make_no_chart() -> None:
    with pytest.raises(OutOfRange, match="one size"):
        chart_of_ranges([FIRST, SECOND[:4]])
    with pytest.raises(OutOfRange, match="too few groups"):
        chart_of_deviations([FIRST])
    with pytest.raises(OutOfRange, match="too few readings"):
        chart_of_singles((1.0, 2.0))
    with pytest.raises(OutOfRange, match="no number"):
        chart_of_singles((1.0, 2.0, float("nan")))
