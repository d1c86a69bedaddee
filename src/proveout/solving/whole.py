"""Whole bars out of many fillings by branching on the linear relaxation: finds plans, proves nothing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from proveout.solving.bars import Bar, Key, Order, Taken, price_step

MOST_NODES = 200
FEWEST_COLUMNS = 200


def whole_by_relaxing(columns: Sequence[Key], bars: Sequence[Bar], order: Order, most_cost: int | None) -> Taken | None:
    """A plan of these fillings for at most that cost, as cheap as few branchings find; None when they find none.

    Few fillings are left to the exact search.  The answer is counted over in whole numbers: a plan that lacks a piece
    by the tolerance of floating numbers is none.
    """
    if len(columns) < FEWEST_COLUMNS:
        return None
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    step = price_step(bars)
    prices = np.array([bars[at].price // step for at, _ in columns], dtype=float)
    contents = csr_array(np.array([pattern for _, pattern in columns], dtype=float).T)
    needs: Any = np.array(order.counts, dtype=float)  # the stubs know single numbers only
    limits = [LinearConstraint(contents, needs, np.inf)]
    if most_cost is not None:
        limits.append(LinearConstraint(prices[np.newaxis, :], -np.inf, most_cost // step))
    for at, bar in enumerate(bars):
        if bar.most_bars is not None:
            is_of = np.array([[1.0 if kind == at else 0.0 for kind, _ in columns]])
            limits.append(LinearConstraint(is_of, -np.inf, bar.most_bars))
    answer = milp(
        prices, constraints=limits, integrality=np.ones(len(columns)), bounds=Bounds(0.0, np.inf),
        options={"node_limit": MOST_NODES, "mip_rel_gap": 0.0},
    )  # fmt: skip
    if answer.x is None:
        return None
    taken = Counter({key: n for key, x in zip(columns, answer.x, strict=True) if (n := round(float(x)))})
    return taken if _is_a_plan(taken, bars, order) else None


def _is_a_plan(taken: Taken, bars: Sequence[Bar], order: Order) -> bool:
    made = [sum(times * pattern[index] for (_, pattern), times in taken.items()) for index in range(len(order.sizes))]
    used = [sum(times for (kind, _), times in taken.items() if kind == at) for at in range(len(bars))]
    return all(n >= count for n, count in zip(made, order.counts, strict=True)) and all(
        bar.most_bars is None or n <= bar.most_bars for n, bar in zip(used, bars, strict=True)
    )
