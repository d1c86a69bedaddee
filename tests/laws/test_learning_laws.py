"""What holds of learning whatever the batches were."""

from __future__ import annotations

import math
from random import Random
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.learning.factors import CLIP, CLIP_SHARE, Seen, learned_factors
from proveout.learning.prior import LEAST_DEVIATION, LONE_DEVIATION, REACH, prior_deviation_ratio, prior_of
from proveout.learning.shares import Counted, alike_pieces_ratio, learned_share, prior_weight_count
from proveout.quantities.errors import OutOfRange

WIDE = (0.85, 1.0, 1.15)
BOUND = 2.0  # standard deviations, with or without it, by which one batch moves an estimate at most: as promised
LOGS = st.lists(st.floats(-0.25, 0.25), min_size=0, max_size=12)


def seen(logs: list[float]) -> list[Seen]:
    return [Seen(name=str(k), ratio=math.exp(log), parts=(1.0,)) for k, log in enumerate(logs)]


def middle(logs: list[float]) -> float:
    return math.log(learned_factors(prior_of((WIDE,)), seen(logs)).middles[0])


def test_the_constants_are_those_of_a_normal_law() -> None:
    assert NormalDist().inv_cdf(0.9) == pytest.approx(REACH)
    inside, density = 2.0 * NormalDist().cdf(CLIP) - 1.0, NormalDist().pdf(CLIP)
    assert inside - 2.0 * CLIP * density + CLIP**2 * (1.0 - inside) == pytest.approx(CLIP_SHARE)


def test_without_a_batch_all_is_as_it_was_written() -> None:
    found = learned_factors(prior_of((WIDE, (0.5, 1.0, 2.0))), [])
    assert found.middles == pytest.approx((1.0, 1.0))
    assert found.low[1] < 0.55
    assert found.high[1] > 1.8


@given(LOGS, st.floats(-9.0, 9.0))
@settings(max_examples=40, deadline=None)
def test_no_single_batch_moves_a_factor_by_more_than_stated(logs: list[float], wild: float) -> None:
    without = learned_factors(prior_of((WIDE,)), seen(logs))
    with_it = learned_factors(prior_of((WIDE,)), seen([*logs, wild]))
    unsure = max(without.deviations[0], with_it.deviations[0])
    assert abs(math.log(with_it.middles[0] / without.middles[0])) <= BOUND * unsure


@given(st.lists(st.floats(-0.25, 0.25), min_size=1, max_size=12), st.randoms())
@settings(max_examples=30, deadline=None)
def test_the_order_of_batches_changes_nothing(logs: list[float], random: Random) -> None:
    mixed = logs[:]
    random.shuffle(mixed)
    assert middle(mixed) == pytest.approx(middle(logs), abs=1e-6)


@pytest.mark.parametrize("true", [0.8, 1.0, 1.3])
def test_many_batches_tell_the_truth_whatever_was_written(true: float) -> None:
    rng = np.random.default_rng(5)
    logs = list(math.log(true) + rng.normal(0.0, 0.05, 80))
    found = learned_factors(prior_of(((0.95, 1.0, 1.05),)), seen(logs))
    assert found.middles[0] == pytest.approx(true, rel=0.03)
    assert (found.conflicts == (0,)) == (true != 1.0)


def test_kinds_that_batches_hold_in_different_shares_are_told_apart() -> None:
    rng = np.random.default_rng(6)
    true = np.array([1.25, 0.9])
    batches = []
    for k in range(60):
        share = float(rng.uniform(0.2, 0.8))
        ratio = float(np.array([share, 1.0 - share]) @ true) * math.exp(rng.normal(0.0, 0.03))
        batches.append(Seen(name=str(k), ratio=ratio, parts=(share, 1.0 - share)))
    found = learned_factors(prior_of((WIDE, WIDE)), batches)
    assert found.middles == pytest.approx(tuple(true), rel=0.05)


