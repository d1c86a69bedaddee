"""The cheapest cover is the one that trying every choice finds."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from proveout.quantities.errors import OutOfRange
from proveout.solving.set_cover import cover


def cheapest_by_trying_all(sets: list[frozenset[int]], costs: list[float], universe: set[int]) -> float:
    best = float("inf")
    for size in range(len(sets) + 1):
        for chosen in itertools.combinations(range(len(sets)), size):
            if set().union(*(sets[i] for i in chosen)) >= universe:
                best = min(best, sum(costs[i] for i in chosen))
    return best


@pytest.mark.parametrize("seed", range(40))
def test_cost_is_that_of_trying_every_choice(seed: int) -> None:
    random = np.random.default_rng(seed)
    universe = set(range(int(random.integers(1, 12))))
    sets = [frozenset(i for i in universe if random.random() < 0.35) for _ in range(9)]
    sets.append(frozenset(universe - set().union(*sets)))
    costs = [float(round(random.uniform(0.0, 5.0), 2)) for _ in sets]
    found = cover(sets=sets, costs=costs, universe=universe)
    assert found.status == "proved"
    assert set().union(*(sets[i] for i in found.chosen)) >= universe
    assert found.cost == pytest.approx(cheapest_by_trying_all(sets, costs, universe), abs=1e-9)
    assert found.bound == pytest.approx(found.cost, abs=1e-3)


def test_nothing_is_left_out_to_save_a_dear_set() -> None:
    found = cover(sets=[frozenset({1, 2, 3}), frozenset({4})], costs=[1.0, 1e6], universe=[1, 2, 3, 4])
    assert found.chosen == (0, 1)


def test_what_no_set_contains_is_named() -> None:
    found = cover(sets=[frozenset({1})], costs=[1.0], universe=[3, 1, 2])
    assert (found.status, found.missing, found.chosen) == ("cannot", (2, 3), ())


def test_an_empty_universe_needs_nothing() -> None:
    assert cover(sets=[frozenset({1})], costs=[1.0], universe=[]).chosen == ()


def test_the_answer_is_the_same_every_time() -> None:
    random = np.random.default_rng(1)
    sets = [frozenset(int(i) for i in random.choice(24, 6, replace=False)) for _ in range(24)]
    sets.append(frozenset(range(24)))
    costs = [1.0] * 24 + [40.0]
    assert len({cover(sets=sets, costs=costs, universe=range(24)) for _ in range(3)}) == 1


def test_costs_must_match_and_not_be_negative() -> None:
    with pytest.raises(OutOfRange, match="needs a cost"):
        cover(sets=[frozenset({1})], costs=[], universe=[1])
    with pytest.raises(OutOfRange, match="0 or more"):
        cover(sets=[frozenset({1})], costs=[-1.0], universe=[1])
