"""What the desk shows of stock: bars, remnants, blanks, parts, kits, cutters with minutes left, coolant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from proveout.books.folding import item_key
from proveout.jobs.home import Home
from proveout.model.stock_kept import Item
from proveout.quantities.errors import BadInput
from proveout.quantities.units import MM_PER_INCH, S_PER_MIN
from proveout.records.records import Records

TITLES = {
    "bar": "Bars", "remnant": "Remnants", "blank": "Blanks", "half-made part": "Half-made parts",
    "coated part": "Coated parts", "boxed part": "Boxed parts", "kit": "Kits", "hardware": "Hardware", "other": "Else",
}  # fmt: skip


@dataclass(frozen=True)
class StockLine:
    """One item in one place. length: in the shop's unit, empty where it has none.   low_at: where more is ordered."""

    row: dict[str, Any]
    length: str
    low_at: str


@dataclass(frozen=True)
class CutterLine:
    """A cutter's edge in a machine. left: minutes in cut, in words.   is_over: none are left."""

    machine: str
    cutter: str
    left: str
    used: str
    changes_count: int
    is_over: bool


@dataclass(frozen=True)
class CoolantLine:
    """One look at a machine's coolant, in words."""

    machine: str
    at: str
    share: str
    ph: str
    added: str
    note: str
    person: str


@dataclass(frozen=True)
class GaugeLine:
    """A gauge and how it stands, in words. is_good: it may be read by."""

    gauge: str
    checked: str
    person: str
    state: str
    is_good: bool
    readings_count: int


def stock_lines(records: Records, *, is_inch: bool) -> list[tuple[str, list[StockLine]]]:
    """Everything in stock by its sort, with a title; sorts of which nothing was ever there are left out."""
    found: dict[str, list[StockLine]] = {}
    for row in records.rows("stock"):
        length = row["length_mm"]
        words = "" if length is None else f"{length / MM_PER_INCH:.2f} in" if is_inch else f"{length:.0f} mm"
        at = row["reorder_at_count"]
        low = "" if at is None else f"at {at}: order more" if row["is_low"] else f"at {at}"
        found.setdefault(row["sort"], []).append(StockLine(row=row, length=words, low_at=low))
    return [(title, found[sort]) for sort, title in TITLES.items() if sort in found]


def low_items(records: Records) -> list[str]:
    """Names of what is to be ordered."""
    return sorted({row["name"] or row["item"] for row in records.rows("stock") if row["is_low"]})


def cutter_lines(records: Records) -> list[CutterLine]:
    """Every edge in a machine, that with least left first; those of which nobody knows the life last."""
    rows = sorted(records.rows("cutters"), key=lambda row: (row["left_s"] is None, row["left_s"] or 0.0))
    return [
        CutterLine(
            machine=row["machine"], cutter=row["cutter"], used=f"{row['used_s'] / S_PER_MIN:.0f}",
            left="not known" if row["left_s"] is None else f"{row['left_s'] / S_PER_MIN:.0f}",
            changes_count=row["changes_count"], is_over=row["left_s"] is not None and row["left_s"] <= 0.0,
        )
        for row in rows
    ]  # fmt: skip


def coolant_lines(records: Records) -> list[CoolantLine]:
    """The coolant log, the last first."""
    return [
        CoolantLine(
            machine=row["machine"], at=row["at"][:16].replace("T", " "), note=row["note"], person=row["person"],
            share="" if row["share_ratio"] is None else f"{row['share_ratio'] * 100.0:.1f} %",
            ph="" if row["ph"] is None else f"{row['ph']:g}", added=f"{row['added_l']:g} l" if row["added_l"] else "",
        )
        for row in reversed(records.rows("coolant"))
    ]  # fmt: skip


def gauge_lines(records: Records, *, day: str) -> list[GaugeLine]:
    """Every gauge that was ever checked, those that nobody may read by first. day: ISO date of the reader."""
    found: list[GaugeLine] = []
    for row in records.rows("gauges"):
        many = row["doubtful_count"]
        doubtful = "1 reading" if many == 1 else f"{many} readings"
        again = f"; read again what was read by it since it was last right: {doubtful}" if many else ""
        state = f"in date until {row['until']}" if row["until"] >= day else f"out of date since {row['until']}"
        is_good = bool(row["is_right"]) and row["until"] >= day
        found.append(
            GaugeLine(gauge=row["gauge"], checked=row["checked"], person=row["person"], is_good=is_good,
                      state=state if row["is_right"] else f"does not read right{again}",
                      readings_count=row["readings_count"])
        )  # fmt: skip
    return sorted(found, key=lambda one: (one.is_good, one.gauge))


def offers_of(records: Records, home: Home) -> dict[str, list[str]]:
    """What forms offer: names that the records know, and those of the shop file unless it is broken."""
    stock = records.rows("stock")
    found = {"items": sorted({row["item"] for row in stock}), "places": sorted({row["place"] for row in stock} - {""}),
             "gauges": sorted(row["gauge"] for row in records.rows("gauges"))}  # fmt: skip
    try:
        shop = home.shop()
    except BadInput:
        return found
    return found | {
        "alloys": sorted({bar.alloy for bar in shop.bars}), "sections": sorted({bar.id for bar in shop.bars}),
        "machines": sorted(machine.id for machine in shop.machines),
        "cutters": sorted(cutter.id for cutter in shop.cutters),
    }  # fmt: skip


def item_in(records: Records, tag: str) -> Item | None:
    """An item of stock by its tag, None when there is none."""
    found = records.book(item_key(tag))
    return found if isinstance(found, Item) else None
