"""Whole working days away: their chances are those of lots, and over many finishers they hold what they say."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest

from proveout.learning.days import DaysChances, days_chances
from proveout.learning.factors import Learned, Seen, learned_factors
from proveout.learning.prior import prior_of
from proveout.learning.spread import SPREADS
from proveout.quantities.errors import OutOfRange

MIDDLE = math.sqrt(6.0 * 8.0)
PRIOR = prior_of(((6.0 / MIDDLE, 1.0, 8.0 / MIDDLE),))


def told_of(days: list[int]) -> Learned:
    """As a finisher's lots are learned from."""
    noise = 1.0 / math.sqrt(12.0)
    return learned_factors(
        PRIOR, [Seen(name=str(k), ratio=d / MIDDLE, parts=(1.0,), noise=noise / d) for k, d in enumerate(days)]
    )  # fmt: skip


def test_chances_of_days_are_those_of_lots_drawn_by_the_same_law() -> None:
    told = told_of([8, 9, 7, 9, 10, 8, 8])
    found = days_chances(told, middle_days=MIDDLE)
    rng = np.random.default_rng(11)
    spread = rng.choice(len(SPREADS), size=200_000, p=told.weights)
    sides = np.sqrt(told.covariances[spread, 0, 0] + SPREADS[spread] ** 2)
    days = np.maximum(1, np.round(MIDDLE * told.middles[0] * np.exp(sides * rng.normal(size=len(spread)))))
    for day in range(5, 13):
        assert found.chances[day - 1] == pytest.approx(float(np.mean(days == day)), abs=0.004)
    assert math.fsum(found.chances) == pytest.approx(1.0)
    with pytest.raises(OutOfRange):
        days_chances(told, middle_days=0.0)


def test_whole_days_hold_what_they_can_and_no_less_than_eight_of_ten() -> None:
    """Worked: of 1, 3, 4, 2 tenths the fewest in a row that hold 8 are days 2 to 4, which hold 9."""
    found = DaysChances(chances=(0.1, 0.3, 0.4, 0.2))
    first, last, held = found.fewest_run()
    assert (first, last) == (2, 4)
    assert held == pytest.approx(0.9)
    # the middle eight tenths end within day four: half of its chance lies inside
    assert [found.inside_ratio(day) for day in (0, 1, 2, 3, 4, 5)] == pytest.approx([0.0, 0.0, 1.0, 1.0, 0.5, 0.0])
    assert sum(p * found.inside_ratio(day) for day, p in enumerate(found.chances, start=1)) == pytest.approx(0.8)


def test_over_finishers_drawn_as_written_the_middle_eight_tenths_hold_eight_of_ten() -> None:
    """Of 120 finishers with ten lots behind them and five before: 75 to 85 is asked, and chance adds two more."""
    rng = np.random.default_rng(29)
    held, run, said = [], [], []
    for _ in range(120):
        middle = MIDDLE * math.exp(rng.normal(0.0, math.sqrt(PRIOR.covariance[0, 0])))
        days = [max(1, round(middle * math.exp(rng.normal(0.0, 0.12)))) for _ in range(15)]
        chances = days_chances(told_of(days[:10]), middle_days=MIDDLE)
        first, last, share = chances.fewest_run()
        held += [chances.inside_ratio(day) for day in days[10:]]
        run += [first <= day <= last for day in days[10:]]
        said.append(share)
    assert 0.73 <= float(np.mean(held)) <= 0.87
    assert float(np.mean(run)) == pytest.approx(float(np.mean(said)), abs=0.05)
    assert min(said) >= 0.8


def test_days_not_known_of_few_lots_widen_their_chances() -> None:
    """Worked: of one spread, a middle that is unsure by as much again widens all ends by the root of two."""
    at = 30
    weights = np.zeros(len(SPREADS))
    weights[at] = 1.0
    told = told_of([8])
    known, unsure = (
        msgspec.structs.replace(told, middles=(1.0,), weights=weights, covariances=np.full((len(SPREADS), 1, 1), one))
        for one in (0.0, float(SPREADS[at]) ** 2)
    )
    side = float(SPREADS[at])
    for one, deviation in ((known, side), (unsure, side * math.sqrt(2.0))):
        found = days_chances(one, middle_days=100.0)
        above = math.fsum(found.chances[100:])  # from 101 days on, which begin at 100.5
        assert above == pytest.approx(0.5 * math.erfc(math.log(1.005) / deviation / math.sqrt(2.0)), abs=1e-6)
