"""The lines of the cost taken apart by cause, so that a band can be drawn: how much, how often, and what moves it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from proveout.model.fact import Fact
from proveout.model.packing import KitItem
from proveout.model.plan import TimeLine, TimePlan
from proveout.model.shop import Bench, Cutter, Jaws, Machine, Saw, ShopMoney
from proveout.model.table_load import TableLoad
from proveout.model.work import Clamping, PassPlan
from proveout.money.draws import Amount, Per
from proveout.money.spread import ONE, Spread, spread_of
from proveout.quantities.units import S_PER_H
from proveout.stages.costing.decide import CHIPS, CUTTERS, KIT, TRIAL_CUTTERS, Chips, kit_price
from proveout.stages.costing.jaw_pairs import made_pairs
from proveout.stages.costing.outside import Lot
from proveout.stages.costing.stations import BENCH, SAW, batch_groups, piece_groups
from proveout.stages.costing.steps import BarSteps

MOVES, HAND, SETUP, ONCE = "moves", "hand", "set-up", "once"
RATE, METAL, OUTSIDE, CUTTER, CHIP, PLUG, LOST = "rate", "metal", "outside", "cutters", "chips", "plugs", "lost"
PER: dict[str, Per] = {"piece": "piece", "batch": "lot", "design": "design"}

Factors = tuple[tuple[str, Spread], ...]


def relative(fact: Fact) -> Spread:
    """A fact as multiples of its nominal value, which is above 0."""
    spread, middle = spread_of(fact), fact.nominal
    return Spread(
        low=round(spread.low / middle, 9), likely=1.0, high=round(spread.high / middle, 9), shape=spread.shape
    )  # fmt: skip


def ratio_of(fact: Fact | None) -> Spread:
    """Multiples of what is written; exact where nobody said how far it may be off."""
    return ONE if fact is None else spread_of(fact)


def time_amounts(
    *, time: TimePlan, machines: tuple[Machine, ...], saw: Saw, bench: Bench, money: ShopMoney,
    begun: Callable[[int], int], quantity: int,
) -> Iterator[Amount]:  # fmt: skip
    """Minutes at every station at its rate; sawing goes with the pieces begun."""
    rates = {machine.id: machine.rate_per_h for machine in machines}
    rates |= {SAW: saw.rate_per_h, BENCH: bench.rate_per_h}
    rate = (RATE, ratio_of(money.rate_ratio))
    for per, names in (*piece_groups(machines), *batch_groups(machines)):
        for station, name in names.items():
            own = [line for line in time.lines if line.station == station and line.per == per]
            for (cause, spread), seconds in _by_cause(own, money).items():
                scale = seconds * rates[station] / S_PER_H
                grows = cause == "sawing"
                yield Amount(
                    line=name, per=PER[per],
                    scale=_with_pieces(scale, begun, quantity) if grows else scale,
                    factors=((SETUP if grows else cause, spread), rate),
                    beyond=_by_pieces(scale / begun(quantity)) if grows else None,
                )  # fmt: skip


def _with_pieces(scale: float, begun: Callable[[int], int], quantity: int) -> Callable[[int], float]:
    return lambda count: scale * begun(count) / begun(quantity)


def _by_pieces(each: float) -> Callable[[int, int], float]:
    return lambda _, more: each * more


def _by_cause(lines: Iterable[TimeLine], money: ShopMoney) -> dict[tuple[str, Spread], float]:
    """Nominal seconds of lines that are off by the same share for the same cause."""
    found: dict[tuple[str, Spread], float] = {}
    for line in lines:
        if line.seconds.nominal <= 0.0:
            continue
        spread = relative(line.seconds)
        if line.cause in (SETUP, "sawing") and spread.low == spread.high:
            spread = ratio_of(money.setup_ratio)
        key = (line.cause, spread)
        found[key] = found.get(key, 0.0) + line.seconds.nominal
    return found


def cutter_amounts(
    *, time: TimePlan, passes: PassPlan, cutters: tuple[Cutter, ...], money: ShopMoney, trial_count: int = 0
) -> Iterator[Amount]:
    """Seconds of the passes over the life of their cutters, times price; cutters of unknown life are not counted.

    trial_count: blanks that are cut once beside the pieces.
    """
    by_id = {cutter.id: cutter for cutter in cutters}
    cutter_of = {work.id: work.cutter_id for work in passes.passes}
    found: dict[Spread, float] = {}
    for line in time.lines:
        cutter = by_id.get(cutter_of.get(line.pass_id, ""))
        if cutter is None or not cutter.life_s or line.seconds.nominal <= 0.0:
            continue
        spread = relative(line.seconds)
        found[spread] = found.get(spread, 0.0) + line.seconds.nominal * cutter.price / cutter.life_s
    for spread, scale in found.items():
        factors = ((MOVES, spread), (CUTTER, ratio_of(money.cutter_ratio)))
        yield Amount(line=CUTTERS, per="piece", scale=scale, factors=factors)
        if trial_count:
            yield Amount(line=TRIAL_CUTTERS, per="design", scale=scale * trial_count, factors=factors)


def lot_amounts(lot: Lot, money: ShopMoney, begun: Callable[[int], int]) -> Iterator[Amount]:
    """An outside lot: what its price list says, and plugs and masks apart, whose prices have ends of their own."""
    line, common = f"outside: {lot.finisher.process}", (OUTSIDE, ratio_of(money.outside_ratio))

    def listed(quantity: int) -> float:
        return lot.listed(begun(quantity))

    def beyond(quantity: int, more: int) -> float:
        """They go out in the same lot."""
        return lot.listed(begun(quantity) + more) - listed(quantity)

    yield Amount(line=line, per="lot", scale=listed, factors=(common,), beyond=beyond)
    for one in lot.invoice:
        if one.text in ("plugs", "masks") and one.price.nominal > 0.0:
            each = one.price.nominal * one.count / lot.pieces_count
            yield Amount(
                line=line, per="lot", scale=_each_begun(each, begun), factors=((PLUG, relative(one.price)), common),
                beyond=_by_pieces(each),
            )  # fmt: skip


def _each_begun(each: float, begun: Callable[[int], int]) -> Callable[[int], float]:
    return lambda quantity: each * begun(quantity)


def all_amounts(
    *, time: TimePlan, passes: PassPlan, clampings: tuple[Clamping, ...], machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...], jaws: tuple[Jaws, ...], saw: Saw, bench: Bench, money: ShopMoney,
    lots: tuple[Lot, ...], steps: BarSteps, begun: Callable[[int], int], quantity: int,
    loads: tuple[TableLoad, ...] = (), chips: Chips | None = None, kit: tuple[KitItem, ...] = (),
) -> tuple[Amount, ...]:  # fmt: skip
    """Every line of the cost but scrap, which is drawn; at likely values each is the line of the cost."""
    made = [
        Amount(
            line="material", per="lot", scale=lambda count: steps.price(begun(count)),
            factors=((METAL, ratio_of(money.bar_ratio)),), beyond=lambda _, more: steps.bought_later(more),
        ),
        *time_amounts(
            time=time, machines=machines, saw=saw, bench=bench, money=money, begun=begun, quantity=quantity
        ),
        *cutter_amounts(time=time, passes=passes, cutters=cutters, money=money, trial_count=steps.trial_count),
    ]  # fmt: skip
    pairs = made_pairs(clampings, jaws, loads)
    if pairs:
        made.append(Amount(line="jaw plates", per="design", scale=sum(pair.price for pair in pairs)))
    for lot in lots:
        made += lot_amounts(lot, money, begun)
    if kit_price(kit) > 0.0:
        made.append(Amount(line=KIT, per="sold", scale=kit_price(kit)))
    if chips is not None and chips.price_per_kg.nominal > 0.0:
        price = chips.price_per_kg
        made.append(
            Amount(
                line=CHIPS, per="sold", scale=-chips.kg_each * price.nominal, factors=((CHIP, relative(price)),)
            )
        )  # fmt: skip
    return tuple(made)
