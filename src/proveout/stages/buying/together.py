"""Decide what to buy for an order: every thing once for all its parts, so that packs, edges and bars are shared."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import msgspec

from proveout.model.plan import CutterUse
from proveout.model.proof import Decision
from proveout.model.purchase import OrderBuying, OrderPurchase, PartShare, Purchase, SupplierSum
from proveout.model.sawing import OrderSawing, SectionSawing
from proveout.model.shop import Cutter
from proveout.model.stock import Supply
from proveout.stages.buying.decide import as_sold, money_by_length

KINDS = ("bar", "cutter", "jaws", "kit", "plug", "gauge")
NO_LIFE = "life not known"
OF_ONE_PART = "of this part alone: it is not sawn with the others"


class PartNeeds(NamedTuple):
    """What one part of an order asks for by itself.

    name: its number, told apart where it is ordered twice.   pieces_count: of its batch, spare and trial ones with
    them.   uses: of its cutters over the batch.
    """

    name: str
    pieces_count: int
    purchases: tuple[Purchase, ...]
    uses: tuple[CutterUse, ...]


def buy_together(
    *, parts: Sequence[PartNeeds], sawing: OrderSawing, cutters: Sequence[Cutter], supplies: Sequence[Supply]
) -> Decision[OrderBuying]:
    """What an order needs beside what is there.

    Bars are those of the common saw plan; a part that is in none of its sections keeps its own.  Packs are counted for
    the sum over the parts.  An edge goes on from one part's pieces to the next part's, see `edges_at_most`.  Stock on
    the shelf is not known and not taken off.

    Args:     parts: in the order's order.   sawing: of all together.   cutters, supplies: the shop's.
    Returns:  lines by supplier, of each bars, cutters, jaws, kit, plugs; nothing is claimed.
    Raises:   nothing.
    Checked:  tests/stages/buying/test_together.py
    """
    sold = {one.what: one for one in supplies}
    lines = [
        *_bars(parts, sawing, sold),
        *(as_sold(sold.get(line.what), line) for line in _cutters(parts, cutters)),
        *_merged(parts),
    ]
    lines.sort(key=lambda line: KINDS.index(line.kind))
    place = {supplier: number for number, supplier in enumerate(dict.fromkeys(line.supplier for line in lines))}
    lines.sort(key=lambda line: place[line.supplier])
    return Decision(
        value=OrderBuying(
            lines=tuple(lines), suppliers=tuple(_sum_of(name, lines) for name in place),
            price_total=round(sum(line.price_total or 0.0 for line in lines), 2),
            unpriced_count=sum(line.price_total is None for line in lines),
        )
    )  # fmt: skip


def edges_at_most(uses: Sequence[CutterUse], counts: Sequence[int]) -> int | None:
    """Edges of one cutter on one machine that suffice for all parts, in whatever order their pieces are made.

    An edge goes on from part to part and is changed before a piece that it would not last.  Each that is changed has
    then worked for more than its life less the longest piece, which says how many can have been changed.  Where every
    part keeping edges of its own takes fewer, those are told.

    Args:     uses: of each part.   counts: pieces of each, spare and trial ones with them.
    Returns:  edges, at least 1; None where the life of one use is not known or shorter than a piece.
    """
    apart = [use.edges_count for use in uses]
    lives = [use.life_s for use in uses]
    if any(count is None for count in apart) or any(life is None for life in lives):
        return None
    most = sum(count or 0 for count in apart)
    life_s = min(life or 0.0 for life in lives)
    longest_s = max(use.piece_s.high for use in uses)
    if life_s <= longest_s:
        return most
    total_s = sum(use.piece_s.high * count for use, count in zip(uses, counts, strict=True))
    return max(1, min(most, math.floor(total_s / (life_s - longest_s)) + 1))


def _bars(parts: Sequence[PartNeeds], sawing: OrderSawing, sold: dict[str, Supply]) -> Iterator[OrderPurchase]:
    sawn = {lot.part for section in sawing.sections for lot in section.lots}
    for section in sawing.sections:
        for line in _bars_of(section):
            yield as_sold(sold.get(section.bar_id), line)
    for part in parts:
        if part.name not in sawn:
            for line in part.purchases:
                if line.kind == "bar":
                    share = PartShare(part=part.name, count=line.count)
                    yield _of_order(line, (share,), why=f"{line.why}; {OF_ONE_PART}")


def _bars_of(section: SectionSawing) -> Iterator[OrderPurchase]:
    """New bars of one section by length."""
    counts: dict[float, int] = {}
    for row in section.rows:
        if not row.tag:
            counts[row.bar_length_mm] = counts.get(row.bar_length_mm, 0) + row.bundle_count * row.times
    from_rack = {part for part, _ in section.from_heat}
    fresh = [lot for lot in section.lots if lot.part not in from_rack]
    alloys = " and ".join(dict.fromkeys(lot.alloy for lot in fresh if lot.alloy))
    heat = "one heat for all" if len(fresh) > 1 else "one heat for the lot"
    for length_mm, count, money in money_by_length(section.price, counts):
        yield OrderPurchase(
            kind="bar", what=f"{section.bar_id}, {length_mm / 1000.0:g} m", count=count, unit="bars",
            price_total=money, why=f"{alloys}, {heat}", shares=tuple(PartShare(part=lot.part) for lot in fresh),
        )  # fmt: skip


def _cutters(parts: Sequence[PartNeeds], cutters: Sequence[Cutter]) -> Iterator[OrderPurchase]:
    """Edges beside those in the machines, each machine by itself."""
    prices = {cutter.id: cutter.price for cutter in cutters}
    for cutter_id in dict.fromkeys(use.cutter_id for part in parts for use in part.uses):
        own = [(part, use) for part in parts for use in part.uses if use.cutter_id == cutter_id]
        shares = tuple(PartShare(part=name) for name in dict.fromkeys(part.name for part, _ in own))
        spares: int | None = 0
        for machine_id in dict.fromkeys(use.machine_id for _, use in own):
            here = [(part, use) for part, use in own if use.machine_id == machine_id]
            edges = edges_at_most([use for _, use in here], [part.pieces_count for part, _ in here])
            spares = None if edges is None or spares is None else spares + edges - 1
        if spares == 0:
            continue
        price = prices.get(cutter_id)
        yield OrderPurchase(
            kind="cutter", what=cutter_id, count=spares, unit="edges", shares=shares,
            price_total=None if price is None or spares is None else round(spares * price, 2),
            why=NO_LIFE if spares is None else "the edge in use wears out",
        )  # fmt: skip


def _merged(parts: Sequence[PartNeeds]) -> Iterator[OrderPurchase]:
    """Jaws, kit, plugs and gauges: the same thing of the same supplier in the same pack is one line.

    Its packs are counted anew; a gauge that two parts want is bought once.
    """
    found: dict[tuple[str, str, str, int | None, float | None], list[tuple[str, Purchase]]] = {}
    for part in parts:
        for line in part.purchases:
            if line.kind in ("jaws", "kit", "plug", "gauge"):
                key = (line.kind, line.what, line.supplier, line.pack_count, line.pack_price)
                found.setdefault(key, []).append((part.name, line))
    for (kind, *_), own in found.items():
        first = own[0][1]
        by_part: dict[str, int] = {}
        for name, line in own:
            by_part[name] = by_part.get(name, 0) + (line.count or 0)
        count = max(by_part.values()) if kind == "gauge" else sum(by_part.values())
        packs, price = None, None
        if first.packs_count is not None and first.pack_count is not None:
            packs = -(-count // first.pack_count)
            price = None if first.pack_price is None else round(packs * first.pack_price, 2)
        elif all(line.price_total is not None for _, line in own):
            price = round(sum(line.price_total or 0.0 for _, line in own), 2)
        whys = list(dict.fromkeys(line.why for _, line in own))
        line = msgspec.structs.replace(
            first, count=count, unit="pairs" if kind == "jaws" and count > 1 else first.unit, packs_count=packs,
            price_total=price,
        )  # fmt: skip
        shares = tuple(PartShare(part=name, count=None if kind == "gauge" else many) for name, many in by_part.items())
        yield _of_order(line, shares, why=whys[0] if len(whys) == 1 else "; ".join(_told(own)))


def _told(own: Sequence[tuple[str, Purchase]]) -> list[str]:
    """Why each part asks for it, where they ask for other reasons."""
    return [f"{name}: {line.why}" for name, line in own]


def _of_order(line: Purchase, shares: tuple[PartShare, ...], *, why: str) -> OrderPurchase:
    return OrderPurchase(
        kind=line.kind, what=line.what, count=line.count, unit=line.unit, packs_count=line.packs_count,
        pack_count=line.pack_count, pack_price=line.pack_price, supplier=line.supplier, price_total=line.price_total,
        why=why, days_low=line.days_low, days_high=line.days_high, shares=shares,
    )  # fmt: skip


def _sum_of(supplier: str, lines: Sequence[OrderPurchase]) -> SupplierSum:
    own = [line for line in lines if line.supplier == supplier]
    days = [line.days_high for line in own]
    return SupplierSum(
        supplier=supplier, lines_count=len(own), price_total=round(sum(line.price_total or 0.0 for line in own), 2),
        unpriced_count=sum(line.price_total is None for line in own),
        days_high=None if any(one is None for one in days) else max(one or 0 for one in days),
    )  # fmt: skip