def test_an_odd_batch_and_a_run_to_one_side_are_named() -> None:
    rng = np.random.default_rng(7)
    logs = list(rng.normal(0.0, 0.03, 40))
    logs[11] = 0.9
    logs[20:26] = [0.25] * 6
    found = learned_factors(prior_of((WIDE,)), seen(logs))
    assert "11" in found.odd
    assert ("20", "25") in found.runs
    assert abs(math.log(found.middles[0])) < 0.02


def test_what_contradicts_widens() -> None:
    calm = learned_factors(prior_of(((0.97, 1.0, 1.03),)), seen([0.01, -0.01, 0.0]))
    torn = learned_factors(prior_of(((0.97, 1.0, 1.03),)), seen([0.3, 0.3, 0.3]))
    assert torn.conflicts == (0,)
    assert torn.high[0] > math.exp(0.3) > 1.0 > torn.low[0]  # it reaches both what was written and what happened
    assert calm.high[0] < 1.03
    uneven = learned_factors(prior_of(((0.97, 1.0, 1.03),)), seen([0.33, 0.27, 0.33, 0.27, 0.3]))
    assert uneven.low[0] < 1.0 < math.exp(0.3) < uneven.high[0]  # where their own scatter would not reach either


def test_priors_are_read_as_half_a_law_to_either_side() -> None:
    """Against draws: each side has half of them, a tenth beyond the end, and their mean square about the middle."""
    rng = np.random.default_rng(5)
    sides = np.where(rng.random(400_000) < 0.5, math.log(1.1), -math.log(2.0)) / REACH
    logs = sides * np.abs(rng.normal(size=400_000))
    assert float(np.mean(logs > math.log(1.1))) == pytest.approx(0.1, abs=0.003)
    found = prior_deviation_ratio(low=0.5, nominal=1.0, high=1.1)
    assert found == pytest.approx(float(np.sqrt(np.mean(logs**2))), rel=0.01)
    even = prior_deviation_ratio(low=1 / 1.2, nominal=1.0, high=1.2)
    assert even == pytest.approx(math.log(1.2) / REACH)
    assert prior_deviation_ratio(low=1.0, nominal=1.0, high=1.0) == LONE_DEVIATION
    assert prior_deviation_ratio(low=0.999, nominal=1.0, high=1.001) == LEAST_DEVIATION
    with pytest.raises(OutOfRange):
        prior_deviation_ratio(low=0.0, nominal=1.0, high=2.0)
    found = prior_of((WIDE, WIDE)).covariance
    assert found[0, 1] == pytest.approx(0.5 * found[0, 0])


@given(st.integers(1, 500), st.floats(0.0, 1.0))
@settings(max_examples=60, deadline=None)
def test_one_batch_moves_a_share_by_no_more_than_fifty_pieces_do(pieces: int, lost: float) -> None:
    bad = round(pieces * lost)
    found = learned_share(
        low=0.01, nominal=0.02, high=0.05, batches=[Counted(name="a", pieces_count=pieces, bad_count=bad)]
    )
    weight = prior_weight_count(low=0.01, nominal=0.02, high=0.05)
    assert found.low <= found.middle <= found.high
    assert abs(found.middle - 0.02) <= 50.0 / (weight + 50.0)


def test_pieces_of_a_batch_are_alike_and_a_lost_batch_is_named() -> None:
    assert alike_pieces_ratio(pieces_count=1) == 1.0
    assert 10_000 * alike_pieces_ratio(pieces_count=10_000) < 50.0
    good = [Counted(name=str(k), pieces_count=40, bad_count=1) for k in range(20)]
    found = learned_share(
        low=0.01, nominal=0.02, high=0.05, batches=[*good, Counted(name="x", pieces_count=40, bad_count=40)]
    )
    assert found.odd == ("x",)
    assert found.middle < 0.06
    torn = learned_share(low=0.001, nominal=0.002, high=0.003, batches=[
        Counted(name=str(k), pieces_count=40, bad_count=6) for k in range(20)])  # fmt: skip
    assert torn.is_conflict
    assert torn.high >= 0.1
