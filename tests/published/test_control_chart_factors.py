"""Factors for constructing control charts: table A.22 of an engineering handbook, p. 766, as printed.

D3 and D4 were printed from d2 and d3 rounded to three places, A2 and A3 likewise: the gap grows by what that does.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest

from proveout.gauging.constants import (
    chart_factors,
    mean_deviation_ratio,
    mean_range_ratio,
    range_spread_ratio,
)
from proveout.quantities.errors import OutOfRange

# n: A2 A3 c4 B3 B4 d2 d3 D3 D4
PRINTED = """
2 1.880 2.659 0.7979 0 3.267 1.128 0.853 0 3.267
3 1.023 1.954 0.8862 0 2.568 1.693 0.888 0 2.574
4 0.729 1.628 0.9213 0 2.266 2.059 0.880 0 2.282
5 0.577 1.427 0.9400 0 2.089 2.326 0.864 0 2.114
6 0.483 1.287 0.9515 0.030 1.970 2.534 0.848 0 2.004
7 0.419 1.182 0.9594 0.118 1.882 2.704 0.833 0.076 1.924
8 0.373 1.099 0.9650 0.185 1.815 2.847 0.820 0.136 1.864
9 0.337 1.032 0.9693 0.239 1.761 2.970 0.808 0.184 1.816
10 0.308 0.975 0.9727 0.284 1.716 3.078 0.797 0.223 1.777
12 0.266 0.886 0.9776 0.354 1.646 3.258 0.778 0.283 1.717
15 0.223 0.789 0.9823 0.428 1.572 3.472 0.756 0.347 1.653
20 0.180 0.680 0.9869 0.510 1.490 3.735 0.729 0.415 1.585
"""
ROWS = [line.split() for line in PRINTED.split("\n") if line]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"n{row[0]}")
def test_factors_are_those_printed(row: list[str], agrees: Callable[..., None]) -> None:
    n = int(row[0])
    a2, a3, c4, b3, b4, d2, d3, d3_low, d4 = row[1:]
    found = chart_factors(group_count=n)
    agrees(mean_range_ratio(group_count=n), d2)
    agrees(range_spread_ratio(group_count=n), d3)
    agrees(mean_deviation_ratio(group_count=n), c4)
    agrees(found.a2, a2)
    agrees(found.a3, a3)
    agrees(found.b3, b3 if b3 != "0" else "0.000")
    agrees(found.b4, b4)
    through = 3.0 * (0.0005 / float(d2) + float(d3) * 0.0005 / float(d2) ** 2)
    agrees(found.d3_low, d3_low if d3_low != "0" else "0.000", more=through)
    agrees(found.d4, d4, more=through)


def test_a_range_of_two_and_of_three_in_closed_form() -> None:
    """Worked: the range of two is |x - y|: mean 2 / sqrt pi, square 2; of three the mean is 3 / sqrt pi."""
    assert mean_range_ratio(group_count=2) == pytest.approx(2.0 / math.sqrt(math.pi), abs=1e-12)
    assert range_spread_ratio(group_count=2) == pytest.approx(math.sqrt(2.0 - 4.0 / math.pi), abs=1e-11)
    assert mean_range_ratio(group_count=3) == pytest.approx(3.0 / math.sqrt(math.pi), abs=1e-12)
    assert mean_deviation_ratio(group_count=2) == pytest.approx(math.sqrt(2.0 / math.pi), abs=1e-14)


def test_ranges_of_random_draws_have_these_moments() -> None:
    draws = np.random.default_rng(11).standard_normal((40_000, 7))
    ranges = draws.max(axis=1) - draws.min(axis=1)
    spread = range_spread_ratio(group_count=7)
    assert abs(ranges.mean() - mean_range_ratio(group_count=7)) < 3.0 * spread / math.sqrt(40_000.0)
    assert abs(ranges.std() - spread) < 3.0 * spread / math.sqrt(80_000.0)


@pytest.mark.parametrize("n", [1, 0, 101])
def test_a_group_of_one_has_no_range(n: int) -> None:
    with pytest.raises(OutOfRange, match="group"):
        mean_range_ratio(group_count=n)
