"""What is named to the owner: by chance no more often than is said, and what is amiss always."""

from __future__ import annotations

import numpy as np
import pytest

from proveout.learning.naming import NAMED_RATIO, SORTS, contradictions, look_ratio, odd_batches, runs_to_one_side
from proveout.learning.prior import Array
from proveout.learning.shares import Counted, learned_share
from proveout.quantities.errors import OutOfRange

ONE = np.array([1.0])
DRAWS, BATCHES = 3000, 60
SORT = NAMED_RATIO / SORTS


def rows(logs: Array) -> Array:
    return np.asarray(logs, dtype=np.float64)[None, :]


def named_ratio(groups: int, kinds: int = 5) -> tuple[float, float, float]:
    """How often odd batches, runs and contradictions are named where nothing is amiss."""
    rng = np.random.default_rng(20)
    odd = runs = against = 0
    for _ in range(DRAWS):
        apart = rows(rng.normal(size=BATCHES))
        odd += bool(odd_batches(apart=apart, weights=ONE, groups_count=groups))
        runs += bool(runs_to_one_side(apart=apart, weights=ONE, groups_count=groups))
        against += bool(contradictions(against=rng.normal(size=kinds), groups_count=groups))
    return odd / DRAWS, runs / DRAWS, against / DRAWS


def test_chance_alone_is_named_as_seldom_as_is_said() -> None:
    """Of 3000 years of nothing but chance: each sort within its third of five in a hundred, three deviations of it."""
    side = 3.0 * (SORT / DRAWS) ** 0.5
    odd, runs, against = named_ratio(groups=1)
    assert odd == pytest.approx(SORT, abs=side)
    assert against == pytest.approx(SORT, abs=side)
    assert 0.0 < runs <= SORT + side
    five = named_ratio(groups=5)
    assert max(five) <= SORT / 5.0 + 3.0 * (SORT / 5.0 / DRAWS) ** 0.5


def test_a_changed_clock_is_named_and_one_wild_batch_is_no_run() -> None:
    rng = np.random.default_rng(4)
    calm = rng.normal(size=BATCHES).clip(-1.5, 1.5)
    calm[19], calm[24] = 0.0, 0.0
    clock = calm.copy()
    clock[20:24] = 3.0
    assert (20, 23) in runs_to_one_side(apart=rows(clock), weights=ONE, groups_count=6)
    wild = calm.copy()
    wild[20:24] = (1.2, 9.0, 1.2, 1.2)
    assert not runs_to_one_side(apart=rows(wild), weights=ONE, groups_count=6)
    assert odd_batches(apart=rows(wild), weights=ONE, groups_count=6) == (21,)


def test_a_long_run_that_lies_little_beyond_is_named() -> None:
    """Ten in a row beyond one deviation: chance has a run of three in two years of five, one of ten in none."""
    apart = np.zeros(BATCHES)
    apart[30:33] = 1.3
    assert not runs_to_one_side(apart=rows(apart), weights=ONE, groups_count=5)
    apart[30:40] = 1.3
    assert runs_to_one_side(apart=rows(apart), weights=ONE, groups_count=5) == ((30, 39),)


def test_what_a_wide_spread_explains_is_not_odd() -> None:
    """Four deviations of the likelier spread, one of the other: one in five such batches lies as far."""
    apart = np.array([[4.0, 0.0], [1.0, 0.0]])
    assert not odd_batches(apart=apart, weights=np.array([0.7, 0.3]), groups_count=1)
    assert odd_batches(apart=apart, weights=np.array([1.0, 0.0]), groups_count=1) == (0,)


def test_looks_share_one_chance() -> None:
    assert look_ratio(groups_count=1, looks_count=1, sorts_count=1) == NAMED_RATIO
    assert look_ratio(groups_count=4, looks_count=60) == pytest.approx(NAMED_RATIO / (4 * 3 * 60))
    with pytest.raises(OutOfRange):
        look_ratio(groups_count=0, looks_count=1)
    nothing = np.zeros((1, 0))
    assert not odd_batches(apart=nothing, weights=ONE, groups_count=1)
    assert not runs_to_one_side(apart=nothing, weights=ONE, groups_count=1)
    assert not contradictions(against=np.zeros(0), groups_count=1)


def test_a_batch_that_is_cut_off_is_named_only_beyond_chance_of_all() -> None:
    """Nine bad of forty where two in a hundred are usual: one in thirteen hundred, of which a year holds sixty."""
    good = [Counted(name=str(k), pieces_count=40, bad_count=1) for k in range(59)]

    def told(bad: int) -> tuple[str, ...]:
        year = [*good, Counted(name="x", pieces_count=40, bad_count=bad)]
        return learned_share(low=0.01, nominal=0.02, high=0.05, batches=year, groups_count=5).odd

    assert told(9) == ()
    assert told(20) == ("x",)
