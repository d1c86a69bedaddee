"""How far batches lie apart is learned: bands hold eight cases of ten whatever the true spread is, after some ten."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from proveout.learning.factors import CLIP_SHARE, Learned, Seen, learned_factors
from proveout.learning.prior import Prior, prior_of
from proveout.learning.spread import SPREAD, SPREADS, reach_ratio, spread_weights
from proveout.quantities.errors import OutOfRange

KINDS = prior_of(((0.85, 1.0, 1.15),) * 3)
WITHIN = 0.01  # of the logarithm, of each batch by itself


def shop(rng: np.random.Generator, true: float, count: int) -> tuple[np.ndarray, list[Seen]]:
    """Factors as the prior has them, and batches of that true spread."""
    factors = np.exp(rng.multivariate_normal(KINDS.middles, KINDS.covariance))
    batches = []
    for k in range(count):
        parts = rng.dirichlet((5.0, 4.0, 2.0))
        log = math.log(float(parts @ factors)) + rng.normal(0.0, math.hypot(true, WITHIN))
        batches.append(Seen(name=str(k), ratio=math.exp(log), parts=tuple(map(float, parts)), noise=WITHIN))
    return factors, batches


@pytest.mark.parametrize("true", [0.02, 0.05, 0.10, 0.20])
def test_bands_hold_eight_cases_of_ten_after_ten_batches_whatever_the_true_spread(true: float) -> None:
    """Of 40 shops with five further batches each: 75 to 85 is asked of the true share, and chance adds two more."""
    rng = np.random.default_rng(20)
    held: list[bool] = []
    for _ in range(40):
        _, batches = shop(rng, true, 15)
        told = learned_factors(KINDS, batches[:10])
        for one in batches[10:]:
            low, _, high = told.next_between(one.parts)
            held.append(low <= one.ratio <= high)
    assert 0.73 <= float(np.mean(held)) <= 0.87


def width(told: Learned) -> float:
    low, _, high = told.next_between((0.5, 0.3, 0.2))
    return math.log(high / low)


def test_bands_narrow_to_batches_that_are_alike_and_widen_to_those_that_scatter() -> None:
    rng = np.random.default_rng(3)
    widths = [width(learned_factors(KINDS, shop(rng, true, 40)[1])) for true in (0.01, 0.05, 0.2)]
    assert widths[0] < 0.6 * widths[1] < 0.3 * widths[2]
    assert widths[0] == pytest.approx(2 * 1.28 * math.hypot(0.01, WITHIN), rel=0.5)


def test_what_batches_say_of_the_spread_is_the_probability_of_all_of_them_together() -> None:
    """Against the normal law of all at once, its determinant and all: where nothing is cut off they must agree.

    Residuals count 1 / sqrt(0.7785) times, as squares of cut-off ones are made up for; the mean of all may lie
    anywhere, at a deviation of 1 more than was written.
    """
    deviation, noise = 0.1, 0.06
    logs = np.array([0.03, -0.02, 0.05, 0.01])
    prior = Prior(middles=np.zeros(1), covariance=np.array([[deviation**2]]))
    batches = [Seen(name=str(k), ratio=math.exp(y), parts=(1.0,), noise=noise) for k, y in enumerate(logs)]
    found = learned_factors(prior, batches).weights
    expected = np.array([
        s / (1.0 + (s / SPREAD) ** 2) * multivariate_normal.pdf(
            logs / math.sqrt(CLIP_SHARE), cov=(deviation**2 + 1.0) * np.ones((4, 4)) + (s**2 + noise**2) * np.eye(4))
        for s in SPREADS
    ])  # fmt: skip
    assert found == pytest.approx(expected / expected.sum(), abs=2e-3 * float(found.max()))


@given(st.floats(0.01, 0.3), st.integers(1, 5))
@settings(max_examples=20, deadline=None)
def test_one_deviation_reaches_as_a_normal_law_does_and_more_lie_between(one: float, times: int) -> None:
    even = np.full(len(SPREADS), 1.0 / len(SPREADS))
    assert reach_ratio(deviations=np.full(len(SPREADS), one), weights=even) == pytest.approx(1.2815515655 * one)
    mixed = np.full(len(SPREADS), one)
    mixed[::2] *= times
    assert 1.2815 * one <= reach_ratio(deviations=mixed, weights=even) <= 1.2816 * one * times


def test_without_a_batch_half_the_weight_lies_below_the_guess() -> None:
    weights = spread_weights(np.zeros(len(SPREADS)))
    assert float(weights[SPREADS < SPREAD].sum()) == pytest.approx(0.5, abs=0.06)
    with pytest.raises(OutOfRange):
        spread_weights(np.zeros(3))
    with pytest.raises(OutOfRange):
        reach_ratio(deviations=np.zeros(2), weights=np.array([0.5, 0.5]))
