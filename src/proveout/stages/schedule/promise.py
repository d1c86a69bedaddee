"""The day to promise: the same sequence in many drawn cases of minutes, scrap and days outside."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from proveout.model.schedule import Promise
from proveout.model.shop import Shop
from proveout.solving.shop_problem import Slot
from proveout.stages.schedule.cases import drawn_case
from proveout.stages.schedule.dates import end_of, ends_by_date, pasts_of
from proveout.stages.schedule.problem import Made, date_of, problem_of
from proveout.stages.schedule.routes import Route
from proveout.stages.schedule.sequence import retimed

DRAWS_COUNT = 200
DRAW_SEED = 20


class PartPromise(NamedTuple):
    """Of one dated part: share of the cases in which it is done by its date, and the day by which 80 % are."""

    on_time_ratio: float
    most_day: str


def promise_of(
    *, routes: tuple[Route, ...], shop: Shop, start: str, made: Made, slots: Sequence[Slot],
    draws_count: int = DRAWS_COUNT,
) -> tuple[Promise, tuple[PartPromise, ...]]:  # fmt: skip
    """Share of cases on time, and days by which half, 80 % and 95 % of them are done; for each dated part its own.

    Drawn once a case, as one cause: minutes of the machines, of people, of set-ups with the saw, and scrap, each by its
    spread as in the price; days outside evenly between theirs, once a finisher, and days of bars, once a bar. Pieces
    beyond the blanks sawn are not made.
    """
    most = 0.8
    rng = np.random.default_rng(DRAW_SEED)
    ends: list[int] = []
    by_part: list[tuple[int, ...]] = []
    pasts: list[tuple[int, ...]] = []
    for _ in range(draws_count):
        drawn = problem_of(routes, shop, start, drawn_case(shop, rng))
        one = retimed(drawn, made, slots)
        ends.append(end_of(one))
        by_part.append(ends_by_date(drawn, one))
        pasts.append(pasts_of(drawn, one))
    on_time = sum(all(past <= 0 for past in one) for one in pasts) / draws_count if made.dated else None

    def day(ends: Sequence[int], share: float) -> str:
        return date_of(made, sorted(ends)[max(0, math.ceil(share * draws_count) - 1)], is_end=True).isoformat()

    promise = Promise(
        draws_count=draws_count, seed=DRAW_SEED, on_time_ratio=on_time, half_day=day(ends, 0.5),
        most_day=day(ends, most), nearly_all_day=day(ends, 0.95),
    )  # fmt: skip
    parts = tuple(
        PartPromise(sum(one[i] <= 0 for one in pasts) / draws_count, day([one[i] for one in by_part], most))
        for i in range(len(made.dated))
    )
    return promise, parts
