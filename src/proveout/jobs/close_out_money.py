"""Money of a good piece as it came out, and what of the difference each input makes when it alone is exchanged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from proveout.model.batch import Batch
from proveout.model.close_out import Driver, MoneyOut, StepTime
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.quantities.units import S_PER_H
from proveout.stages.costing.decide import KIT

FEW = 5
"""Inputs that are told one by one, at most."""
MOST_RATIO = 0.8
"""Of all effects together, what the told ones make at least where FEW suffice."""
COUNTS = "pieces: lost, and good ones to share what is done once"
AS_PLANNED = (
    "prices and invoices", "finishers' charges", "cutters", "jaws, programming and prove-out", KIT, "chips sold back"
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Inputs:
    """What the money of a batch is reckoned from. seconds: a piece by step;  setups: by step;  worked: pieces by step.

    bars: how many of them;  good: pieces to share it.
    """

    seconds: Mapping[str, float]
    setups: Mapping[str, float]
    worked: Mapping[str, float]
    bars: float
    good: float

    def money(self, rates: Mapping[str, float], bar_price: float) -> float:
        """Of a good piece: stations by the hour, and bars."""
        total = sum(self.seconds[step] * self.worked[step] * rates[step] for step in self.seconds)
        total += sum(seconds * rates[step] for step, seconds in self.setups.items())
        return (total / S_PER_H + self.bars * bar_price) / self.good


def money_out(
    batch: Batch, plan: Plan, shop: Shop, *, steps: tuple[StepTime, ...], bars_count: int, good_count: int
) -> tuple[MoneyOut | None, str]:  # fmt: skip
    """The money, or None and why it is not shown."""
    if plan.metal_unknown:
        return None, "the shop's figures are not for this metal"
    if good_count < 1:
        return None, "no good piece shares it"
    rates = {one.step: rate_per_h(shop, one.station) for one in steps}
    known = [one for one in steps if one.planned_s is not None]
    lost = shop.scrap_ratio.nominal
    came = {one.id: float(one.good_count + one.bad_count) for one in batch.steps}
    planned = Inputs(
        seconds={one.step: one.planned_s.nominal for one in known if one.planned_s is not None},
        setups={one.step: one.setup_planned_s for one in known if one.setup_planned_s is not None},
        worked={one.step: plan.part.quantity / (1.0 - lost) for one in known}, bars=float(plan.bars.bars_count),
        good=float(plan.part.quantity),
    )  # fmt: skip
    seconds = {one.step: one.actual_s for one in known if one.actual_s is not None}
    setups = {one.step: one.setup_actual_s for one in known if one.setup_actual_s is not None}
    price = plan.bars.price / plan.bars.bars_count if plan.bars.bars_count else 0.0
    actual = Inputs(
        seconds={**planned.seconds, **seconds}, setups={**planned.setups, **setups},
        worked={one.step: came.get(one.step, 0.0) for one in known}, bars=float(bars_count or plan.bars.bars_count),
        good=float(good_count),
    )  # fmt: skip
    at = planned.money(rates, price)
    single = [
        *(_Exchanged(f"seconds a piece at {step}", planned.seconds[step], seconds[step], "s",
                     replace(planned, seconds={**planned.seconds, step: seconds[step]})) for step in seconds),
        *(_Exchanged(f"set-up at {step}", planned.setups[step], setups[step], "s",
                     replace(planned, setups={**planned.setups, step: setups[step]}))
          for step in setups if step in planned.setups),
        _Exchanged("bars", planned.bars, actual.bars, "count", replace(planned, bars=actual.bars)),
        _Exchanged(COUNTS, planned.good, actual.good, "count",
                   replace(planned, worked=actual.worked, good=actual.good)),
    ]  # fmt: skip
    # what no event tells of is shared by the good pieces as planned
    rest = plan.cost.each.nominal - at
    drivers = [
        Driver(text=one.text, planned=one.planned, actual=one.actual, unit=one.unit,
               effect=one.inputs.money(rates, price) - at)
        for one in single
    ]  # fmt: skip
    drivers.sort(key=lambda one: (-abs(one.effect), one.text))
    told = _told(drivers)
    came_to = actual.money(rates, price) + rest
    others = sum(one.effect for one in drivers[len(told) :])
    remainder = came_to - plan.cost.each.nominal - sum(one.effect for one in drivers)
    band = plan.cost.band
    left = [f"seconds at {one.step}" for one in known if one.actual_s is None]
    return MoneyOut(
        currency=plan.cost.currency, planned=plan.cost.each, actual=came_to,
        p10=None if band is None else band.each.p10,
        p90=None if band is None else band.each.p90, drivers=told, others=others, remainder=remainder,
        as_planned=(*left, *AS_PLANNED),
    ), ""  # fmt: skip


def rate_per_h(shop: Shop, station: str) -> float:
    """Money of an hour at a station: a machine's own, the saw's, else the bench's."""
    rates = {machine.id: machine.rate_per_h for machine in shop.machines} | {"saw": shop.saw.rate_per_h}
    return rates.get(station, shop.bench.rate_per_h)


@dataclass(frozen=True)
class _Exchanged:
    text: str
    planned: float
    actual: float
    unit: str
    inputs: Inputs


def _told(drivers: list[Driver]) -> tuple[Driver, ...]:
    """The first few that make most of all effects."""
    whole = sum(abs(one.effect) for one in drivers)
    told: list[Driver] = []
    for one in drivers[:FEW]:
        if not one.effect or sum(abs(some.effect) for some in told) >= MOST_RATIO * whole:
            break
        told.append(one)
    return tuple(told)
