"""The two questions behind a saw plan, in whole numbers: least cost of bars, then fewest strokes at that cost."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import msgspec

from proveout.solving.bars import Bar, Choice, Key, Order, Taken, cheapest, cost_of, price_step
from proveout.solving.columns import Relaxed, relax
from proveout.solving.filling_by_hand import fullest_first, plain_plan
from proveout.solving.listing import worthwhile
from proveout.solving.patterns import Pattern, TooManyPatternsError, all_patterns
from proveout.solving.rounding import rounded
from proveout.solving.set_cover import settled_solver
from proveout.solving.sets_of_bars import sets_of_bars
from proveout.solving.whole import whole_by_relaxing

PATTERN_LIMIT = 20_000
SAWN_LIMIT = 6_000
MOST_SETS = 40


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
    """Cheapest bars for the order; None when no plan was found.

    Without a search first, by filling to the brim the cheapest bars that hold enough metal; then by rounding the
    linear relaxation; where that leaves a gap to its bound, by a search
    over every filling that a cheaper plan could hold, as far as those can be listed.
    """
    best, bound = _by_sets(bars, order, plain_plan(bars, order))
    if best is not None and cost_of(best, bars) <= bound:
        return Choice(bars=best, cost=cost_of(best, bars), bound=bound)
    relaxed = relax(bars, order, sorted(best or ()))
    if relaxed.bound > bound:
        best, metal = _by_sets(bars, order, best, least_cost=relaxed.bound)
        bound = max(metal, relaxed.bound)
    met = set(relaxed.taken)
    if best is None or cost_of(best, bars) > bound:
        found, met = rounded(bars, order, relaxed, bound)
        best = cheapest((best, found), bars)
    if best is None or cost_of(best, bars) > bound:
        best, bound = _searched(bars, order, relaxed, best, met, bound, work_limit)
    if best is None:
        return None
    return Choice(bars=best, cost=cost_of(best, bars), bound=min(cost_of(best, bars), bound))


def _by_sets(bars: Sequence[Bar], order: Order, best: Taken | None, *, least_cost: int = 0) -> tuple[Taken | None, int]:
    """The best plan after filling the cheapest sets of bars to the brim, and what the cheapest set of all costs.

    least_cost: that no plan beats; cheaper sets are not filled.  The next one listed is no bound: sets with a bar more
    than their metal asks for are not listed, and a plan between the two may need one.
    """
    bound: int | None = None
    tries = 0
    for cost, counts in sets_of_bars(bars, order):
        bound = cost if bound is None else bound
        if cost < least_cost:
            continue
        tries += 1
        if not counts or tries > MOST_SETS or (best is not None and cost >= cost_of(best, bars)):
            break
        few = [msgspec.structs.replace(bar, most_bars=count) for bar, count in zip(bars, counts, strict=True)]
        best = cheapest((best, fullest_first(few, order)), bars)
    return best, bound or 0


def _searched(
    bars: Sequence[Bar], order: Order, relaxed: Relaxed, best: Taken | None, met: set[Key], bound: int,
    work_limit: float,
) -> tuple[Taken | None, int]:  # fmt: skip
    """A cheaper plan than the best one or the proof that there is none, as far as the limit allows."""
    step = price_step(bars)
    most_cost = None if best is None else cost_of(best, bars) - step
    try:
        columns = worthwhile(bars, order, relaxed.duals, most_cost, PATTERN_LIMIT)
    except TooManyPatternsError:
        return cheapest((whole_by_relaxing(sorted(met), bars, order, most_cost), best), bars), bound
    best = cheapest((whole_by_relaxing(columns, bars, order, most_cost), best), bars)
    if best is not None and cost_of(best, bars) <= bound:
        return best, bound
    most_cost = None if best is None else cost_of(best, bars) - step
    found, lower, is_over = _whole_bars(columns, bars, order, most_cost, work_limit)
    better = cheapest((found, best), bars)
    if is_over and found is None:  # nothing is cheaper than the best plan
        return better, bound if best is None else cost_of(best, bars)
    return better, max(bound, lower)


def _whole_bars(
    columns: Sequence[Key], bars: Sequence[Bar], order: Order, most_cost: int | None, work_limit: float
) -> tuple[Taken | None, int, bool]:
    """Cheapest whole bars of these fillings for at most that cost, the bound on it, and whether the search ended."""
    from ortools.sat.python import cp_model

    step = price_step(bars)
    model = cp_model.CpModel()
    takes = []
    for at, pattern in columns:
        enough = max(-(-need // count) for need, count in zip(order.counts, pattern, strict=True) if count)
        most = bars[at].most_bars
        takes.append(model.new_int_var(0, enough if most is None else min(enough, most), ""))
    pairs = list(zip(columns, takes, strict=True))
    for index, need in enumerate(order.counts):
        model.add(sum(p[index] * take for (_, p), take in pairs if p[index]) >= need)
    for at, bar in enumerate(bars):
        if bar.most_bars is not None:
            model.add(sum(take for (a, _), take in pairs if a == at) <= bar.most_bars)
    cost = sum(bars[at].price // step * take for (at, _), take in pairs)
    if most_cost is not None:
        model.add(cost <= most_cost // step)
    model.minimize(cost)
    solver = settled_solver(work_limit)
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        chosen = Counter({key: solver.value(take) for key, take in pairs if solver.value(take)})
        return chosen, math.ceil(solver.best_objective_bound - 1e-6) * step, status == cp_model.OPTIMAL
    return None, 0, status == cp_model.INFEASIBLE


def fewest_strokes(bars: Sequence[Bar], order: Order, choice: Choice, bundle_max: int, work_limit: float) -> Sawing:
    """Fewest saw strokes, then fewest bundles, among plans no dearer than the chosen one.

    Exact while every pattern, full or not, can be listed with every bundle size; beyond that the chosen bars are
    bundled as they are, against a plain bound.
    """
    plain = _bundled(bars, order, choice, bundle_max)
    least = -(-sum(order.counts) // bundle_max) if bundle_max else 0
    columns = _sawn_columns(bars, order, bundle_max) if work_limit > 0.0 else None
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
    step = price_step(bars)
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
