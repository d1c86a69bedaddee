"""The words of the job file about what is bagged and boxed with a piece."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from proveout.intake.sections import Section
from proveout.intake.toml_words import Place, Word, read_words, table_at, tables_at
from proveout.model.packing import Bag, KitItem
from proveout.quantities.errors import BadInput

KIT = Section(
    name="kit",
    text="hardware that goes with one piece",
    is_list=True,
    words=(
        Word(stem="name", text="what it is called on the pick sheet", kind="text", must=True),
        Word(stem="count", text="how many go with one piece", kind="count", low=1, high=10_000, must=True),
        Word(
            stem="mass", text="mass of one, lightest to heaviest", kind="fact", measure="mass", low=1e-3, high=50_000.0,
            field="mass_kg", origin="job-file",
        ),
        Word(stem="bin", text="where it lies", kind="text", default="", quiet=True),
        Word(stem="supplier", text="who sells it", kind="text", default="", quiet=True),
        Word(stem="pack", text="how many a pack holds", kind="count", low=1, high=1_000_000, field="pack_count"),
        Word(stem="pack_price", text="price of a pack", low=0.0, high=1e6),
    ),
)  # fmt: skip
BAG = Section(
    name="bag",
    text="the bag of one kit, and the box",
    words=(
        Word(
            stem="mass", text="mass of the bag with the paper in it", kind="fact", measure="mass", low=1e-3,
            high=50_000.0, field="mass_kg", origin="job-file",
        ),
        Word(stem="pieces_a_box", text="pieces packed in one box", kind="count", low=1, high=100_000),
        Word(stem="box", text="which box", kind="text", default="", quiet=True),
    ),
)  # fmt: skip


def read_kit(raw: Mapping[str, Any], top: Place) -> tuple[tuple[KitItem, ...], Bag]:
    """The kit of one piece and its bag; an item named twice is refused."""
    items: list[KitItem] = []
    for number, table in enumerate(tables_at(raw, KIT.name, top, must=False, why=KIT.text), start=1):
        place = Place(file=top.file, path=f"{KIT.name} number {number}")
        item = KitItem(**read_words(table, KIT.words, place, []))
        if item.name in [one.name for one in items]:
            raise BadInput(
                "An item of the kit is listed twice", where=place.at("name"), value=f'"{item.name}"',
                do="join the two into one count",
            )  # fmt: skip
        items.append(item)
    table = table_at(raw, BAG.name, top, must=False, why=BAG.text) or {}
    return tuple(items), Bag(**read_words(table, BAG.words, Place(file=top.file, path=BAG.name), []))
