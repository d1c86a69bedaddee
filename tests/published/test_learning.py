"""Posteriors printed by others beside ours.

Printed: codingace.net, posterior distribution of a proportion, example table: prior alpha and beta, trials, successes,
posterior mean and limits of 95 percent. M. Stephens, fiveMinuteStats: the posterior of a normal mean has precision
t + t0 and mean (x t + m0 t0) / (t + t0). A. Gelman, Prior distributions for variance parameters in hierarchical models,
2005: the half-Cauchy law of a spread has a density in proportion to 1 / (1 + (s / a)^2).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate

from proveout.learning.factors import CLIP_SHARE, LOOSE, Seen, learned_factors
from proveout.learning.prior import Prior
from proveout.learning.shares import Counted, learned_share, prior_weight_count, share_between
from proveout.learning.spread import LEAST_SPREAD, MOST_SPREAD, SPREAD

HALF_DIGIT = 0.5e-4


@pytest.mark.parametrize(
    ("prior", "trials", "successes", "mean", "low", "high"),
    [
        ((2, 3), 40, 18, "0.4444", "0.3039", "0.5897"),
        ((1, 1), 20, 5, "0.2727", "0.1128", "0.4717"),
        ((5, 2), 30, 24, "0.7838", "0.6398", "0.8988"),
    ],
)
def test_a_printed_table_of_shares(
    prior: tuple[int, int], trials: int, successes: int, mean: str, low: str, high: str
) -> None:  # fmt: skip
    a, b = prior[0] + successes, prior[1] + trials - successes
    found = share_between(bad=a, good=b, inside_ratio=0.95)
    assert a / (a + b) == pytest.approx(float(mean), abs=HALF_DIGIT)
    assert found == pytest.approx((float(low), float(high)), abs=HALF_DIGIT)


def test_a_share_is_the_conjugate_update_with_pieces_of_a_batch_weighed_down() -> None:
    """Worked: 0.1 +- 0.0641 is worth 0.09 / 0.05^2 - 1 = 35 pieces; 26 pieces of one batch, 26 / 1.5 = 17.33, 3 bad."""
    side = 1.2815515655446004 * 0.05
    assert prior_weight_count(low=0.1 - side, nominal=0.1, high=0.1 + side) == pytest.approx(35.0)
    found = learned_share(
        low=0.1 - side, nominal=0.1, high=0.1 + side, batches=[Counted(name="1", pieces_count=26, bad_count=3)]
    )
    assert found.middle == pytest.approx((3.5 + 2.0) / (35.0 + 26.0 / 1.5))
    assert not found.odd


def test_one_batch_is_the_normal_update_at_every_spread_weighed_by_a_half_cauchy_law() -> None:
    """Worked by the printed formulas: (x t + m0 t0) / (t + t0), weighed by 1 / (1 + (s / a)^2) and the normal density.

    One batch alone tells of the spread what its distance from a mean that may lie anywhere does: next to nothing.
    """
    deviation, y = 0.1, math.log(1.02)
    prior = Prior(middles=np.array([0.0]), covariance=np.array([[deviation**2]]))
    found = learned_factors(prior, [Seen(name="1", ratio=1.02, parts=(1.0,))])

    def weighed(spread: float, of: float = 1.0) -> float:
        variance = deviation**2 + LOOSE**2 + spread**2
        return of / (1.0 + (spread / SPREAD) ** 2) * variance**-0.5 * math.exp(-(y**2) / (2.0 * CLIP_SHARE * variance))

    def middle(spread: float) -> float:
        t, t0 = 1.0 / spread**2, 1.0 / deviation**2
        return weighed(spread, y * t / (t + t0))

    ends = (LEAST_SPREAD, MOST_SPREAD)
    expected = integrate.quad(middle, *ends, limit=200)[0] / integrate.quad(weighed, *ends, limit=200)[0]
    assert math.log(found.middles[0]) == pytest.approx(expected, rel=5e-3)  # the row of spreads steps by a tenth
