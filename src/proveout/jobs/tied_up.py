"""What is in one half-made piece: seconds at every step that it has passed, and money: work, metal, finishers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proveout.jobs.close_out_money import rate_per_h
from proveout.jobs.close_out_steps import planned_of
from proveout.model.batch import Batch
from proveout.model.fact import Fact, exact_fact
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_H
from proveout.stages.costing.decide import total_money
from proveout.stages.timing.decide import total_s

SOURCE = "own-algorithm: seconds of the plan x rate of the shop"


@dataclass(frozen=True)
class TiedUp:
    """each_s, each_money: of one piece, every worst end together; None where nothing of it is shown.

    lacks: steps and metal that are not in them, since the plan does not tell them.
    """

    each_s: Fact | None
    each_money: Fact | None
    lacks: tuple[str, ...]


def tied_up(batch: Batch, plan: Plan, shop: Shop, behind: Sequence[str]) -> TiedUp:
    """What a piece holds that has passed these steps.

    Work on a piece, its share of the bars, and what finishers ask for it; set-ups, jaws, cutters and programs are not
    in it, as they are not lost with a piece.
    """
    if plan.metal_unknown:
        return TiedUp(None, None, ("the shop's figures are not for this metal",))
    planned = planned_of(batch.steps, plan, shop)
    currency = plan.cost.currency
    seconds: list[Fact] = []
    money: list[Fact] = []
    lacks: list[str] = []
    for step in (one for one in batch.steps if one.id in set(behind)):
        each_s = planned[step.id].each_s
        if step.kind == "outside":
            charge = _charge(plan, shop, step.station)
            if charge is None:
                lacks.append(f"{step.id}: what {step.station} asks")
            else:
                money.append(charge)
        elif each_s is None:
            lacks.append(f"{step.id}: {planned[step.id].why}")
        else:
            seconds.append(each_s)
            money.append(_priced(each_s, rate_per_h(shop, step.station), currency))
    if behind:
        count = plan.bars.blanks_count
        if count and plan.bars.price > 0.0:
            money.append(exact_fact(plan.bars.price / count, currency, "own-algorithm: bars over all blanks",
                                    "owner's guess"))  # fmt: skip
        else:
            lacks.append("the metal")
    return TiedUp(total_s(seconds) if seconds else None, total_money(money, currency) if money else None, tuple(lacks))


def _priced(seconds: Fact, rate: float, currency: str) -> Fact:
    low, nominal, high = (end * rate / S_PER_H for end in (seconds.low, seconds.nominal, seconds.high))
    return Fact(low=low, nominal=nominal, high=high, unit=currency, source=SOURCE, strength=seconds.strength)


def _charge(plan: Plan, shop: Shop, station: str) -> Fact | None:
    """What a finisher asks for a piece, its share of the lot's minimum and freight among it."""
    process = next((one.process for one in shop.finishers if one.id == station), None)
    return next((line.each for line in plan.cost.lines if line.text == f"outside: {process}"), None)
