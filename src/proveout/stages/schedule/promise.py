"""The day to promise: the same sequence in many drawn cases of minutes, scrap and days outside."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from proveout.model.fact import Fact
from proveout.model.schedule import Promise
from proveout.model.shop import Shop
from proveout.solving.shop_problem import Slot
from proveout.stages.schedule.problem import Case, Made, date_of, problem_of
from proveout.stages.schedule.routes import Route
from proveout.stages.schedule.sequence import end_of, retimed

DRAWS_COUNT = 200
DRAW_SEED = 20


def promise_of(
    *, routes: tuple[Route, ...], shop: Shop, start: str, made: Made, slots: Sequence[Slot],
    draws_count: int = DRAWS_COUNT,
) -> Promise:  # fmt: skip
    """Share of cases on time, and days by which half, 80 % and 95 % of them are done.

    Drawn once a case, as one cause: the machines' minutes, the people's minutes and scrap, each as a triangle between
    its ends; days outside evenly between theirs, once a finisher. Pieces beyond the blanks sawn are not made.
    """
    rng = np.random.default_rng(DRAW_SEED)
    ends: list[int] = []
    for _ in range(draws_count):
        machine, hand, scrap = (float(u) for u in rng.random(3))
        days = {f.id: int(rng.integers(f.days_low, f.days_high + 1)) for f in shop.finishers}
        case = Case(
            machine=_at(machine), hand=_at(hand), scrap=triangle_at(shop.scrap_ratio, scrap), days=days
        )  # fmt: skip
        drawn = problem_of(routes, shop, start, case)
        ends.append(end_of(retimed(drawn, made, slots)))
    ends.sort()
    on_time = None if made.due_min is None else sum(end <= made.due_min for end in ends) / draws_count

    def day(share: float) -> str:
        return date_of(made, ends[max(0, math.ceil(share * draws_count) - 1)], is_end=True).isoformat()

    return Promise(
        draws_count=draws_count, seed=DRAW_SEED, on_time_ratio=on_time, half_day=day(0.5), most_day=day(0.8),
        nearly_all_day=day(0.95),
    )  # fmt: skip


def _at(share: float) -> Callable[[Fact], float]:
    return lambda fact: triangle_at(fact, share)


def triangle_at(fact: Fact, share: float) -> float:
    """The value below which a share of a triangle between a fact's ends lies, its peak at the nominal."""
    low, peak, high = fact.low, fact.nominal, fact.high
    if high <= low:
        return low
    turn = (peak - low) / (high - low)
    if share <= turn:
        return low + math.sqrt(share * (high - low) * (peak - low))
    return high - math.sqrt((1.0 - share) * (high - low) * (high - peak))
