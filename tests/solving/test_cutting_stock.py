"""Saw plans: valid by counting, fewest by trying everything, never worse than filling bars by hand."""

from __future__ import annotations

import functools

import numpy as np
import pytest

from proveout.quantities.errors import OutOfRange
from proveout.solving import bar_model
from proveout.solving.cutting_stock import BarPlan, pieces_per_bar_count, solve_bars

SAW = {"kerf_mm": 1.8, "trim_mm": 6.0, "tail_mm": 65.0}


def check_by_counting(
    plan: BarPlan,
    demand: dict[float, int],
    stock: list[tuple[float, float, int | None]],
    saw: dict[str, float],
    bundle_max: int,
) -> None:
    """A plan is what it says: pieces fit, are enough, bundles are not too large, sums agree."""
    made: dict[float, int] = {}
    bars: dict[float, int] = {}
    strokes = 0
    for bundle in plan.bundles:
        assert 1 <= bundle.bars_count <= bundle_max
        assert bundle.bundles_count >= 1
        number = sum(count for _, count in bundle.pieces)
        metal = sum(length * count for length, count in bundle.pieces) + (number - 1) * saw["kerf_mm"]
        assert saw["trim_mm"] + metal + saw["tail_mm"] <= bundle.stock_length_mm + 1e-6
        rest = bundle.stock_length_mm - saw["trim_mm"] - metal
        assert bundle.leftover_mm == pytest.approx(max(0.0, rest - saw["kerf_mm"]), abs=0.011 * number + 0.02)
        expected = number + (saw["trim_mm"] > 0.0) - (1 if rest < 1e-9 else 0)
        assert bundle.strokes_count == expected
        strokes += bundle.bundles_count * bundle.strokes_count
        taken = bundle.bars_count * bundle.bundles_count
        bars[bundle.stock_length_mm] = bars.get(bundle.stock_length_mm, 0) + taken
        for length, count in bundle.pieces:
            made[length] = made.get(length, 0) + taken * count
    assert all(made.get(length, 0) >= count for length, count in demand.items())
    assert dict(plan.produced) == {length: made.get(length, 0) for length, count in demand.items() if count}
    assert dict(plan.bars) == bars
    assert plan.bars_count == sum(bars.values())
    assert plan.saw_strokes_count == strokes
    price = {length: cost for length, cost, _ in stock}
    assert plan.cost == pytest.approx(sum(price[length] * count for length, count in bars.items()))
    for length, _, most in stock:
        assert most is None or bars.get(length, 0) <= most
    assert plan.lower_bound <= plan.cost + 1e-9
    assert plan.strokes_bound_count <= plan.saw_strokes_count


