"""Capability and its confidence limits.

Printed in R. Rodriguez, Recent developments in process capability analysis: Cpk (1 -+ 1.96 sqrt(1 / (9 n Cpk^2) + 1 /
(2 (n - 1)))). Printed in a trade article: a Cpk of 1.15 from 45 readings lies between 0.89 and 1.41. Printed
elsewhere, a pin of 20 +-0.05 with a standard deviation of 0.018 has a Cp of 0.926. Worked from the first formula with
1.645: a Cpk of 1.33 from 30 readings is at least 1.03, from 10 at least 0.79.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from proveout.gauging.capability import (
    capability_limits,
    capability_ratio,
    worse_side_limits,
    worse_side_low_ratio,
    worse_side_ratio,
)
from proveout.quantities.errors import OutOfRange


def test_a_pin(agrees: Callable[..., None]) -> None:
    """Q9: the first figure."""
    agrees(capability_ratio(low=19.95, high=20.05, deviation=0.018), "0.926")
    assert worse_side_ratio(low=19.95, high=20.05, mean=20.02, deviation=0.01) == pytest.approx(1.0)
    assert worse_side_ratio(low=None, high=20.05, mean=20.02, deviation=0.01) == pytest.approx(1.0)
    assert worse_side_ratio(low=19.95, high=None, mean=20.02, deviation=0.01) == pytest.approx(7.0 / 3.0)
    assert worse_side_ratio(low=19.95, high=20.05, mean=20.08, deviation=0.01) == pytest.approx(-1.0)


def test_limits_of_a_cpk_are_those_printed(agrees: Callable[..., None]) -> None:
    found = worse_side_limits(found_ratio=1.15, readings_count=45, freedom_count=44, confidence_ratio=0.95)
    agrees(found.low, "0.89")
    agrees(found.high, "1.41")
    for count, least in ((30, "1.03"), (10, "0.79")):
        low = worse_side_limits(
            found_ratio=1.33, readings_count=count, freedom_count=count - 1, confidence_ratio=0.90
        ).low
        agrees(low, least)


def test_what_a_cpk_is_at_least_turns_its_own_law_round() -> None:
    """Worked against the density of the non-central t, summed over the standard deviation: P(T < seen) is 0.95."""
    for found, count in ((1.33, 30), (1.33, 10), (0.8, 5), (2.0, 3)):
        low = worse_side_low_ratio(
            found_ratio=found, readings_count=count, freedom_count=count - 1, confidence_ratio=0.95
        )
        assert below(3.0 * math.sqrt(count) * found, centre=3.0 * math.sqrt(count) * low, v=count - 1) == pytest.approx(
            0.95, abs=1e-6
        )


def below(seen: float, *, centre: float, v: int) -> float:
    """P((Z + centre) / sqrt(X / v) < seen), X chi-square of v degrees, by sums over its root."""
    steps, top = 4_000, math.sqrt(v) + 12.0
    total = 0.0
    norm = math.lgamma(v / 2.0) + (v / 2.0 - 1.0) * math.log(2.0)
    for k in range(steps):
        root = (k + 0.5) * top / steps
        density = math.exp((v - 1.0) * math.log(root) - root * root / 2.0 - norm)
        total += density * 0.5 * math.erfc(-(seen * root / math.sqrt(v) - centre) / math.sqrt(2.0))
    return total * top / steps


def test_limits_of_a_cp_are_the_chi_squares(agrees: Callable[..., None]) -> None:
    """Printed quantiles of chi-square, 19 degrees: 8.907 and 32.852; so 1.00 lies between 0.685 and 1.315."""
    found = capability_limits(found_ratio=1.0, freedom_count=19, confidence_ratio=0.95)
    agrees(19.0 * found.low**2, "8.907")
    agrees(19.0 * found.high**2, "32.852")


def test_what_makes_no_sense_is_refused() -> None:
    with pytest.raises(OutOfRange, match="below the high one"):
        capability_ratio(low=2.0, high=1.0, deviation=0.1)
    with pytest.raises(OutOfRange, match="out of range"):
        capability_ratio(low=1.0, high=2.0, deviation=0.0)
    with pytest.raises(OutOfRange, match="no limit"):
        worse_side_ratio(low=None, high=None, mean=1.0, deviation=0.1)
    with pytest.raises(OutOfRange, match="confidence"):
        capability_limits(found_ratio=1.0, freedom_count=5, confidence_ratio=1.0)
    with pytest.raises(OutOfRange, match="degree of freedom"):
        capability_limits(found_ratio=1.0, freedom_count=0, confidence_ratio=0.9)
    with pytest.raises(OutOfRange, match="too few readings"):
        worse_side_low_ratio(found_ratio=1.0, readings_count=1, freedom_count=1, confidence_ratio=0.9)
