"""What a cause of the band is called, where its numbers come from, and what would tell it."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.model.cost_band import Cause, Range
from proveout.model.fact import Fact, exact_fact, weaker_of
from proveout.model.plan import TimePlan
from proveout.model.shop import ShopMoney
from proveout.money.band import CauseWidth
from proveout.money.spread import spread_of
from proveout.stages.costing.amounts import (
    CHIP,
    CUTTER,
    HAND,
    LOST,
    METAL,
    MOVES,
    ONCE,
    OUTSIDE,
    PLUG,
    RATE,
    SETUP,
    relative,
)
from proveout.stages.costing.decide import Chips
from proveout.stages.costing.outside import Lot

WORDS = {
    MOVES: "minutes of the machines",
    HAND: "minutes by hand",
    SETUP: "minutes of set-ups and saw",
    ONCE: "programming, prove-out and jaws",
    RATE: "rates an hour",
    METAL: "price of the metal",
    OUTSIDE: "prices of the finishers",
    CUTTER: "cost of cutters a minute",
    CHIP: "what chips bring",
    PLUG: "prices of plugs and masks",
    LOST: "share of pieces lost",
}
MEASURES = {
    MOVES: "time one cycle of the first pieces and write it beside the estimate",
    HAND: "time ten pieces with a watch",
    SETUP: "time the next set-up and the saw",
    ONCE: "write down the hours of the next program and its first piece",
    RATE: "work the rate out from last year's costs and hours: proveout figure machine-hour-rate",
    METAL: "ask for a price of these bars today",
    OUTSIDE: "ask for a written price of this very lot",
    CUTTER: "note every change of an edge over one batch",
    CHIP: "ask what the chips bring",
    PLUG: "ask for a written price of plugs and masks",
    LOST: "count good and bad pieces of the next batch, with the reason",
}
TIMES = "times what is written"
# causes that exist only where the owner said how far prices may be off
WRITTEN: dict[str, str] = {
    METAL: "bar_ratio", RATE: "rate_ratio", OUTSIDE: "outside_ratio", SETUP: "setup_ratio", CUTTER: "cutter_ratio",
}  # fmt: skip


def facts_of(
    *, time: TimePlan, money: ShopMoney, lots: tuple[Lot, ...], chips: Chips | None, scrap_ratio: Fact
) -> dict[str, tuple[Fact, ...]]:
    """The facts that each cause moves."""
    found: dict[str, list[Fact]] = {}
    for line in time.lines:
        if line.seconds.nominal > 0.0 and line.seconds.low < line.seconds.high:
            found.setdefault(SETUP if line.cause == "sawing" else line.cause, []).append(line.seconds)
    for cause, field in WRITTEN.items():
        fact: Fact | None = getattr(money, field)
        if fact is not None:
            found.setdefault(cause, []).append(fact)
    if chips is not None:
        found[CHIP] = [chips.price_per_kg]
    priced = [one.price for lot in lots for one in lot.invoice if one.price.low < one.price.high]
    if priced:
        found[PLUG] = priced
    found[LOST] = [scrap_ratio]
    return {cause: tuple(facts) for cause, facts in found.items()}


def not_spread(*, money: ShopMoney, lots: tuple[Lot, ...]) -> tuple[str, ...]:
    """What counts as exact because nobody wrote how far it may be off."""
    return tuple(
        WORDS[cause]
        for cause, field in WRITTEN.items()
        if getattr(money, field) is None and (cause != OUTSIDE or lots)
    )  # fmt: skip


def _widest(facts: Iterable[Fact]) -> Fact:
    """The fact with the widest spread against its nominal."""
    return max(facts, key=lambda f: (f.high - f.low) / f.nominal if f.nominal > 0.0 else 0.0)


def hand_line(time: TimePlan) -> str:
    """The work by hand that can be off by most seconds a piece."""
    own = [line for line in time.lines if line.cause == HAND and line.per == "piece"]
    if not own:
        return ""
    return max(own, key=lambda line: line.seconds.high - line.seconds.low).text.split(": ")[-1]


def cause_of(found: CauseWidth, *, whole: Range, facts: dict[str, tuple[Fact, ...]], time: TimePlan) -> Cause:
    """One cause as the plan tells it."""
    own = facts.get(found.cause) or (exact_fact(1.0, TIMES, "own-algorithm", "assumed"),)
    widest = _widest(own)
    spread = spread_of(widest) if found.cause == LOST else relative(widest)
    strength = own[0].strength
    for fact in own[1:]:
        strength = weaker_of(strength, fact.strength)
    measure = MEASURES[found.cause]
    if found.cause == HAND and hand_line(time):
        measure += f": {hand_line(time)} first"
    return Cause(
        id=found.cause, text=WORDS[found.cause], low=round(spread.low, 6), likely=round(spread.likely, 6),
        high=round(spread.high, 6), unit="ratio" if found.cause == LOST else TIMES, shape=spread.shape,
        source=widest.source, strength=strength, known=found.known,
        narrows_ratio=round(1.0 - found.known.width / whole.width, 4) if whole.width > 0.0 else 0.0, measure=measure,
    )  # fmt: skip