def cheapest_by_trying_all(
    demand: dict[float, int], stock: list[tuple[float, float, int | None]], saw: dict[str, float]
) -> float:
    """Least cost by trying every filling of one bar after another, with everything tried remembered."""
    lengths = sorted(demand, reverse=True)

    def fillings(room: float, at: int, need: tuple[int, ...]) -> list[tuple[int, ...]]:
        if at == len(lengths):
            return [()]
        size = lengths[at] + saw["kerf_mm"]
        most = min(need[at], int((room + 1e-9) // size))
        return [(n, *rest) for n in range(most + 1) for rest in fillings(room - n * size, at + 1, need)]

    @functools.cache
    def least(need: tuple[int, ...], left: tuple[int, ...]) -> float:
        if not any(need):
            return 0.0
        best = float("inf")
        for i, (length, price, _) in enumerate(stock):
            if left[i] == 0:
                continue
            room = length - saw["trim_mm"] - saw["tail_mm"] + saw["kerf_mm"]
            fewer = tuple(n - (1 if j == i else 0) for j, n in enumerate(left))
            for filling in fillings(room, 0, need):
                if any(filling):
                    rest = tuple(n - f for n, f in zip(need, filling, strict=True))
                    best = min(best, price + least(rest, fewer))
        return best

    start = tuple(99 if most is None else most for _, _, most in stock)
    return least(tuple(demand[length] for length in lengths), start)


def bars_by_first_fit(demand: dict[float, int], length_mm: float, saw: dict[str, float]) -> int:
    room = length_mm - saw["trim_mm"] - saw["tail_mm"] + saw["kerf_mm"]
    left: list[float] = []
    for length in sorted(demand, reverse=True):
        for _ in range(demand[length]):
            size = length + saw["kerf_mm"]
            at = next((i for i, free in enumerate(left) if free >= size - 1e-9), None)
            if at is None:
                left.append(room)
                at = len(left) - 1
            left[at] -= size
    return len(left)


@pytest.mark.parametrize("seed", range(24))
def test_cost_is_that_of_trying_everything(seed: int) -> None:
    random = np.random.default_rng(seed)
    demand = {float(random.integers(20, 60)): int(random.integers(1, 4)) for _ in range(int(random.integers(1, 4)))}
    saw = {"kerf_mm": float(random.choice([0.0, 2.0])), "trim_mm": float(random.choice([0.0, 3.0])), "tail_mm": 5.0}
    stock: list[tuple[float, float, int | None]] = [(120.0, 10.0, None), (80.0, float(random.integers(5, 9)), 2)]
    stock = stock[: int(random.integers(1, 3))]
    bundle_max = int(random.integers(1, 4))
    plan = solve_bars(demand=demand, stock=stock, bundle_max=bundle_max, **saw)
    check_by_counting(plan, demand, stock, saw, bundle_max)
    assert plan.status == "proved"
    assert plan.cost == pytest.approx(cheapest_by_trying_all(demand, stock, saw))
    assert plan.lower_bound == pytest.approx(plan.cost)


@pytest.mark.parametrize("seed", range(12))
def test_never_dearer_than_first_fit_of_any_one_length_and_never_without_a_plan(seed: int) -> None:
    """Remnants beside bars of two lengths: there is a plan, and no length filled by hand is cheaper."""
    random = np.random.default_rng(100 + seed)
    demand = {float(random.integers(60, 900)): int(random.integers(1, 30)) for _ in range(int(random.integers(1, 8)))}
    whole = [(3000.0, 30.0), (5000.0, float(random.integers(45, 60)))]
    stock: list[tuple[float, float, int | None]] = [(length, price, None) for length, price in whole]
    stock += [(float(random.integers(70, 2000)), float(random.integers(0, 9)), int(random.integers(1, 3)))
              for _ in range(int(random.integers(0, 5)))]  # fmt: skip
    plan = solve_bars(demand=demand, stock=stock, bundle_max=2, work_limit=0.1, **SAW)
    assert plan.status != "cannot"
    check_by_counting(plan, demand, stock, SAW, 2)
    for length, price in whole:
        assert plan.cost <= price * bars_by_first_fit(demand, length, SAW) + 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_large_pieces_that_no_filling_by_hand_packs_cost_what_trying_everything_costs(seed: int) -> None:
    """Three pieces a bar with hardly any waste: what is cheapest is not told by the metal alone."""
    random = np.random.default_rng(300 + seed)
    demand = {float(random.integers(26, 45)): int(random.integers(1, 3)) for _ in range(4)}
    saw = {"kerf_mm": 1.0, "trim_mm": 0.0, "tail_mm": 4.0}
    stock: list[tuple[float, float, int | None]] = [(106.0, 10.0, None), (74.0, 7.0, None), (50.0, 2.0, 2)]
    plan = solve_bars(demand=demand, stock=stock, bundle_max=2, **saw)
    check_by_counting(plan, demand, stock, saw, 2)
    assert plan.status == "proved"
    assert plan.cost == pytest.approx(cheapest_by_trying_all(demand, stock, saw))


@pytest.mark.parametrize(
    ("demand", "lengths", "saw", "worked"),
    [
        ({1200.0: 2, 800.0: 4}, (4600.0, 1000.0), {"kerf_mm": 0.0, "trim_mm": 0.0, "tail_mm": 0.0}, 66.0),
        ({2135.0: 2, 716.0: 3}, (5000.0, 1000.0), SAW, 80.0),
    ],
)
def test_a_plan_with_more_metal_than_any_listed_set_of_its_price_is_not_passed_over(
    demand: dict[float, int], lengths: tuple[float, float], saw: dict[str, float], worked: float
) -> None:
    """Worked: 2 x 1200 + 2 x 800 = 4000 of 4600, and 800 from each of two of 1000: 46 + 20; 56 has metal for all
    pieces, but 1200 from no short bar and 4600 - 4000 = 600 left over.  2 x 2135 + 1.8 + 6 + 65 = 4342.8 of 5000 leave
    less than 716, which comes from a short bar of its own each time: 50 + 3 x 10."""
    stock: list[tuple[float, float, int | None]] = [(length, length / 100.0, None) for length in lengths]
    plan = solve_bars(demand=demand, stock=stock, bundle_max=1, **saw)
    check_by_counting(plan, demand, stock, saw, 1)
    assert (plan.cost, plan.lower_bound, plan.status) == (worked, worked, "proved")


@pytest.mark.parametrize("off_ratio", [0.0, 0.2])
@pytest.mark.parametrize("seed", range(30))
def test_long_and_short_bars_cost_what_trying_everything_costs(seed: int, off_ratio: float) -> None:
    """Pieces that no short bar holds beside pieces of which it holds one; prices by the length, and off it."""
    draw = np.random.default_rng(500 + seed)
    saw = {"kerf_mm": float(draw.choice([0.0, 1.0])), "trim_mm": float(draw.choice([0.0, 2.0])), "tail_mm": 0.0}
    short = float(draw.integers(20, 27))
    long = float(round(short * draw.uniform(3.5, 5.5)))
    demand = {float(round(short * draw.uniform(1.05, 2.2))): 2}
    demand[float(round(short * draw.uniform(0.6, 0.9)))] = int(draw.integers(3, 6))
    off = 1.0 + off_ratio * draw.uniform(-1.0, 1.0)
    stock: list[tuple[float, float, int | None]] = [(long, float(round(long * off)), None), (short, short, None)]
    plan = solve_bars(demand=demand, stock=stock, bundle_max=1, strokes_share=0.0, **saw)
    check_by_counting(plan, demand, stock, saw, 1)
    truth = cheapest_by_trying_all(demand, stock, saw)
    assert plan.lower_bound <= truth + 1e-9
    assert plan.cost == pytest.approx(truth)
    assert plan.status == "proved"


def test_five_bars_on_a_saw_that_takes_two_are_sawn_as_two_and_two_and_one() -> None:
    """Worked: 35 a bar; 2 * 35 + 2 * 35 + 30 = 170 in 5 bars; strokes 36 + 36 + 31 with the trim cuts."""
    stock: list[tuple[float, float, int | None]] = [(3658.0, 1.0, None)]
    saw = {"kerf_mm": 2.0, "trim_mm": 25.0, "tail_mm": 0.0}
    plan = solve_bars(demand={101.6: 170}, stock=stock, bundle_max=2, **saw)
    check_by_counting(plan, {101.6: 170}, stock, saw, 2)
    assert [(b.bars_count, b.bundles_count, b.pieces) for b in plan.bundles] == [
        (2, 2, ((101.6, 35),)),
        (1, 1, ((101.6, 30),)),
    ]
    assert (plan.bars_count, plan.saw_strokes_count, plan.strokes_status) == (5, 103, "proved")


def fewest_strokes_by_trying_all(pieces: int, most: int, bars: int, bundle_max: int) -> int:
    """Fewest strokes for one length, a trim cut a bundle: every way to bundle `bars` and to fill each bundle."""

    @functools.cache
    def least(need: int, left: int) -> float:
        if need <= 0:
            return 0
        return min(
            (
                1 + cut + least(need - side * cut, left - side)
                for side in range(1, min(bundle_max, left) + 1)
                for cut in range(1, most + 1)
            ),
            default=float("inf"),
        )

    return int(least(pieces, bars))


@pytest.mark.parametrize(("pieces", "bundle_max"), [(7, 2), (23, 3), (24, 4), (31, 4), (40, 3), (41, 5)])
def test_strokes_are_the_fewest_for_one_length(pieces: int, bundle_max: int) -> None:
    saw = {"kerf_mm": 2.0, "trim_mm": 3.0, "tail_mm": 10.0}
    most = pieces_per_bar_count(bar_length_mm=200.0, piece_length_mm=20.0, **saw)
    assert most == 8
    plan = solve_bars(demand={20.0: pieces}, stock=[(200.0, 1.0, None)], bundle_max=bundle_max, **saw)
    assert plan.bars_count == -(-pieces // most)
    assert plan.saw_strokes_count == fewest_strokes_by_trying_all(pieces, most, plan.bars_count, bundle_max)
    assert plan.strokes_status == "proved"


def test_the_cheaper_mix_of_lengths_wins() -> None:
    """Worked: 9 pieces of 100 need 3 bars of 300 at 30 = 90, or one of 500 at 41 and 4 pieces more: 41 + 41 = 82."""
    saw = {"kerf_mm": 0.0, "trim_mm": 0.0, "tail_mm": 0.0}
    stock: list[tuple[float, float, int | None]] = [(300.0, 30.0, None), (500.0, 41.0, None)]
    plan = solve_bars(demand={100.0: 9}, stock=stock, bundle_max=1, **saw)
    check_by_counting(plan, {100.0: 9}, stock, saw, 1)
    assert plan.cost == 82.0
    # five pieces fill a bar with 4 strokes, four pieces of the other take 4
    assert plan.saw_strokes_count == 8


def test_cheap_bars_are_used_only_as_far_as_there_are_any() -> None:
    """Worked: two short bars at 1 take two pieces, the other two just share a long bar of 180 at 30: 32."""
    saw = {"kerf_mm": 0.0, "trim_mm": 0.0, "tail_mm": 0.0}
    stock: list[tuple[float, float, int | None]] = [(180.0, 30.0, None), (100.0, 1.0, 2)]
    plan = solve_bars(demand={90.0: 2, 80.0: 2}, stock=stock, bundle_max=1, **saw)
    check_by_counting(plan, {90.0: 2, 80.0: 2}, stock, saw, 1)
    assert (plan.cost, plan.status) == (32.0, "proved")


def test_a_thousandth_of_a_millimetre_too_long_costs_a_piece() -> None:
    saw = {"kerf_mm": 2.0, "trim_mm": 0.0, "tail_mm": 0.0}
    assert pieces_per_bar_count(bar_length_mm=102.0, piece_length_mm=50.0, **saw) == 2
    assert pieces_per_bar_count(bar_length_mm=102.0, piece_length_mm=50.001, **saw) == 1
    assert pieces_per_bar_count(bar_length_mm=101.999, piece_length_mm=50.0, **saw) == 1
    assert pieces_per_bar_count(bar_length_mm=40.0, piece_length_mm=50.0, **saw) == 0


def test_a_piece_longer_than_every_bar_is_a_result_with_its_reason() -> None:
    plan = solve_bars(demand={500.0: 1, 50.0: 3}, stock=[(400.0, 1.0, None)], bundle_max=2, **SAW)
    assert plan.status == "cannot"
    assert "500 mm" in plan.reason
    assert "50 mm" not in plan.reason.replace("500 mm", "")


def test_too_few_bars_on_offer_is_a_result_with_its_reason() -> None:
    plan = solve_bars(demand={500.0: 9}, stock=[(3000.0, 1.0, 1)], bundle_max=2, **SAW)
    assert (plan.status, plan.bars_count) == ("cannot", 0)
    assert "too few" in plan.reason


def test_the_plan_is_the_same_every_time_and_in_any_order_of_asking() -> None:
    demand = {93.2: 53, 45.1: 110, 61.0: 40}
    stock: list[tuple[float, float, int | None]] = [(3000.0, 60.0, None), (5000.0, 95.0, 3)]
    first = solve_bars(demand=demand, stock=stock, bundle_max=4, work_limit=0.5, **SAW)
    again = solve_bars(demand=dict(reversed(demand.items())), stock=stock[::-1], bundle_max=4, work_limit=0.5, **SAW)
    assert first == again
    check_by_counting(first, demand, stock, SAW, 4)


def test_beyond_listing_patterns_the_bound_is_still_true(monkeypatch: pytest.MonkeyPatch) -> None:
    """With few patterns allowed the plan comes from priced patterns; its bound stays below the true optimum."""
    demand = {45.0: 5, 31.0: 7, 22.0: 9}
    stock: list[tuple[float, float, int | None]] = [(150.0, 1.0, None)]
    saw = {"kerf_mm": 1.0, "trim_mm": 2.0, "tail_mm": 0.0}
    exact = solve_bars(demand=demand, stock=stock, bundle_max=2, work_limit=1.0, **saw)
    assert exact.status == "proved"
    monkeypatch.setattr(bar_model, "PATTERN_LIMIT", 3)
    priced = solve_bars(demand=demand, stock=stock, bundle_max=2, work_limit=1.0, **saw)
    check_by_counting(priced, demand, stock, saw, 2)
    assert priced.lower_bound <= exact.cost <= priced.cost
    assert priced.lower_bound >= exact.cost - 1.0


def test_beyond_listing_bundles_the_strokes_are_said_to_be_unproved(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bar_model, "SAWN_LIMIT", 3)
    stock: list[tuple[float, float, int | None]] = [(3658.0, 1.0, None)]
    saw = {"kerf_mm": 2.0, "trim_mm": 25.0, "tail_mm": 0.0}
    plan = solve_bars(demand={101.6: 170, 60.0: 9}, stock=stock, bundle_max=2, **saw)
    check_by_counting(plan, {101.6: 170, 60.0: 9}, stock, saw, 2)
    assert plan.status == "proved"
    assert plan.strokes_status == "not proved"


def test_nothing_asked_for_is_said() -> None:
    assert solve_bars(demand={50.0: 0}, stock=[(400.0, 1.0, None)], bundle_max=1, **SAW).reason


def test_bad_numbers_are_refused() -> None:
    with pytest.raises(OutOfRange, match="kerf_mm"):
        solve_bars(demand={50.0: 1}, stock=[(400.0, 1.0, None)], kerf_mm=-1.0, trim_mm=0.0, tail_mm=0.0, bundle_max=1)
    with pytest.raises(OutOfRange, match="at least one kind of bar"):
        solve_bars(demand={50.0: 1}, stock=[], bundle_max=1, **SAW)
