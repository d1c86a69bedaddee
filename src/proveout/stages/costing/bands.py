"""Decide the cost of a piece as a band: drawn from its causes, by quantity, against price, and over a year."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from functools import partial

import msgspec

from proveout.gauging.acceptance import share_accept_ratio
from proveout.model.cost_band import CostBand, LineBand, LotChoice, Rider
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Job
from proveout.model.plan import BarsPlan, CostPlan, TimePlan
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.selling import Selling
from proveout.model.shop import Bar, Bench, Cutter, Finisher, Jaws, Machine, Saw, ShopMoney
from proveout.model.table_load import TableLoad
from proveout.model.work import Blank, Clamping, PassPlan
from proveout.money.band import band_of, share_below, widths
from proveout.money.draws import Amount, Drawing, Drawn
from proveout.money.spread import Array, Spread, spread_of
from proveout.stages.costing.amounts import LOST, all_amounts
from proveout.stages.costing.causes import WORDS, cause_of, facts_of, not_spread
from proveout.stages.costing.curve import (
    Curve,
    cliffs_of,
    even_share_quantity,
    quantities_of,
    ticks_of,
    told_cliffs,
)
from proveout.stages.costing.decide import Chips
from proveout.stages.costing.lots import lot_choice, lot_proof
from proveout.stages.costing.outside import Lot, outside_lots
from proveout.stages.costing.selling import (
    bought_proof,
    channel_band,
    channel_proof,
    channels_of,
    saving_of,
)
from proveout.stages.costing.steps import BarSteps, begun_of

STAGE = "costing"
SPARES_SURE = 0.9
LACKS_DEMAND = "write [demand] with per_year in the job file"
LACKS_HOLDING = "write holding_percent under [demand] in the job file or [money] in the shop file"


def decide(
    *,
    cost: CostPlan,
    time: TimePlan,
    bars_plan: BarsPlan,
    job: Job,
    passes: PassPlan,
    clampings: tuple[Clamping, ...],
    blank: Blank,
    bars: tuple[Bar, ...],
    machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...],
    jaws: tuple[Jaws, ...],
    saw: Saw,
    bench: Bench,
    finishers: tuple[Finisher, ...],
    scrap_ratio: Fact,
    money: ShopMoney,
    density_kg_per_mm3: float,
    loads: tuple[TableLoad, ...] = (),
    plugs_count: int = 0,
    chips: Chips | None = None,
    riders: tuple[Rider, ...] = (),
    drawing: Drawing | None = None,
) -> Decision[CostBand]:
    """The band of the cost, with its causes, its curve, what is left of the price, and how many to make at once.

    cost: the same lines, all worst ends together.   riders: other parts in the coat's lot.
    """
    drawing = drawing or Drawing()
    quantity = job.order.quantity
    lots, _ = outside_lots(
        job=job, finishers=finishers, pieces_count=bars_plan.pieces_count, plugs_count=plugs_count, riders=riders
    )  # fmt: skip
    steps = BarSteps(
        bars_plan=bars_plan, blank=blank, bars=bars, saw=saw, density_kg_per_mm3=density_kg_per_mm3
    )  # fmt: skip
    begun = begun_of(job.order, bars_plan.pieces_count, scrap_ratio)
    amounts_with = partial(
        all_amounts, time=time, passes=passes, clampings=clampings, machines=machines, cutters=cutters, jaws=jaws,
        saw=saw, bench=bench, money=money, steps=steps, begun=begun, quantity=quantity, loads=loads, chips=chips,
        kit=job.kit,
    )  # fmt: skip
    amounts = amounts_with(lots=lots)
    lost = (LOST, spread_of(scrap_ratio))
    spares = _spares_of(begun)
    drawn = Drawn(amounts, lost, drawing, spares=spares)
    batch = drawn.at(quantity)
    each = band_of(batch.each)
    apart = Drawn(amounts, lost, dataclasses.replace(drawing, is_together=False), spares=spares).at(quantity)
    facts = facts_of(time=time, money=money, lots=lots, chips=chips, scrap_ratio=scrap_ratio)
    cliffs = cliffs_of(lots=lots, steps=steps, begun=begun, quantity=quantity)
    quantities = quantities_of(cliffs=cliffs, quantity=quantity)
    curve = Curve(lambda count: band_of(drawn.at(count).each))
    points = curve.points(quantities)
    selling = job.selling or Selling()
    channels = () if job.selling is None else tuple(
        channel_band(one, selling=selling, each=batch.each, curve=curve, quantities=quantities)
        for one in channels_of(selling, money.channels)
    )  # fmt: skip
    made = None if selling.bought_each is None else saving_of(selling.bought_each, batch.each, drawing)
    choice, lacks = _choice(job, money, lots, amounts_with, lost, riders)
    band = CostBand(
        draws_count=drawing.count, seed=drawing.seed, each=each, apart=band_of(apart.each),
        mean=round(float(batch.each.mean()), 4), lines=_lines(cost, batch.lines, amounts, quantity),
        widest=tuple(
            cause_of(one, whole=each, facts=facts, time=time)
            for one in widths(amounts, lost, quantity=quantity, drawing=drawing, spares=spares)
        ),
        not_spread=not_spread(money=money, lots=lots),
        spares_suffice=_spares(bars_plan, quantity, scrap_ratio), lost=band_of(batch.lost), curve=points,
        cliffs=told_cliffs(cliffs, quantity), even_share_quantity=even_share_quantity(amounts, drawn, quantity),
        quantity_ticks=tuple(round(t) for t in ticks_of(quantities[0], quantities[-1], most_count=8) if t == round(t)),
        money_ticks=ticks_of(0.0, max(point.each.p90 for point in points), most_count=8), channels=channels,
        bought_saving=None if made is None else band_of(made),
        made_ratio=None if made is None else round(1.0 - share_below(made, 0.0), 4), lots=choice, riders=riders,
    )  # fmt: skip
    return Decision(value=band, proofs=tuple(_proofs(band, cost, bars_plan, job, lacks, scrap_ratio)))


def _spares_of(begun: Callable[[int], int]) -> Callable[[int], int]:
    return lambda quantity: begun(quantity) - quantity


def _lines(
    cost: CostPlan, drawn: Mapping[str, Array], amounts: tuple[Amount, ...], quantity: int
) -> tuple[LineBand, ...]:
    """Every line of the cost with its band, in the order of the cost."""
    causes: dict[str, list[str]] = {}
    for amount in amounts:
        for cause, spread in amount.factors:
            if spread.low < spread.high and WORDS[cause] not in causes.setdefault(amount.line, []):
                causes[amount.line].append(WORDS[cause])
    causes["scrap"] = [WORDS[LOST]]
    return tuple(
        LineBand(text=line.text, each=band_of(drawn[line.text] / quantity), causes=tuple(causes.get(line.text, ())))
        for line in cost.lines
        if line.text in drawn
    )


def _choice(
    job: Job, money: ShopMoney, lots: tuple[Lot, ...], amounts_with: Callable[..., tuple[Amount, ...]],
    lost: tuple[str, Spread], riders: tuple[Rider, ...],
) -> tuple[LotChoice | None, str]:  # fmt: skip
    """How many to make, or what is missing to say so."""
    if job.demand is None:
        return None, LACKS_DEMAND
    holding = job.demand.holding_ratio or money.holding_ratio
    if holding is None:
        return None, LACKS_HOLDING
    apart = tuple(msgspec.structs.replace(lot, riders=()) for lot in lots)
    count = len(riders)
    words = [f"riding with {count} other part{'s' if count > 1 else ''} to the finisher"] * (count > 0)
    words += ["set-ups shared with another part"] * (job.demand.shared_setup_ratio is not None)
    choice = lot_choice(
        demand=job.demand, holding=holding, alone=lambda: amounts_with(lots=apart),
        shared=(lambda: amounts_with(lots=lots)) if riders else None, shared_words=", ".join(words),
        lost=lost, order_quantity=job.order.quantity,
    )  # fmt: skip
    return choice, ""


def _spares(bars_plan: BarsPlan, quantity: int, scrap_ratio: Fact) -> Fact:
    """Chance that at most the spares are lost, by the binomial count."""
    begun, spare = max(bars_plan.pieces_count, quantity), max(0, bars_plan.pieces_count - quantity)
    worst, middle, best = (
        round(share_accept_ratio(bad_ratio=share, sample_count=begun, accept_count=spare), 6)
        for share in (scrap_ratio.high, scrap_ratio.nominal, scrap_ratio.low)
    )
    return Fact(
        low=worst, nominal=middle, high=best, unit="ratio",
        source="acceptance_identities: binomial count of the pieces lost", strength="assumed",
    )  # fmt: skip


def _proofs(
    band: CostBand, cost: CostPlan, bars_plan: BarsPlan, job: Job, lacks: str, scrap_ratio: Fact
) -> list[Proof]:
    currency = cost.currency
    found = [_suffices(band, bars_plan, scrap_ratio)]
    found += [channel_proof(one, each=band.each, currency=currency, cost=cost.each) for one in band.channels]
    if job.selling is not None:
        found.append(bought_proof(band.bought_saving, job.selling.bought_each, currency))
    found.append(lot_proof(band.lots, lacks=lacks, currency=currency))
    return found


def _suffices(band: CostBand, bars_plan: BarsPlan, scrap_ratio: Fact) -> Proof:
    chance = band.spares_suffice
    return prove(
        id=f"{STAGE}:spares:cover-the-losses",
        stage=STAGE,
        subject="spares",
        claim=f"{bars_plan.spare_count} spares cover the pieces lost nine times in ten",
        sense="at least",
        found_low=chance.low,
        found_high=chance.high,
        limit=SPARES_SURE,
        unit="ratio",
        blocks_release=False,
        basis=Basis(
            formula="binomial: chance that of all pieces begun at most the spares are lost",
            source="acceptance_identities",
            inputs={
                "share of the pieces lost": scrap_ratio,
                "pieces begun": exact_fact(float(bars_plan.pieces_count), "pieces", "own-algorithm", "assumed"),
            },
        ),
        decides="count good and bad pieces of the next batch: the share lost decides",
        remedy="saw a few blanks more: write spare under [order]",
    )
