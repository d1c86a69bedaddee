"""The order of holes: the shortest way for few, never longer than from nearest to nearest for many."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numpy.typing import NDArray

from proveout.stages.passes.visiting import short_way, short_way_in_turn

Array = NDArray[np.float64]


def length(places: Array, order: list[int]) -> float:
    way = places[order]
    return float(np.linalg.norm(np.diff(way, axis=0), axis=1).sum())


@pytest.mark.parametrize("seed", range(6))
def test_few_places_are_visited_on_the_shortest_way_of_all(seed: int) -> None:
    places = np.random.default_rng(seed).uniform(0.0, 60.0, (6, 2))
    found = short_way(places)
    assert sorted(found) == list(range(6))
    best = min(length(places, list(order)) for order in itertools.permutations(range(6)))
    assert length(places, found) == pytest.approx(best)


@pytest.mark.parametrize("seed", range(4))
def test_many_places_are_visited_once_each_and_no_leg_crosses_another(seed: int) -> None:
    places = np.random.default_rng(seed).uniform(0.0, 60.0, (40, 2))
    found = short_way(places)
    assert sorted(found) == list(range(40))
    own = length(places, found)
    assert own < 0.6 * length(places, list(range(40)))
    for first, last in itertools.combinations(range(40), 2):
        turned = found[:first] + found[first : last + 1][::-1] + found[last + 1 :]
        assert own <= length(places, turned) + 1e-5


def test_two_rows_of_three_are_gone_through_in_turns() -> None:
    """Worked: across 10, along 20, across 10, along 20, across 10: 70; along each row it would be 90."""
    row = np.array([[0.0, 0.0], [40.0, 10.0], [0.0, 10.0], [40.0, 0.0], [20.0, 0.0], [20.0, 10.0]])
    found = short_way(row)
    assert length(row, found) == pytest.approx(70.0)


def test_one_place_and_none() -> None:
    assert short_way(np.zeros((0, 2))) == []
    assert short_way(np.zeros((1, 2))) == [0]


def ways(starts: Array, ends: Array, order: list[int]) -> float:
    return float(sum(np.linalg.norm(ends[a] - starts[b]) for a, b in itertools.pairwise(order)))


def is_in_turn(order: list[int], before: list[int]) -> bool:
    return all(not before[k] >> j & 1 for place, k in enumerate(order) for j in order[place:])


@pytest.mark.parametrize("seed", range(8))
def test_runs_with_two_ends_go_the_shortest_way_that_their_turns_allow(seed: int) -> None:
    random = np.random.default_rng(seed)
    starts, ends = random.uniform(0.0, 60.0, (2, 6, 2))
    before = [sum(1 << j for j in range(k) if random.random() < 0.2) for k in range(6)]
    found = short_way_in_turn(starts, ends, before)
    allowed = [list(order) for order in itertools.permutations(range(6)) if is_in_turn(list(order), before)]
    assert found in allowed
    assert ways(starts, ends, found) == pytest.approx(min(ways(starts, ends, order) for order in allowed))


@pytest.mark.parametrize("seed", range(4))
def test_many_runs_keep_their_turns_and_no_single_one_lies_better_elsewhere(seed: int) -> None:
    random = np.random.default_rng(seed)
    starts, ends = random.uniform(0.0, 60.0, (2, 25, 2))
    before = [sum(1 << j for j in range(k) if random.random() < 0.05) for k in range(25)]
    found = short_way_in_turn(starts, ends, before)
    assert sorted(found) == list(range(25))
    assert is_in_turn(found, before)
    own = ways(starts, ends, found)
    assert own < ways(starts, ends, list(range(25)))
    for one in range(25):
        rest = [k for k in found if k != one]
        for at in range(25):
            tried = [*rest[:at], one, *rest[at:]]
            assert not is_in_turn(tried, before) or own <= ways(starts, ends, tried) + 1e-5
