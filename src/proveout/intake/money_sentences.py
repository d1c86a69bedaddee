"""What a shop file was understood to say of how far its prices may be off, and of where pieces are sold."""

from __future__ import annotations

from proveout.intake.toml_words import plain
from proveout.model.fact import Fact
from proveout.model.shop import Shop


def _ends(fact: Fact, times: float = 1.0) -> str:
    low, high = plain(fact.low * times), plain(fact.high * times)
    return low if low == high else f"{low} to {high}"


def _kinds(shop: Shop) -> tuple[tuple[str, Fact | None], ...]:
    money = shop.money
    return (
        ("metal", money.bar_ratio), ("rates an hour", money.rate_ratio), ("finishers", money.outside_ratio),
        ("minutes of set-ups and saw", money.setup_ratio), ("cutters a minute", money.cutter_ratio),
    )  # fmt: skip


def money_words(shop: Shop) -> list[str]:
    """One sentence for spreads, one for chips and lying, one for channels; none for what is not written."""
    said = [f"{name} {_ends(fact)}" for name, fact in _kinds(shop) if fact is not None]
    lines = []
    if said:
        left = [name for name, fact in _kinds(shop) if fact is None]
        exact = f"; counted as exact: {', '.join(left)}" if left else ""
        lines.append(f"Prices may be off, all of a kind together, in times what is written: {', '.join(said)}{exact}.")
    money = shop.money
    more = []
    if money.chip_price_per_kg is not None:
        more.append(f"a kilogram of chips brings {_ends(money.chip_price_per_kg)} {shop.currency}")
    if money.holding_ratio is not None:
        more.append(f"a year of lying costs {_ends(money.holding_ratio, 100.0)} % of a piece")
    if more:
        text = "; ".join(more)
        lines.append(f"{text[0].upper()}{text[1:]}.")
    if money.channels:
        ways = [
            f"{one.id} for {plain(100.0 * one.fee_ratio)} % of the price"
            + (f" and {one.fee_each:.2f} {shop.currency} a piece" if one.fee_each else "")
            for one in money.channels
        ]
        lines.append(f"Sold by {', '.join(ways)}.")
    return lines


def unknown_money(shop: Shop) -> list[str]:
    """That the band of a price is too narrow where nobody said how far prices may be off."""
    if any(fact is not None for _, fact in _kinds(shop)):
        return []
    return ["Unknown: how far prices and rates may be off ([money]). The band of a price takes them as exact."]
