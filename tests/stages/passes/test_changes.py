"""Fewest cutter changes, held against every order that is allowed."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
import pytest

from proveout.stages.passes.changes import Group, fewest_changes


def orders(group: Group, done: int = 0) -> Iterator[tuple[int, ...]]:
    """Every order in which each comes after those that must come before it."""
    if done == group.whole:
        yield ()
    for k in range(len(group.cutters)):
        if not done >> k & 1 and not group.before[k] & ~done:
            for rest in orders(group, done | 1 << k):
                yield (k, *rest)


def changes(groups: Sequence[Group], order: Sequence[Sequence[int]]) -> int:
    """Going round once: the last cutter to the first is a change too."""
    names = [group.cutters[k] for group, places in zip(groups, order, strict=True) for k in places]
    return sum(name != names[k - 1] for k, name in enumerate(names))


def drawn(seed: int, sizes: tuple[int, ...], cutters: str) -> list[Group]:
    random = np.random.default_rng(seed)
    groups = []
    for count in sizes:
        before = [sum(1 << j for j in range(k) if random.random() < 0.25) for k in range(count)]
        names = tuple(cutters[i] for i in random.integers(0, len(cutters), count))
        groups.append(Group(cutters=names, before=tuple(before)))
    return groups


@pytest.mark.parametrize("seed", range(40))
def test_no_order_that_is_allowed_has_fewer_changes(seed: int) -> None:
    groups = drawn(seed, ((6,), (4, 4), (3, 3, 3))[seed % 3], "ABC" if seed % 2 else "ABCD")
    runs = fewest_changes(groups)
    found = [[k for run in own for k in run] for own in runs]
    for group, order in zip(groups, found, strict=True):
        assert tuple(order) in set(orders(group))
    best = min(changes(groups, order) for order in itertools.product(*(list(orders(g)) for g in groups)))
    assert changes(groups, found) == best
    for group, own in zip(groups, runs, strict=True):
        assert all(len({group.cutters[k] for k in run}) == 1 for run in own)


def test_a_tilt_begins_with_the_cutter_that_the_one_before_ended_with() -> None:
    """Worked: A B | B A goes round with two changes; as laid, A B | A B, with four."""
    free = Group(cutters=("A", "B"), before=(0, 0))
    assert fewest_changes([free, free]) == [[[0], [1]], [[1], [0]]]


def test_what_was_laid_first_comes_first_where_nothing_is_saved() -> None:
    free = Group(cutters=("B", "A", "C"), before=(0, 0, 0))
    assert fewest_changes([free]) == [[[0], [1], [2]]]
    assert fewest_changes([]) == []


@pytest.mark.parametrize("seed", range(3))
def test_with_too_many_states_to_look_at_the_order_is_still_allowed_and_better_than_the_one_given(seed: int) -> None:
    (group,) = drawn(seed, (40,), "ABCDEFGHIJKL")
    (runs,) = fewest_changes([group])
    order = [k for run in runs for k in run]
    assert sorted(order) == list(range(40))
    done = 0
    for k in order:
        assert not group.before[k] & ~done
        done |= 1 << k
    assert changes([group], [order]) < changes([group], [list(range(40))])


def test_with_too_many_states_an_order_that_is_as_good_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Taking what can do most first does not see that B, called now, is wanted again behind C."""
    monkeypatch.setattr("proveout.stages.passes.changes.LOOKED_AT_MOST", 0)
    group = Group(cutters=("A", "C", "B", "B", "B"), before=(0, 1, 0, 0, 0b10))
    assert fewest_changes([group]) == [[[0], [1], [2], [3], [4]]]
