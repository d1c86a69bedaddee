"""Cells of one line of a purchase list, alike on the list of a part and on that of its order."""

from __future__ import annotations

from typing import NamedTuple

from proveout.model.purchase import Purchase
from proveout.sheets.ink import Ink


class BoughtCells(NamedTuple):
    """As printed: how many and in how many packs, money of the line, working days until it is here."""

    count: str
    packs: str
    price: str
    days: str


def bought_what(line: Purchase, what: str) -> str:
    """The name of what is bought; of jaws it says that they are some."""
    return f"{what} jaws" if line.kind == "jaws" and "jaw" not in what else what


def bought_cells(ink: Ink, line: Purchase, at: tuple[str | int, ...]) -> BoughtCells:
    """The cells of a line that stands at an address; what nobody knows says so."""
    unit = line.unit.removesuffix("s") if line.count == 1 else line.unit
    count = "not known" if line.count is None else f"{ink.number(*at, 'count', digits=0)} {unit}"
    packs = "-"
    if line.packs_count is not None:
        packs = ink.number(*at, "packs_count", digits=0)
        if line.pack_count is not None:
            packs += f" of {ink.number(*at, 'pack_count', digits=0)}"
    days = "not known"
    if line.days_low is not None and line.days_high is not None:
        ends = [ink.number(*at, f"days_{end}", digits=0) for end in ("low", "high")]
        days = ends[0] if line.days_low == line.days_high else " to ".join(ends)
    price = "-" if line.price_total is None else ink.number(*at, "price_total", digits=2)
    return BoughtCells(count, packs, price, days)
