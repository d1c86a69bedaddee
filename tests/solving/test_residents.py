"""What stays in the changer is what trying every choice finds."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from proveout.quantities.errors import OutOfRange
from proveout.solving.residents import residents


def fewest_by_trying_all(needs: list[frozenset[int]], places: int) -> int:
    every = sorted(frozenset().union(*needs))
    counts = [
        sum(len(need.difference(stay)) for need in needs)
        for size in range(len(every) + 1)
        for stay in map(frozenset, itertools.combinations(every, size))
        if all(len(stay) + len(need - stay) <= places for need in needs)
    ]
    return min(counts)


@pytest.mark.parametrize("seed", range(40))
def test_loads_are_those_of_trying_every_choice(seed: int) -> None:
    random = np.random.default_rng(seed)
    places = int(random.integers(3, 7))
    needs = [
        frozenset(int(k) for k in random.choice(9, size=int(random.integers(1, places + 1)), replace=False))
        for _ in range(int(random.integers(2, 7)))
    ]
    found = residents(needs=needs, places_count=places)
    assert found.status == "proved"
    assert all(len(found.chosen) + len(need.difference(found.chosen)) <= places for need in needs)
    assert found.loads_count == sum(len(need.difference(found.chosen)) for need in needs)
    assert found.loads_count == found.bound_count == fewest_by_trying_all(needs, places)


def test_everything_stays_where_there_is_room() -> None:
    found = residents(needs=[frozenset({3, 1}), frozenset({1, 2})], places_count=3)
    assert (found.chosen, found.loads_count) == ((1, 2, 3), 0)


def test_among_equals_fewer_and_lower_ones_stay() -> None:
    """Each of the two parts fills the changer: only what both need can stay."""
    found = residents(needs=[frozenset({0, 1, 2}), frozenset({2, 3, 4})], places_count=3)
    assert (found.chosen, found.loads_count) == ((2,), 4)


def test_a_part_with_more_cutters_than_places_is_refused_with_both_numbers() -> None:
    with pytest.raises(OutOfRange, match=r"found: 4.*limit: 3"):
        residents(needs=[frozenset({0, 1, 2, 3})], places_count=3)


def test_an_index_below_nought_is_refused() -> None:
    with pytest.raises(OutOfRange, match="-1"):
        residents(needs=[frozenset({-1, 0})], places_count=1)
