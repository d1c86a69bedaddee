"""Decide what to buy: bars, edges that wear out, jaws cut to the work, hardware by the pack, gauges that lack."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeVar

import msgspec

from proveout.model.gauge import WantedGauge
from proveout.model.jaw_form import JawForm
from proveout.model.packing import KitLine, Packing
from proveout.model.plan import BarsPlan, CutterUse
from proveout.model.proof import Decision
from proveout.model.purchase import Purchase
from proveout.model.shop import Cutter, Jaws
from proveout.model.stock import Supply
from proveout.model.table_load import TableLoad
from proveout.model.work import Clamping

PLUG = "plug"
Line = TypeVar("Line", bound=Purchase)


def decide(
    *, bars_plan: BarsPlan, alloy: str, is_money_known: bool, uses: tuple[CutterUse, ...],
    cutters: tuple[Cutter, ...], clampings: tuple[Clamping, ...], forms: tuple[JawForm, ...], packing: Packing,
    supplies: tuple[Supply, ...] = (), plugs_count: int = 0, jaws: tuple[Jaws, ...] = (),
    loads: tuple[TableLoad, ...] = (), gauges: tuple[WantedGauge, ...] = (),
) -> Decision[tuple[Purchase, ...]]:  # fmt: skip
    """What the batch needs beside what is there.

    A cutter whose life nobody wrote has a line without a count:
    how many edges it asks for is not known.  Stock on the shelf is not known and not taken off.

    Args:     is_money_known: whether the shop's price of metal is that of this alloy.   uses: of every cutter over the
              batch.   cutters: the shop's.   forms: pockets of soft jaws, by the clamping whose work they hold.
              supplies: who sells what.   plugs_count: over the batch; on the list only where a supply is named plug,
              else whoever coats brings them.   jaws: the shop's.   loads: a pair of made jaws is bought for each
              place in which a clamping lies.   gauges: for what nothing in the shop tells; each is bought once.
    Returns:  bars by id and length, then cutters, jaws, kit, plugs and gauges in the order given, but all of one
              supplier where his first stands; nothing is claimed.
    Raises:   nothing.
    Checked:  tests/stages/buying/test_buying.py
    """
    sold = {one.what: one for one in supplies}
    bar_ids = {pattern.bar_id for pattern in bars_plan.patterns}
    plain = [
        *((next(iter(bar_ids)), line) for line in _bars(bars_plan, alloy, is_money_known=is_money_known)),
        *((line.what, line) for line in _cutters(uses, cutters)),
        *((line.what, line) for line in _jaws(clampings, forms, jaws, loads)),
        *((line.item.name, _kit(line)) for line in packing.lines),
    ]
    if plugs_count and PLUG in sold:
        plain.append((PLUG, Purchase(kind="plug", what=PLUG, count=plugs_count, unit="pieces", why="masks of the lot")))
    plain += [(line.what, line) for line in _gauges(gauges)]
    lines = [as_sold(sold.get(key), line) for key, line in plain]
    place = {supplier: number for number, supplier in enumerate(dict.fromkeys(line.supplier for line in lines))}
    return Decision(value=tuple(sorted(lines, key=lambda line: place[line.supplier])))


def as_sold(supply: Supply | None, line: Line) -> Line:
    """The line as that supplier sells it: whole packs, their price where no price is known, and the days it takes.

    What a job's kit says of supplier and pack stays; where nobody wrote who sells it the line stays as it is.
    """
    if supply is None:
        return line
    packs, price, pack_price = line.packs_count, line.price_total, line.pack_price
    pack = line.pack_count if line.pack_count is not None else supply.pack_count
    if packs is None and supply.pack_count is not None and line.count is not None:
        packs = -(-line.count // supply.pack_count)
        if price is None and supply.pack_price is not None:
            pack_price = supply.pack_price
            price = round(packs * pack_price, 2)
    return msgspec.structs.replace(
        line, supplier=line.supplier or supply.supplier, packs_count=packs, pack_count=pack, price_total=price,
        pack_price=pack_price, days_low=supply.days_low, days_high=supply.days_high,
    )  # fmt: skip


def _bars(bars_plan: BarsPlan, alloy: str, *, is_money_known: bool) -> Iterator[Purchase]:
    rack = "; not needed if the rack is taken" if bars_plan.rack or bars_plan.is_rack_shared else ""
    counts: dict[float, int] = {}
    for pattern in bars_plan.patterns:
        counts[pattern.bar_length_mm] = (
            counts.get(pattern.bar_length_mm, 0) + pattern.bundle_count * pattern.times
        )  # fmt: skip
    bar_id = bars_plan.patterns[0].bar_id if bars_plan.patterns else ""
    for length_mm, count, money in money_by_length(bars_plan.price, counts):
        yield Purchase(
            kind="bar", what=f"{bar_id}, {length_mm / 1000.0:g} m", count=count, unit="bars",
            price_total=money if is_money_known else None, why=f"{alloy}, one heat for the lot{rack}",
        )  # fmt: skip


def money_by_length(price: float, counts: Mapping[float, int]) -> list[tuple[float, int, float]]:
    """Length, count and money of the bars of one section, which costs the same a millimetre whatever the length.

    The cents that rounding leaves go to the longest, so that the lines add up to the price.
    """
    whole_mm = sum(length * count for length, count in counts.items())
    found: list[tuple[float, int, float]] = []
    left = round(price, 2)
    for number, (length_mm, count) in enumerate(sorted(counts.items()), start=1):
        money = left if number == len(counts) else round(price * length_mm * count / whole_mm, 2)
        left = round(left - money, 2)
        found.append((length_mm, count, money))
    return found


def _cutters(uses: tuple[CutterUse, ...], cutters: tuple[Cutter, ...]) -> Iterator[Purchase]:
    prices = {cutter.id: cutter.price for cutter in cutters}
    for use in uses:
        if use.edges_count is None:
            yield Purchase(kind="cutter", what=use.cutter_id, count=None, unit="edges", why="life not known")
            continue
        spares = use.edges_count - 1  # one is in the machine
        if spares > 0:
            price = prices.get(use.cutter_id)
            yield Purchase(
                kind="cutter", what=use.cutter_id, count=spares, unit="edges",
                price_total=None if price is None else round(spares * price, 2), why="the edge in use wears out",
            )  # fmt: skip


def _jaws(
    clampings: tuple[Clamping, ...], forms: tuple[JawForm, ...], jaws: tuple[Jaws, ...], loads: tuple[TableLoad, ...]
) -> Iterator[Purchase]:  # fmt: skip
    """Pairs that are made for the part, one for each place in which the clamping lies in a cycle."""
    formed = {form.clamping_id for form in forms}
    by_id = {one.id: one for one in jaws}
    places = {id: load.pieces_count for load in loads for id in load.clamping_ids}
    for one in clampings:
        pair = by_id.get(one.jaws_id)
        is_made = pair is not None and (pair.make_s > 0.0 or (one.needs_form and pair.kind == "soft"))
        if one.id not in formed and not is_made:
            continue
        count = places.get(one.id, 1)
        yield Purchase(
            kind="jaws", what=one.jaws_id, count=count, unit="pairs" if count > 1 else "pair",
            price_total=None if pair is None else round(count * pair.price, 2),
            why=f"{'cut to the work' if one.id in formed else 'made for the work'} of op {one.number}"
            + (", one for each place" if count > 1 else ""),
        )  # fmt: skip


def _gauges(gauges: tuple[WantedGauge, ...]) -> Iterator[Purchase]:
    """Each gauge once, whatever the number of sizes that it tells."""
    marks: dict[str, list[str]] = {}
    for one in gauges:
        marks.setdefault(one.what, []).append(f"{one.mark} {one.when} the coat" if one.when else one.mark)
    for what, own in marks.items():
        yield Purchase(
            kind="gauge", what=what, count=1, unit="gauge",
            why=f"nothing in the shop tells size{'s' if len(own) > 1 else ''} {', '.join(own)}",
        )  # fmt: skip


def _kit(line: KitLine) -> Purchase:
    item = line.item
    price = None
    if line.packs_count is not None and item.pack_price is not None:
        price = round(line.packs_count * item.pack_price, 2)
    return Purchase(
        kind="kit", what=item.name, count=line.pieces_count, unit="pieces", packs_count=line.packs_count,
        pack_count=item.pack_count, supplier=item.supplier, price_total=price,
        pack_price=None if price is None else item.pack_price, why=f"{item.count} with each piece",
    )  # fmt: skip
