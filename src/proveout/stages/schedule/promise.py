"""The day to promise: the same sequence in many drawn cases of minutes, scrap and days outside."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from proveout.model.schedule import Promise
from proveout.model.shop import Shop
from proveout.solving.shop_problem import Slot
from proveout.stages.schedule.cases import drawn_case
from proveout.stages.schedule.problem import Made, date_of, problem_of
from proveout.stages.schedule.routes import Route
from proveout.stages.schedule.sequence import end_of, retimed

DRAWS_COUNT = 200
DRAW_SEED = 20


def promise_of(
    *, routes: tuple[Route, ...], shop: Shop, start: str, made: Made, slots: Sequence[Slot],
    draws_count: int = DRAWS_COUNT,
) -> Promise:  # fmt: skip
    """Share of cases on time, and days by which half, 80 % and 95 % of them are done.

    Drawn once a case, as one cause: minutes of the machines, of people, of set-ups with the saw, and scrap, each by its
    spread as in the price; days outside evenly between theirs, once a finisher, and days of bars, once a bar. Pieces
    beyond the blanks sawn are not made.
    """
    rng = np.random.default_rng(DRAW_SEED)
    ends: list[int] = []
    for _ in range(draws_count):
        drawn = problem_of(routes, shop, start, drawn_case(shop, rng))
        ends.append(end_of(retimed(drawn, made, slots)))
    ends.sort()
    on_time = None if made.due_min is None else sum(end <= made.due_min for end in ends) / draws_count

    def day(share: float) -> str:
        return date_of(made, ends[max(0, math.ceil(share * draws_count) - 1)], is_end=True).isoformat()

    return Promise(
        draws_count=draws_count, seed=DRAW_SEED, on_time_ratio=on_time, half_day=day(0.5), most_day=day(0.8),
        nearly_all_day=day(0.95),
    )  # fmt: skip
