"""Filling one bar: the most valuable and the fullest, against every filling tried."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from proveout.solving import filling
from proveout.solving.bar_model import cost_of, least_cost
from proveout.solving.bars import Bar, Order
from proveout.solving.columns import bound_of, relax, safe_duals
from proveout.solving.filling import Filler, fullest
from proveout.solving.filling_by_hand import plain_plan
from proveout.solving.listing import worthwhile
from proveout.solving.sets_of_bars import sets_of_bars


def every_filling(sizes: list[int], most: list[int], room: int) -> list[tuple[int, ...]]:
    each = itertools.product(*(range(n + 1) for n in most))
    return [one for one in each if sum(n * s for n, s in zip(one, sizes, strict=True)) <= room]


@pytest.mark.parametrize("cells", [0, 4096])
@pytest.mark.parametrize("seed", range(8))
def test_the_most_valuable_filling_is_that_of_trying_every_one(
    seed: int, cells: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both ways of keeping the sums, and several rooms at once."""
    monkeypatch.setattr(filling, "DENSE_CELLS", cells)
    draw = np.random.default_rng(seed)
    sizes = sorted({int(n) for n in draw.integers(5, 60, 4)}, reverse=True)
    most = [int(n) for n in draw.integers(1, 6, len(sizes))]
    values = [int(n) for n in draw.integers(0, 50, len(sizes))]
    rooms = [97, 130, 4]
    for room, (value, pattern) in zip(rooms, Filler(sizes, max(rooms)).best(values, most, rooms), strict=True):
        tried = [sum(n * v for n, v in zip(one, values, strict=True)) for one in every_filling(sizes, most, room)]
        assert value == max(tried) == sum(n * v for n, v in zip(pattern, values, strict=True))
        assert pattern in every_filling(sizes, most, room)


@pytest.mark.parametrize("seed", range(8))
def test_the_fullest_filling_leaves_the_least(seed: int) -> None:
    draw = np.random.default_rng(50 + seed)
    sizes = sorted({int(n) for n in draw.integers(11, 80, 4)}, reverse=True)
    most = [int(n) for n in draw.integers(1, 5, len(sizes))]
    found = fullest(sizes, most, 233)
    tried = every_filling(sizes, most, 233)
    assert found in tried
    assert sum(n * s for n, s in zip(found, sizes, strict=True)) == max(
        sum(n * s for n, s in zip(one, sizes, strict=True)) for one in tried
    )


def drawn(seed: int) -> tuple[list[Bar], Order]:
    """Bars of which one kind is scarce, and pieces of which two or three go into one."""
    draw = np.random.default_rng(seed)
    bars = [
        Bar(length=100, room=100, price=10, most_bars=None), Bar(length=70, room=70, price=3, most_bars=2),
        Bar(length=55, room=55, price=int(draw.integers(4, 8)), most_bars=None),
    ]  # fmt: skip
    sizes = sorted({int(n) for n in draw.integers(26, 51, 6)}, reverse=True)
    counts = tuple(int(n) for n in draw.integers(1, 6, len(sizes)))
    return bars, Order(sizes=tuple(sizes), counts=counts, kerf=0, trim=0)


@pytest.mark.parametrize("seed", range(12))
def test_the_bound_of_the_relaxation_is_true_and_no_filling_is_worth_more_than_its_bar(seed: int) -> None:
    """What proves a plan cheapest: whole-number duals that every filling keeps, so that rounding cannot lie."""
    bars, order = drawn(seed)
    found = relax(bars, order, sorted(plain_plan(bars, order) or ()))
    duals = found.duals
    for bar, charge in zip(bars, duals.charges, strict=True):
        for one in every_filling(list(order.sizes), list(order.counts), bar.room):
            worth = sum(n * w for n, w in zip(one, duals.worth, strict=True))
            assert worth <= bar.price * duals.scale + charge
    charged = sum(charge * (bar.most_bars or 0) for charge, bar in zip(duals.charges, bars, strict=True))
    assert duals.total == sum(n * w for n, w in zip(order.counts, duals.worth, strict=True)) - charged
    choice = least_cost(bars, order, 5.0)
    assert choice is not None
    assert bound_of(duals, 1) <= choice.bound == choice.cost
    assert bound_of(duals, 1) > 0.8 * choice.cost


@pytest.mark.parametrize("seed", range(6))
def test_what_is_left_out_of_the_list_is_in_no_plan_that_cheap(seed: int) -> None:
    """Fillings of a cheapest plan are listed for its cost, or others that hold more."""
    bars, order = drawn(seed)
    duals = relax(bars, order, sorted(plain_plan(bars, order) or ())).duals
    choice = least_cost(bars, order, 5.0)
    assert choice is not None
    listed = worthwhile(bars, order, duals, cost_of(choice.bars, bars), 10_000)
    everything = worthwhile(bars, order, duals, None, 10_000)
    assert set(listed) <= set(everything)
    for at, pattern in choice.bars:
        assert any(kind == at and all(a <= b for a, b in zip(pattern, one, strict=True)) for kind, one in listed)


@pytest.mark.parametrize("seed", range(8))
def test_worths_that_break_a_filling_are_scaled_until_none_does(seed: int) -> None:
    """Whatever the solver says a piece is worth, what is kept of it bounds from below."""
    bars, order = drawn(seed)
    draw = np.random.default_rng(900 + seed)
    worth = [int(n) for n in draw.integers(1000, 9000, len(order.sizes))]
    values = [
        max(sum(n * w for n, w in zip(one, worth, strict=True))
            for one in every_filling(list(order.sizes), list(order.counts), bar.room)) for bar in bars
    ]  # fmt: skip
    duals = safe_duals(bars, order, worth, values, 1000)
    for bar, charge in zip(bars, duals.charges, strict=True):
        for one in every_filling(list(order.sizes), list(order.counts), bar.room):
            assert sum(n * w for n, w in zip(one, duals.worth, strict=True)) <= 1000 * bar.price + charge


@pytest.mark.parametrize("seed", range(8))
def test_sets_of_bars_come_cheapest_first_and_the_first_is_the_cheapest_of_all(seed: int) -> None:
    bars, order = drawn(seed)
    need = sum(size * count for size, count in zip(order.sizes, order.counts, strict=True))
    found = list(itertools.islice(sets_of_bars(bars, order), 20))
    costs = [cost for cost, _ in found]
    assert costs == sorted(costs)
    for cost, counts in found:
        assert sum(n * bar.room for n, bar in zip(counts, bars, strict=True)) >= need
        assert cost == sum(n * bar.price for n, bar in zip(counts, bars, strict=True))
        assert all(bar.most_bars is None or n <= bar.most_bars for n, bar in zip(counts, bars, strict=True))
    tops = [need // bar.room + 1 if bar.most_bars is None else bar.most_bars for bar in bars]
    tried = [
        sum(n * bar.price for n, bar in zip(one, bars, strict=True))
        for one in itertools.product(*(range(top + 1) for top in tops))
        if sum(n * bar.room for n, bar in zip(one, bars, strict=True)) >= need
    ]
    assert costs[0] == min(tried)
