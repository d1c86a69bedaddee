"""Values at which the work of an order is scheduled: as likely, at the best and the worst ends, drawn."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from proveout.model.fact import Fact
from proveout.model.shop import Shop
from proveout.money.spread import spread_of


class Case(NamedTuple):
    """Values at which a problem is made.

    machine, hand, setup: choose a value from a fact; setup of set-ups and the saw.  scrap: share.
    days: of a stay at a finisher, by finisher id.
    bar_days: until bars are there, by bar id; bars that are not named are there.
    at_best: everything that can only help: no set-ups, machines busy for their programs alone, back in the morning.
    more_h: overtime a day, by machine or "people".  others: work may go to other machines.  share: of the pieces.
    factor: multiplies the running seconds, by operation.  split: lots go out in two halves where nobody rides with
    them.
    """

    machine: Callable[[Fact], float]
    hand: Callable[[Fact], float]
    setup: Callable[[Fact], float]
    scrap: float
    days: dict[str, int]
    bar_days: dict[str, int] = {}
    at_best: bool = False
    more_h: dict[str, float] = {}
    others: bool = False
    share: float = 1.0
    factor: dict[tuple[str, str], float] = {}
    split: bool = False


def low(fact: Fact) -> float:
    """The best end."""
    return fact.low


def nominal(fact: Fact) -> float:
    """The likely value."""
    return fact.nominal


def high(fact: Fact) -> float:
    """The worst end."""
    return fact.high


def bar_spans(shop: Shop) -> dict[str, tuple[int, int]]:
    """Fewest and most working days until bars are there, by bar id, where the shop file says the most."""
    bar_ids = {bar.id for bar in shop.bars}
    return {
        one.what: (one.days_low or 0, one.days_high)
        for one in shop.supplies
        if one.days_high is not None and one.what in bar_ids
    }


def likely_days(low: int, high: int) -> int:
    """Days halfway between the ends, rounded up."""
    return math.ceil((low + high) / 2.0)


def nominal_case(shop: Shop) -> Case:
    """As likely."""
    return Case(
        machine=nominal, hand=nominal, setup=nominal, scrap=shop.scrap_ratio.nominal,
        days={f.id: likely_days(f.days_low, f.days_high) for f in shop.finishers},
        bar_days={bar_id: likely_days(*ends) for bar_id, ends in bar_spans(shop).items()},
    )  # fmt: skip


def best_case(shop: Shop) -> Case:
    """All best ends together, and everything that can only help."""
    return Case(
        machine=low, hand=low, setup=low, scrap=0.0, days={f.id: f.days_low for f in shop.finishers},
        bar_days={bar_id: ends[0] for bar_id, ends in bar_spans(shop).items()}, at_best=True,
    )  # fmt: skip


def worst_case(shop: Shop) -> Case:
    """All worst ends together."""
    return Case(
        machine=high, hand=high, setup=high, scrap=shop.scrap_ratio.high,
        days={f.id: f.days_high for f in shop.finishers},
        bar_days={bar_id: ends[1] for bar_id, ends in bar_spans(shop).items()},
    )  # fmt: skip


def drawn_case(shop: Shop, rng: np.random.Generator) -> Case:
    """Each cause drawn once: minutes of machines, people, set-ups with the saw, scrap, days outside, days of bars."""
    machine, hand, setup, scrap = (float(u) for u in rng.random(4))
    days = {f.id: int(rng.integers(f.days_low, f.days_high + 1)) for f in shop.finishers}
    bar_days = {bar_id: int(rng.integers(ends[0], ends[1] + 1)) for bar_id, ends in bar_spans(shop).items()}
    return Case(
        machine=drawn_at(machine), hand=drawn_at(hand), setup=drawn_at(setup),
        scrap=drawn_at(scrap)(shop.scrap_ratio), days=days, bar_days=bar_days,
    )  # fmt: skip


def drawn_at(share: float) -> Callable[[Fact], float]:
    """Chooses the value below which a share of the draws of a fact lies."""
    shares = np.array([share])
    return lambda fact: float(spread_of(fact).at(shares)[0])
