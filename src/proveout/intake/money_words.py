"""Words of money beyond prices: how far they may be off and channels in the shop file, price and demand in a job."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from proveout.intake.sections import Section
from proveout.intake.toml_words import Place, Word, read_words, refuse_twice, table_at, tables_at
from proveout.model.selling import Demand, Selling
from proveout.model.shop import Channel, ShopMoney
from proveout.quantities.errors import OutOfRange


def _times(stem: str, text: str) -> Word:
    return Word(
        stem=f"{stem}_times", text=f"how far {text} may be off, all together, as multiples of what is written",
        kind="fact", low=0.1, high=10.0, field=f"{stem}_ratio",
    )  # fmt: skip


def _holding(origin: str) -> Word:
    return Word(
        stem="holding", text="what a year of lying costs, as a share of what a piece costs: money tied up, room, loss",
        kind="fact", measure="percent", low=0.1, high=200.0, field="holding_ratio", origin=origin,
    )  # fmt: skip


# what stands on a finisher's invoice beside pieces, minimum charge and carriage
INVOICE = (
    Word(stem="loading_price", text="racking or loading, a lot", low=0.0, high=10_000.0, default=0.0, quiet=True),
    Word(
        stem="further_part_price", text="each further part number in one lot", low=0.0, high=10_000.0, default=0.0,
        quiet=True,
    ),
    Word(
        stem="charges_plugs", text="whether plugs and masks are set there and charged, each at its price", kind="flag",
        default=False, quiet=True,
    ),
)  # fmt: skip
OVERTIME = Word(
    stem="overtime", text="what an hour beyond the shift costs more, as a share of the rate of machine or hand",
    kind="fact", measure="percent", low=0.0, high=400.0, field="overtime_ratio", default=None, quiet=True,
)  # fmt: skip
MONEY = Section(
    name="money",
    text="how far prices may be off, and what chips bring",
    words=(
        _times("bar", "prices of metal"),
        _times("rate", "rates an hour"),
        _times("outside", "prices of finishers"),
        _times("setup", "minutes of set-ups and saw"),
        _times("cutter", "the cost of cutters a minute"),
        Word(stem="chip_price_per_kg", text="paid for a kilogram of clean chips", kind="fact", low=0.0, high=100.0),
        _holding("shop-file"),
    ),
)
CHANNEL = Section(
    name="channel",
    text="a way of selling",
    is_list=True,
    words=(
        Word(stem="id", text="short name, never changed once used", kind="id", must=True),
        Word(
            stem="fee", text="share of the price that goes to others", measure="percent", low=0.0, high=90.0,
            field="fee_ratio", must=True,
        ),
        Word(stem="fee_each", text="money a piece beside it, as postage", low=0.0, high=10_000.0, default=0.0,
             quiet=True),
    ),
)  # fmt: skip
SELLING = Section(
    name="selling",
    text="for what a piece is sold, or could be bought",
    words=(
        Word(stem="price", text="price of a piece before fees", low=0.0, high=1e6),
        Word(
            stem="margin", text="share of the price that is to be left", measure="percent", low=0.0, high=95.0,
            field="margin_ratio",
        ),
        Word(
            stem="bought_each", text="price of a piece bought ready made, delivered, of the same finish", kind="fact",
            low=0.0, high=1e6, origin="job-file",
        ),
        Word(stem="channels", text="channels it is sold by; without them all of the shop", kind="texts", default=[],
             quiet=True),
    ),
)  # fmt: skip
DEMAND = Section(
    name="demand",
    text="how many are wanted in a year, so that the quantity of least cost can be told",
    words=(
        Word(
            stem="per_year", text="good pieces wanted in a year", kind="fact", low=0.0, high=1e7, must=True,
            origin="job-file",
        ),
        _holding("job-file"),
        Word(
            stem="shared_setup", text="share of the set-up minutes that fall away where another part with the same "
            "set-up runs just before", kind="fact", measure="percent", low=0.0, high=100.0, field="shared_setup_ratio",
            origin="job-file",
        ),
    ),
)  # fmt: skip


def money_of_words(raw: Mapping[str, Any], top: Place) -> ShopMoney:
    """What a shop file says under [money] and [[channel]]; nothing where it has neither."""
    table = table_at(raw, MONEY.name, top, must=False) or {}
    values = read_words(table, MONEY.words, Place(file=top.file, path=MONEY.name), [])
    channels = tuple(
        Channel(**read_words(one, CHANNEL.words, Place(file=top.file, path=f"channel number {number}"), []))
        for number, one in enumerate(tables_at(raw, CHANNEL.name, top, must=False), start=1)
    )
    refuse_twice([channel.id for channel in channels], "[[channel]]", top)
    return ShopMoney(channels=channels, **values)


def selling_of_words(raw: Mapping[str, Any], top: Place) -> Selling | None:
    """What a job says under [selling]; None where it has none."""
    table = table_at(raw, SELLING.name, top, must=False)
    if table is None:
        return None
    return Selling(**read_words(table, SELLING.words, Place(file=top.file, path=SELLING.name), []))


def demand_of_words(raw: Mapping[str, Any], top: Place) -> Demand | None:
    """What a job says under [demand]; None where it has none."""
    table = table_at(raw, DEMAND.name, top, must=False)
    if table is None:
        return None
    place = Place(file=top.file, path=DEMAND.name)
    demand = Demand(**read_words(table, DEMAND.words, place, []))
    if demand.per_year.low <= 0.0:
        raise OutOfRange(
            "Some pieces are wanted in a year", where=place.at("per_year"), value=f"{demand.per_year.low:g}",
            limit="above 0", do="correct the number or leave [demand] out",
        )  # fmt: skip
    return demand
