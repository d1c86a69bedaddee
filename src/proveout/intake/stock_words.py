"""The words of the shop file about what lies in the rack already, and about who sells what."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from proveout.intake.sections import Section
from proveout.intake.toml_words import Place, Word, read_words, refuse_twice, tables_at
from proveout.model.shop import Bar
from proveout.model.stock import Remnant, Supply
from proveout.quantities.errors import BadInput

OF_SAW = (
    Word(
        stem="lift_limit", text="heaviest bar that one person may lift", measure="mass", low=1000.0, high=200_000.0,
        field="lift_limit_kg",
    ),
    Word(
        stem="remnant_least", text="shortest remnant that goes back to the rack", measure="length", low=10.0,
        high=6000.0, field="remnant_least_mm",
    ),
)  # fmt: skip
REMNANT = Section(
    name="remnant",
    text="a piece of bar that lies in the rack",
    is_list=True,
    words=(
        Word(stem="id", text="what stands on its tag", kind="id", must=True),
        Word(stem="bar", text="id of the bar that it was sawn from", kind="id", field="bar_id", must=True),
        Word(
            stem="length", text="its whole length", measure="length", low=10.0, high=12_000.0, field="length_mm",
            must=True,
        ),
        Word(stem="heat", text="its heat, as on the mill's certificate", kind="text", default="", quiet=True),
    ),
)  # fmt: skip
SUPPLY = Section(
    name="supply",
    text="who sells something",
    is_list=True,
    words=(
        Word(stem="what", text="id of a bar, cutter or jaws, name of a kit's item, or plug", kind="text", must=True),
        Word(stem="supplier", text="who sells it", kind="text", must=True),
        Word(stem="pack", text="how many a pack holds", kind="count", low=1, high=1_000_000, field="pack_count"),
        Word(stem="pack_price", text="price of a pack", low=0.0, high=1e6),
        Word(stem="days_low", text="working days until it is here, at least", kind="count", low=0, high=400),
        Word(stem="days_high", text="working days until it is here, at most", kind="count", low=0, high=400),
    ),
)  # fmt: skip


def read_stock(raw: Mapping[str, Any], top: Place, bars: Collection[Bar]) -> dict[str, Any]:
    """Remnants and supplies of a shop file; a remnant of a bar that the shop does not have is refused."""
    remnants = tuple(
        Remnant(**read_words(one, REMNANT.words, Place(file=top.file, path=f"{REMNANT.name} number {number}"), []))
        for number, one in enumerate(tables_at(raw, REMNANT.name, top, must=False, why=REMNANT.text), start=1)
    )
    refuse_twice([one.id for one in remnants], f"[[{REMNANT.name}]]", top)
    for one in remnants:
        if one.bar_id not in [bar.id for bar in bars]:
            raise BadInput(
                "A remnant is of a bar that the shop does not have",
                where=Place(file=top.file, path=f'{REMNANT.name} "{one.id}"').at("bar"), value=f'"{one.bar_id}"',
                do="correct the name, or add the bar to the rack",
            )  # fmt: skip
    supplies = tuple(
        _supply(one, Place(file=top.file, path=f"{SUPPLY.name} number {number}"))
        for number, one in enumerate(tables_at(raw, SUPPLY.name, top, must=False, why=SUPPLY.text), start=1)
    )
    refuse_twice([one.what for one in supplies], f"[[{SUPPLY.name}]]", top)
    return {"remnants": remnants, "supplies": supplies}


def _supply(raw: Mapping[str, Any], place: Place) -> Supply:
    supply = Supply(**read_words(raw, SUPPLY.words, place, []))
    low, high = supply.days_low, supply.days_high
    if (low is None) != (high is None) or (low is not None and high is not None and low > high):
        raise BadInput(
            "The days of a supplier need both ends, the shorter first", where=place.at("days_low"),
            value=f"{low} and {high}", do="write days_low and days_high",
        )  # fmt: skip
    if supply.pack_price is not None and supply.pack_count is None:
        raise BadInput(
            "A price of a pack needs its count", where=place.at("pack_price"), value=f"{supply.pack_price:g}",
            do="add pack = ...",
        )  # fmt: skip
    return supply
