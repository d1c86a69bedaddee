"""Means, deviations, medians and one-way tables of a few readings, worked by hand.

Worked: 1, 2, 4, 9: mean 4, squares 9 + 4 + 0 + 25 = 38, deviation sqrt(38 / 3); median 3, distances 2, 1, 1, 6: middle
1.5.
"""

from __future__ import annotations

import math

import pytest

from proveout.gauging.summary import deviation_of, mean_of, median_of, pooled_deviation, squares_about, summary_of
from proveout.gauging.variance import one_way
from proveout.quantities.errors import OutOfRange

FOUR = (1.0, 2.0, 4.0, 9.0)


def test_a_few_readings() -> None:
    found = summary_of(FOUR)
    assert (found.mean, found.deviation) == pytest.approx((4.0, math.sqrt(38.0 / 3.0)))
    assert (found.low, found.high, found.middle, found.values_count) == (1.0, 9.0, 3.0, 4)
    assert found.calm == pytest.approx(1.482602218505602 * 1.5)
    assert found.strays == ()
    # worked: middle 3, middle distance 1: beyond 3.5 x 1.4826 = 5.19 from it lie 9 and 40
    assert summary_of((*FOUR, 3.0, 2.0, 3.0, 40.0)).strays == (3, 7)
    assert summary_of((2.0, 2.0, 2.0, 5.0)).strays == ()


def test_leading_digits_that_never_change_cost_nothing() -> None:
    """Worked: of k + 0.1, k + 0.3 the mean is k + 0.2 and the deviation 0.1 sqrt 2, whatever k holds of its digits."""
    for base in (0.0, 1e6, 1e9):
        readings = (base + 0.125, base + 0.375)
        assert mean_of(readings) == base + 0.25
        assert deviation_of(readings) == pytest.approx(0.125 * math.sqrt(2.0), rel=1e-15)


def test_a_mean_that_was_rounded_spoils_no_square() -> None:
    """Worked: about 2.001 the squares are 2.000003; 3 x 0.001 squared over 3 is taken back."""
    assert squares_about((1.0, 2.0, 3.0), 2.001) == pytest.approx(2.0, rel=1e-12)


def test_spread_within_groups() -> None:
    """Worked: 1, 3 and 10, 14 and 7: squares 2 + 8 on 2 degrees: sqrt 5."""
    found = pooled_deviation([(1.0, 3.0), (10.0, 14.0), (7.0,)])
    assert (found.deviation, found.freedom_count) == pytest.approx((math.sqrt(5.0), 2))


def test_one_way() -> None:
    """Worked: 1, 3; 5, 7: between 16 on 1, within 4 on 2, ratio 8."""
    table = one_way([(1.0, 3.0), (5.0, 7.0)])
    assert (table.between.squares, table.within.squares, table.between.ratio) == pytest.approx((16.0, 4.0, 8.0))
    assert math.isinf(one_way([(1.0, 1.0), (2.0, 2.0)]).between.ratio or 0.0)
    assert one_way([(1.0, 1.0), (1.0, 1.0)]).between.ratio == 0.0


def test_too_few_is_said() -> None:
    assert median_of((5.0,)) == 5.0
    with pytest.raises(OutOfRange, match="too few"):
        deviation_of((1.0,))
    with pytest.raises(OutOfRange, match="No group"):
        pooled_deviation([(1.0,), (2.0,)])
    with pytest.raises(OutOfRange, match="no number"):
        mean_of((1.0, math.inf))
    with pytest.raises(OutOfRange, match="from two on"):
        one_way([(1.0, 2.0)])
