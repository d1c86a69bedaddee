"""The linear relaxation of a saw plan: fillings found by pricing, and a bound in whole numbers that rounding keeps."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import msgspec

from proveout.solving.bars import Bar, Key, Order, price_step
from proveout.solving.filling import Filler

MOST_ROUNDS = 2000
DUAL_STEPS = 10**12
LACK_FACTOR = 1000
LEAST_GAIN = 1e-7


class Duals(msgspec.Struct, frozen=True, kw_only=True):
    """Worth of a piece of each size and charge for a bar of each limited kind, in `scale` parts of a price step.

    No filling of any bar is worth more than its price and charge, which `best` proves by trying all fillings.
    total: pieces' worth less charges; no plan costs less than total / scale.
    """

    worth: tuple[int, ...]
    charges: tuple[int, ...]
    scale: int
    total: int


class Relaxed(msgspec.Struct, frozen=True, kw_only=True):
    """Fillings with how often the linear relaxation takes each, its duals, and the whole cost that nothing beats."""

    taken: dict[Key, float]
    duals: Duals
    bound: int


def relax(bars: Sequence[Bar], order: Order, start: Iterable[Key]) -> Relaxed:
    """Cheapest plan when fillings may be taken in parts.

    Fillings are added while one pays, by Gilmore and Gomory's pricing; the duals, rounded down to whole numbers and
    scaled until no filling is worth more than its bar, bound every plan from below (Farley). Both names are from
    memory; tests/solving/test_filling.py holds the bound against every filling.  start: fillings to begin
    with, none with more of a size than is asked for.
    """
    from ortools.linear_solver import pywraplp

    solver = pywraplp.Solver.CreateSolver("GLOP")
    dearest = max(1, *(bar.price for bar in bars))
    step = price_step(bars)
    endless = solver.infinity()
    wanted = [solver.Constraint(float(count), endless) for count in order.counts]
    limited = {at: solver.Constraint(-endless, float(bar.most_bars)) for at, bar in enumerate(bars)
               if bar.most_bars is not None}  # fmt: skip
    goal = solver.Objective()
    goal.SetMinimization()
    for constraint in wanted:  # so that there is an answer before there are enough fillings
        lack = solver.NumVar(0.0, endless, "")
        goal.SetCoefficient(lack, float(LACK_FACTOR))
        constraint.SetCoefficient(lack, 1.0)
    takes: dict[Key, pywraplp.Variable] = {}

    def add(key: Key) -> bool:
        at, pattern = key
        if key in takes or not any(pattern) or bars[at].most_bars == 0:
            return False
        take = takes[key] = solver.NumVar(0.0, endless, "")
        goal.SetCoefficient(take, bars[at].price / dearest)
        for constraint, count in zip(wanted, pattern, strict=True):
            if count:
                constraint.SetCoefficient(take, float(count))
        if at in limited:
            limited[at].SetCoefficient(take, 1.0)
        return True

    for key in start:
        add(key)
    longest = max(bar.room for bar in bars)
    exact, coarse = Filler(order.sizes, longest), Filler(order.sizes, longest, is_coarse=True)
    best = _nothing(bars, order)
    scale = max(1, DUAL_STEPS // dearest)
    for _ in range(MOST_ROUNDS):
        if solver.Solve() != pywraplp.Solver.OPTIMAL:
            break
        value = goal.Value() * dearest
        worth = [max(0, int(c.dual_value() * dearest * scale)) for c in wanted]
        charges = [max(0.0, -limited[at].dual_value() * dearest) if at in limited else 0.0 for at in range(len(bars))]
        if _grown(coarse, bars, order, worth, charges, scale, add):
            continue
        found = exact.best(worth, order.counts, [bar.room for bar in bars])
        best = max(best, safe_duals(bars, order, worth, [value for value, _ in found], scale), key=lambda d: d.total)
        if bound_of(best, step) >= value - 1e-6 * step or not _grown(exact, bars, order, worth, charges, scale, add):
            break
    return Relaxed(
        taken={key: take.solution_value() for key, take in takes.items()}, duals=best, bound=bound_of(best, step)
    )


def bound_of(duals: Duals, step: int) -> int:
    """The least multiple of `step` that is not below what the duals prove."""
    return max(0, -(-duals.total // (duals.scale * step)) * step)


def _grown(
    filler: Filler,
    bars: Sequence[Bar],
    order: Order,
    worth: Sequence[int],
    charges: Sequence[float],
    scale: int,
    add: Callable[[Key], bool],
) -> bool:
    """Add the filling of each kind of bar that pays most, then one of what that leaves; True when one was new."""
    is_grown = False
    left = list(order.counts)
    for _ in range(2):
        found = filler.best(worth, left, [bar.room for bar in bars])
        for at, (value, pattern) in enumerate(found):
            price = (bars[at].price + charges[at]) * scale
            if value > price + LEAST_GAIN * max(price, scale) and add((at, pattern)):
                is_grown = True
        used = max(found, key=lambda one: one[0])[1]
        left = [0 if n else count for n, count in zip(used, left, strict=True)]
    return is_grown


def _nothing(bars: Sequence[Bar], order: Order) -> Duals:
    return Duals(worth=(0,) * len(order.sizes), charges=(0,) * len(bars), scale=1, total=0)


def safe_duals(bars: Sequence[Bar], order: Order, worth: Sequence[int], values: Sequence[int], scale: int) -> Duals:
    """Duals that no filling breaks: scaled down for bars without a limit, charged for those with one.

    values: the largest worth of a filling of each kind of bar.
    """
    over, under = 1, 1
    for bar, value in zip(bars, values, strict=True):
        if bar.most_bars is None and bar.price * scale * under < value * over:
            over, under = bar.price * scale, value
    scaled = [one * over // under for one in worth]
    charges = [
        0 if bar.most_bars is None else max(0, -(-value * over // under) - bar.price * scale)
        for bar, value in zip(bars, values, strict=True)
    ]
    total = sum(one * count for one, count in zip(scaled, order.counts, strict=True))
    total -= sum(charge * (bar.most_bars or 0) for charge, bar in zip(charges, bars, strict=True))
    return Duals(worth=tuple(scaled), charges=tuple(charges), scale=scale, total=total)
