"""Decide what to buy: bars, edges that wear out, jaws that are cut to the work, hardware by the pack."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.model.jaw_form import JawForm
from proveout.model.packing import KitLine, Packing
from proveout.model.plan import BarsPlan, CutterUse
from proveout.model.proof import Decision
from proveout.model.purchase import Purchase
from proveout.model.shop import Cutter
from proveout.model.work import Clamping


def decide(
    *, bars_plan: BarsPlan, alloy: str, is_money_known: bool, uses: tuple[CutterUse, ...],
    cutters: tuple[Cutter, ...], clampings: tuple[Clamping, ...], forms: tuple[JawForm, ...], packing: Packing,
) -> Decision[tuple[Purchase, ...]]:  # fmt: skip
    """What the batch needs beside what is there.

    Bars stand with their money once, on the first line.  A cutter whose life nobody wrote has a line without a count:
    how many edges it asks for is not known.  Stock on the shelf is not known and not taken off.

    Args:     is_money_known: whether the shop's price of metal is that of this alloy.   uses: of every cutter over the
              batch.   cutters: the shop's.   forms: pockets of soft jaws, by the clamping whose work they hold.
    Returns:  the lines: bars by id and length, then cutters, jaws and kit in the order given; nothing is claimed.
    Raises:   nothing.
    Checked:  tests/stages/buying/test_buying.py
    """
    return Decision(
        value=(
            *_bars(bars_plan, alloy, is_money_known=is_money_known),
            *_cutters(uses, cutters),
            *_jaws(clampings, forms),
            *(_kit(line) for line in packing.lines),
        )
    )


def _bars(bars_plan: BarsPlan, alloy: str, *, is_money_known: bool) -> Iterator[Purchase]:
    counts: dict[tuple[str, float], int] = {}
    for pattern in bars_plan.patterns:
        key = (pattern.bar_id, pattern.bar_length_mm)
        counts[key] = counts.get(key, 0) + pattern.bundle_count * pattern.times
    for number, ((bar_id, length_mm), count) in enumerate(sorted(counts.items())):
        is_first = number == 0
        yield Purchase(
            kind="bar", what=f"{bar_id}, {length_mm / 1000.0:g} m", count=count, unit="bars",
            price_total=round(bars_plan.price, 2) if is_first and is_money_known else None,
            why=f"{alloy}, one heat for the lot" + ("; price of all bars" if is_first and len(counts) > 1 else ""),
        )  # fmt: skip


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


def _jaws(clampings: tuple[Clamping, ...], forms: tuple[JawForm, ...]) -> Iterator[Purchase]:
    formed = {form.clamping_id for form in forms}
    for one in clampings:
        if one.id in formed:
            yield Purchase(
                kind="jaws", what=one.jaws_id, count=1, unit="pair", why=f"cut to the work of op {one.number}"
            )


def _kit(line: KitLine) -> Purchase:
    item = line.item
    price = None
    if line.packs_count is not None and item.pack_price is not None:
        price = round(line.packs_count * item.pack_price, 2)
    return Purchase(
        kind="kit", what=item.name, count=line.pieces_count, unit="pieces", packs_count=line.packs_count,
        supplier=item.supplier, price_total=price, why=f"{item.count} with each piece",
    )  # fmt: skip
