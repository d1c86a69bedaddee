"""The order of holes: the shortest way for few, never longer than from nearest to nearest for many."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numpy.typing import NDArray

from proveout.stages.passes.visiting import short_way

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
