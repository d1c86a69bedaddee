"""The two questions behind a saw plan, in whole numbers: least cost of bars, then fewest strokes at that cost."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from proveout.solving.patterns import (
    Pattern,
    TooManyPatternsError,
    all_patterns,
    first_fit_patterns,
    full_patterns,
)
from proveout.solving.set_cover import settled_solver

PATTERN_LIMIT = 20_000
SAWN_LIMIT = 6_000
MOST_COLUMN_ROUNDS = 200


class Bar(msgspec.Struct, frozen=True, kw_only=True):
    """A kind of bar: length and room (usable length plus one kerf) in steps, price in steps, bars to be had."""

    length: int
    room: int
    price: int
    most_bars: int | None


class Order(msgspec.Struct, frozen=True, kw_only=True):
    """What is to be sawn, longest first: piece plus kerf in steps, counts; kerf and trim in steps."""

    sizes: tuple[int, ...]
    counts: tuple[int, ...]
    kerf: int
    trim: int


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """Bars to take: (bar index, pattern) to count, their cost and the cost that nothing beats."""

    bars: dict[tuple[int, Pattern], int]
    cost: int
    bound: int


class Sawing(msgspec.Struct, frozen=True, kw_only=True):
    """Bundles to saw as (bar index, bars side by side, pattern, bundles), their strokes and the bound on them."""

    rows: tuple[tuple[int, int, Pattern, int], ...]
    strokes: int
    bound: int


def strokes_of(pattern: Pattern, bar: Bar, order: Order) -> int:
    """Cuts for one bundle: one for each piece, one for the trim, none for a last piece that ends with the bar."""
    rest = _rest_before_last_cut(pattern, bar, order)
    return sum(pattern) + (1 if order.trim > 0 else 0) - (1 if rest == 0 else 0)


def leftover_of(pattern: Pattern, bar: Bar, order: Order) -> int:
    """What stays of the bar after the last cut, in steps."""
    return max(0, _rest_before_last_cut(pattern, bar, order) - order.kerf)


def _rest_before_last_cut(pattern: Pattern, bar: Bar, order: Order) -> int:
    used = sum(count * size for count, size in zip(pattern, order.sizes, strict=True))
    return bar.length - order.trim - used + order.kerf


def least_cost(bars: Sequence[Bar], order: Order, work_limit: float) -> Choice | None:
    """Cheapest bars for the order; None when the bars to be had do not suffice.

    Exact over all full patterns while they can be listed; beyond that over patterns found by pricing, with the bound
    of the linear relaxation, so that cost and bound may differ.
    """
    columns: dict[tuple[int, Pattern], None] = {}
    listed = True
    for at, bar in enumerate(bars):
        try:
            for pattern in full_patterns(lengths=order.sizes, room=bar.room, most=order.counts, limit=PATTERN_LIMIT):
                columns[at, pattern] = None
        except TooManyPatternsError:
            listed = False
            break
    relaxed = 0.0
    if not listed:
        columns, relaxed = _priced_columns(bars, order)
    fallback = _first_fit(bars, order)
    if fallback is not None:
        columns.update(dict.fromkeys(fallback))
    found = _whole_bars(list(columns), bars, order, fallback, work_limit)
    if found is None:
        return None
    chosen, bound = found
    cost = sum(bars[at].price * count for (at, _), count in chosen.items())
    step = math.gcd(*(bar.price for bar in bars)) or 1
    if not listed:
        bound = math.ceil(relaxed / step - 1e-6) * step
    return Choice(bars=chosen, cost=cost, bound=min(cost, max(bound, _metal_bound(bars, order, step))))


def _metal_bound(bars: Sequence[Bar], order: Order, step: int) -> int:
    """No plan can cost less than the metal it needs at the cheapest price for each step of usable length."""
    need = sum(size * count for size, count in zip(order.sizes, order.counts, strict=True))
    usable = [bar for bar in bars if bar.room > 0]
    return min(-(-need * bar.price // (bar.room * step)) * step for bar in usable) if len(usable) == 1 else 0


def _whole_bars(
    columns: Sequence[tuple[int, Pattern]],
    bars: Sequence[Bar],
    order: Order,
    fallback: dict[tuple[int, Pattern], int] | None,
    work_limit: float,
) -> tuple[dict[tuple[int, Pattern], int], int] | None:
    from ortools.sat.python import cp_model

    step = math.gcd(*(bar.price for bar in bars)) or 1
    model = cp_model.CpModel()
    takes = []
    for at, pattern in columns:
        enough = max(-(-need // count) for need, count in zip(order.counts, pattern, strict=True) if count)
        most = bars[at].most_bars
        takes.append(model.new_int_var(0, enough if most is None else min(enough, most), ""))
        if fallback is not None:
            model.add_hint(takes[-1], fallback.get((at, pattern), 0))
    for index, need in enumerate(order.counts):
        model.add(sum(p[index] * take for (_, p), take in zip(columns, takes, strict=True) if p[index]) >= need)
    for at, bar in enumerate(bars):
        if bar.most_bars is not None:
            model.add(sum(take for (a, _), take in zip(columns, takes, strict=True) if a == at) <= bar.most_bars)
    model.minimize(sum(bars[at].price // step * take for (at, _), take in zip(columns, takes, strict=True)))
    solver = settled_solver(work_limit)
    status = solver.solve(model)
    bound = math.ceil(solver.best_objective_bound - 1e-6) * step
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        chosen = {key: solver.value(take) for key, take in zip(columns, takes, strict=True) if solver.value(take)}
        return chosen, bound
    if status != cp_model.INFEASIBLE and fallback is not None:
        return fallback, max(0, bound)
    return None


def _first_fit(bars: Sequence[Bar], order: Order) -> dict[tuple[int, Pattern], int] | None:
    """Cheapest plan that uses one kind of bar and fills it longest piece first; None when no kind suffices."""
    best: tuple[int, dict[tuple[int, Pattern], int]] | None = None
    for at, bar in enumerate(bars):
        if order.sizes[0] > bar.room:
            continue
        filled = first_fit_patterns(lengths=order.sizes, room=bar.room, demand=order.counts)
        if bar.most_bars is not None and len(filled) > bar.most_bars:
            continue
        plan: dict[tuple[int, Pattern], int] = {}
        for pattern in filled:
            plan[at, pattern] = plan.get((at, pattern), 0) + 1
        cost = len(filled) * bar.price
        if best is None or cost < best[0]:
            best = (cost, plan)
    return None if best is None else best[1]


def _priced_columns(bars: Sequence[Bar], order: Order) -> tuple[dict[tuple[int, Pattern], None], float]:
    """Patterns that the linear relaxation wants, and its value: a bound when pricing found no better pattern."""
    import numpy as np
    from scipy.optimize import linprog

    columns: dict[tuple[int, Pattern], None] = {}
    for at, bar in enumerate(bars):
        for index, size in enumerate(order.sizes):
            if size <= bar.room:
                alone = tuple(min(bar.room // size, n) if i == index else 0 for i, n in enumerate(order.counts))
                columns[at, alone] = None
    scarce = [at for at, bar in enumerate(bars) if bar.most_bars is not None]
    for _ in range(MOST_COLUMN_ROUNDS):
        keys = list(columns)
        rows = [[-float(pattern[i]) for _, pattern in keys] for i in range(len(order.sizes))]
        rows += [[1.0 if at == one else 0.0 for at, _ in keys] for one in scarce]
        limits = [-float(n) for n in order.counts] + [float(bars[one].most_bars or 0) for one in scarce]
        answer = linprog([bars[at].price for at, _ in keys], A_ub=np.array(rows), b_ub=limits, method="highs")
        if not answer.success:
            return columns, 0.0
        duals = [-float(value) for value in answer.ineqlin.marginals]
        worth = duals[: len(order.sizes)]
        grown = False
        for at, bar in enumerate(bars):
            charge = duals[len(order.sizes) + scarce.index(at)] if at in scarce else 0.0
            pattern = _most_valuable(worth, order, bar)
            gain = sum(w * n for w, n in zip(worth, pattern, strict=True)) - bar.price - charge
            if gain > 1e-6 * max(1, bar.price) and (at, pattern) not in columns:
                columns[at, pattern] = None
                grown = True
        if not grown:
            return columns, float(answer.fun)
    return columns, 0.0


def _most_valuable(worth: Sequence[float], order: Order, bar: Bar) -> Pattern:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    takes = [
        model.new_int_var(0, min(n, bar.room // size), "") for n, size in zip(order.counts, order.sizes, strict=True)
    ]
    model.add(sum(size * take for size, take in zip(order.sizes, takes, strict=True)) <= bar.room)
    scale = 1.0e9 / max(1.0, *worth)
    model.maximize(sum(round(w * scale) * take for w, take in zip(worth, takes, strict=True)))
    solver = settled_solver(5.0)
    solver.solve(model)
    return tuple(solver.value(take) for take in takes)


def fewest_strokes(bars: Sequence[Bar], order: Order, choice: Choice, bundle_max: int, work_limit: float) -> Sawing:
    """Fewest saw strokes, then fewest bundles, among plans no dearer than the chosen one.

    Exact while every pattern, full or not, can be listed with every bundle size; beyond that the chosen bars are
    bundled as they are, against a plain bound.
    """
    plain = _bundled(bars, order, choice, bundle_max)
    least = -(-sum(order.counts) // bundle_max) if bundle_max else 0
    columns = _sawn_columns(bars, order, bundle_max)
    if columns is None:
        return Sawing(rows=plain.rows, strokes=plain.strokes, bound=min(least, plain.strokes))

    from ortools.sat.python import cp_model

    most_bars = sum(choice.bars.values())
    by_price = [choice.cost // bar.price if bar.price else sum(order.counts) for bar in bars]
    model = cp_model.CpModel()
    hints = {(at, side, pattern): times for at, side, pattern, times in plain.rows}
    takes = []
    for at, side, pattern in columns:
        takes.append(model.new_int_var(0, by_price[at] // side, ""))
        model.add_hint(takes[-1], hints.get((at, side, pattern), 0))
    pairs = list(zip(columns, takes, strict=True))
    for index, need in enumerate(order.counts):
        model.add(sum(side * p[index] * take for (_, side, p), take in pairs if p[index]) >= need)
    for at, bar in enumerate(bars):
        if bar.most_bars is not None:
            model.add(sum(side * take for (a, side, _), take in pairs if a == at) <= bar.most_bars)
    step = math.gcd(*(bar.price for bar in bars)) or 1
    model.add(sum(bars[at].price // step * side * take for (at, side, _), take in pairs) <= choice.cost // step)
    weight = max(most_bars, sum(by_price)) + 1
    model.minimize(sum((weight * strokes_of(pattern, bars[at], order) + 1) * take for (at, _, pattern), take in pairs))
    solver = settled_solver(work_limit)
    status = solver.solve(model)
    bound = max(least, math.ceil(solver.best_objective_bound / weight - 1.0 + 1e-9))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Sawing(rows=plain.rows, strokes=plain.strokes, bound=min(bound, plain.strokes))
    rows = tuple((*column, solver.value(take)) for column, take in pairs if solver.value(take))
    strokes = sum(times * strokes_of(pattern, bars[at], order) for at, _, pattern, times in rows)
    return Sawing(rows=rows, strokes=strokes, bound=strokes if status == cp_model.OPTIMAL else min(bound, strokes))


def _sawn_columns(bars: Sequence[Bar], order: Order, bundle_max: int) -> list[tuple[int, int, Pattern]] | None:
    """Every (bar index, bars side by side, pattern), or None when there are too many to list."""
    columns: list[tuple[int, int, Pattern]] = []
    for at, bar in enumerate(bars):
        limit = max(0, SAWN_LIMIT - len(columns)) // bundle_max
        try:
            patterns = all_patterns(lengths=order.sizes, room=bar.room, most=order.counts, limit=limit)
        except TooManyPatternsError:
            return None
        columns += [(at, side, pattern) for pattern in patterns for side in range(1, bundle_max + 1)]
    return columns


def _bundled(bars: Sequence[Bar], order: Order, choice: Choice, bundle_max: int) -> Sawing:
    """The chosen bars in the largest bundles, as they are."""
    rows: list[tuple[int, int, Pattern, int]] = []
    for (at, pattern), count in choice.bars.items():
        whole, single = divmod(count, bundle_max)
        if whole:
            rows.append((at, bundle_max, pattern, whole))
        if single:
            rows.append((at, single, pattern, 1))
    strokes = sum(times * strokes_of(pattern, bars[at], order) for at, _, pattern, times in rows)
    return Sawing(rows=tuple(rows), strokes=strokes, bound=0)
