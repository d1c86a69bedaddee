"""Triangular and three-point distributions; variance of a sum.

Worked: (10 + 12 + 17) / 3 = 13; sqrt((49 + 4 + 25) / 36) = sqrt 2.16667 = 1.47196; (10 + 48 + 17) / 6 = 12.5;
7 / 6 = 1.16667; sqrt(10 * (1 + 9 * 0.3)) = sqrt 37 = 6.083, without a common cause sqrt 10 = 3.162.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from proveout.quantities.distribution import (
    common_cause_sd,
    three_point_mean,
    three_point_sd,
    triangular_mean,
    triangular_sd,
)

THREE = {"low": 10.0, "likely": 12.0, "high": 17.0}


def test_three_points(agrees: Callable[..., None]) -> None:
    agrees(triangular_mean(**THREE), "13.000")
    agrees(triangular_sd(**THREE), "1.47196")
    agrees(three_point_mean(**THREE), "12.500")
    agrees(three_point_sd(**THREE), "1.16667")


def test_triangular_moments_match_random_draws() -> None:
    draws = np.random.default_rng(7).triangular(10.0, 12.0, 17.0, 200_000)
    sd = triangular_sd(**THREE)
    assert abs(draws.mean() - triangular_mean(**THREE)) <= 3.0 * sd / math.sqrt(len(draws))
    assert abs(draws.std() - sd) <= 3.0 * sd / math.sqrt(2.0 * len(draws))


def test_a_common_cause_widens_a_sum(agrees: Callable[..., None]) -> None:
    agrees(common_cause_sd(sds=[1.0] * 10, correlation_ratio=0.3), "6.083")
    agrees(common_cause_sd(sds=[1.0] * 10, correlation_ratio=0.0), "3.162")
