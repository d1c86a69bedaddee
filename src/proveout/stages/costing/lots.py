"""How many to make at once: the quantity of least money a year, and how flat it lies around it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from proveout.model.cost_band import LotChoice, LotWay
from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Proof, prove
from proveout.model.selling import Demand
from proveout.money.draws import Amount, Drawing, Drawn, shares_of
from proveout.money.order_quantity import order_quantity
from proveout.money.spread import Array, Spread, spread_of
from proveout.stages.costing.amounts import SETUP

STAGE = "costing"
FLAT_RATIO = 0.01
YEARS_MOST = 2.0  # of demand in one lot; nobody should plan further ahead
MOST = 20_000
TRIALS = 400  # of demand and holding, for the spread of the best quantity


@dataclass(frozen=True, kw_only=True)
class Year:
    """Money a year by quantity. each: of a good piece of a repeat; charge: once a lot, whatever its size."""

    quantities: Array
    each: Array
    charge: float

    def money(self, per_year: float, holding_ratio: float) -> Array:
        """All money for the part in a year: what its pieces cost, and what lies on average of a lot."""
        return per_year * self.each + holding_ratio * self.each * self.quantities / 2.0


def year_of(amounts: tuple[Amount, ...], *, lost: tuple[str, Spread], most: int, setup_left: float = 1.0) -> Year:
    """Mean money of a piece for every quantity from 1 on, without what is done once for the design.

    setup_left: share of the set-up minutes that stays.
    """
    drawn = Drawn(amounts, lost, Drawing())
    means, lost_each = drawn.means()
    counts = np.arange(1, most + 1, dtype=np.float64)
    total = lost_each * counts
    charge = 0.0
    for amount, mean in zip(amounts, means, strict=True):
        if amount.per == "design":
            continue
        left = setup_left if any(cause == SETUP for cause, _ in amount.factors) and not callable(amount.scale) else 1.0
        if amount.per in ("piece", "sold"):
            total = total + mean * amount.scale_at(1) * counts
        elif callable(amount.scale):
            scales = np.array([amount.scale(int(count)) for count in counts])
            total = total + mean * scales
            # what a lot charges before its first piece, drawn from the way it goes at the far end
            half = most // 2
            slope = (scales[-1] - scales[half - 1]) / (most - half) if half else 0.0
            charge += mean * max(0.0, float(scales[-1] - slope * most))
        else:
            total = total + left * mean * amount.scale_at(1)
            charge += left * mean * amount.scale_at(1)
    return Year(quantities=counts, each=total / counts, charge=charge)


def best_way(text: str, year: Year, *, per_year: Spread, holding: Spread) -> LotWay:
    """The quantity of least mean money a year, by trying every one, with the flat part around it."""
    money = year.money(per_year.mean, holding.mean)
    at = int(np.argmin(money))
    flat = np.flatnonzero(money <= (1.0 + FLAT_RATIO) * money[at])
    low, high = _run_around(flat, at)
    drawing = Drawing(count=TRIALS)
    demands = per_year.at(shares_of("demand", drawing))
    holdings = holding.at(shares_of("holding", drawing))
    bests = [float(year.quantities[np.argmin(year.money(d, h))]) for d, h in zip(demands, holdings, strict=True)]
    quantity, each = int(year.quantities[at]), float(year.each[at])
    return LotWay(
        text=text, quantity=quantity,
        closed_form=round(
            order_quantity(
                demand_per_year=per_year.mean, lot_charge=year.charge, holding_each=holding.mean * float(year.each[-1])
            ),
            1,
        ),
        flat_low=low + 1, flat_high=high + 1, best_low=round(float(np.quantile(bests, 0.1))),
        best_high=round(float(np.quantile(bests, 0.9))), per_year=round(float(money[at]), 2),
        lots_per_year=round(per_year.mean / quantity, 3), each=round(each, 4), outlay=round(each * quantity, 2),
        lying=round(each * quantity / 2.0, 2),
    )  # fmt: skip


def _run_around(places: np.ndarray, at: int) -> tuple[int, int]:
    """First and last of the unbroken run of places that holds `at`."""
    held = set(places.tolist())
    low = high = at
    while low - 1 in held:
        low -= 1
    while high + 1 in held:
        high += 1
    return low, high


def lot_choice(
    *, demand: Demand, holding: Fact, alone: Callable[[], tuple[Amount, ...]],
    shared: Callable[[], tuple[Amount, ...]] | None, shared_words: str, lost: tuple[str, Spread], order_quantity: int,
) -> LotChoice:  # fmt: skip
    """How many to make at once, as the order stands first, then without what it shares with other parts.

    shared: the amounts where lots ride with other parts; None where nothing rides with it.
    """
    per_year, hold = spread_of(demand.per_year), spread_of(holding)
    most = int(min(MOST, max(order_quantity, round(YEARS_MOST * demand.per_year.high), 2)))
    left = 1.0 if demand.shared_setup_ratio is None else 1.0 - spread_of(demand.shared_setup_ratio).mean
    years = []
    if shared is not None or left < 1.0:
        amounts = alone() if shared is None else shared()
        years.append((shared_words, year_of(amounts, lost=lost, most=most, setup_left=left)))
    years.append(("alone", year_of(alone(), lost=lost, most=most)))
    ways = tuple(best_way(text, year, per_year=per_year, holding=hold) for text, year in years)
    money = years[0][1].money(per_year.mean, hold.mean)
    return LotChoice(
        demand=demand.per_year, holding_ratio=holding, flat_ratio=FLAT_RATIO, most_quantity=most, ways=ways,
        order_quantity=order_quantity, order_per_year=round(float(money[order_quantity - 1]), 2),
        lot_charge=round(years[0][1].charge, 4),
    )  # fmt: skip


def lot_proof(choice: LotChoice | None, *, lacks: str, currency: str) -> Proof:
    """Whether the quantity ordered lies in the flat part; not shown where the job says nothing of demand."""
    found = limit = None
    remedy = ""
    basis = Basis(formula="demand x cost of a piece + holding x half a lot, every quantity", source="own-algorithm")
    if choice is not None:
        way = choice.ways[0]
        found, limit = choice.order_per_year, round(way.per_year * (1.0 + choice.flat_ratio), 2)
        remedy = f"make {way.quantity} at once; {way.flat_low} to {way.flat_high} cost at most one percent more"
        basis = Basis(
            formula=(
                "demand x mean cost of a piece of a repeat + holding x half a lot's cost, for every quantity from 1 to "
                f"{choice.most_quantity}; beside it sqrt(2 D S / H) without cliffs: {way.closed_form:g} pieces"
            ),
            source="lot_size_examples",
            inputs={
                "D, pieces a year": choice.demand,
                "holding, share of cost a year": choice.holding_ratio,
                "S, once a lot": exact_fact(choice.lot_charge, currency, "own-algorithm", "assumed"),
                "pieces at once": exact_fact(float(choice.order_quantity), "pieces", "job-file", "owner's guess"),
            },
        )
    return prove(
        id=f"{STAGE}:quantity:costs-little-more-than-the-best",
        stage=STAGE,
        subject="quantity",
        claim="making this many at once costs a year at most one percent more than the best quantity",
        sense="at most",
        found_low=found,
        found_high=found,
        limit=limit,
        unit=currency,
        blocks_release=False,
        basis=basis,
        decides=lacks,
        remedy=remedy,
    )
