"""Ways out of a size that the coat leaves no room for, and what the shop file says that each costs."""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact, weaker_of
from proveout.model.job import Coat
from proveout.model.shop import Bench, Finisher, Noun
from proveout.quantities.units import S_PER_H

CoatWayKind = Literal["loosen", "oversize tap", "plug or mask", "hone", "tighten the coat"]


class CoatWay(Noun, frozen=True, kw_only=True):
    """One thing that the owner can do about a size. helps: by itself, as far as is known.

    price: money for each `per`; nought for what is the owner's own to change, None where nobody has written it.
    """

    kind: CoatWayKind
    text: str
    per: Literal["drawing", "piece", "tap"]
    price: Fact | None
    helps: bool = True

    def words(self, currency: str) -> str:
        """Text and price as one phrase."""
        if not self.helps:
            return self.text
        return f"{self.text} ({self.price_words(currency)})"

    def price_words(self, currency: str) -> str:
        """The price in words: free, unknown, or money for each piece or tap."""
        if self.price is None:
            return "price not known: ask"
        if self.price.high <= 0.0:
            return "free: it is your drawing" if self.per == "drawing" else "no price"
        low, high = f"{self.price.low:.2f}", f"{self.price.high:.2f}"
        return f"{low if low == high else f'{low} to {high}'} {currency} a {self.per}".replace("  ", " ")


class CoatPrices(Noun, frozen=True, kw_only=True):
    """What the ways out cost, for each plug, mask, bore and tap, and a piece for the coat; None where nobody says."""

    currency: str = ""
    plug: Fact | None = None
    mask: Fact | None = None
    hone: Fact | None = None
    tap: Fact | None = None
    tighter_coat: Fact | None = None


def coat_prices(*, coat: Coat | None, finishers: tuple[Finisher, ...], bench: Bench, currency: str) -> CoatPrices:
    """Prices of the shop file for one coat; honing costs what is written for it, else its minutes at the rate."""
    finisher = next((f for f in finishers if coat is not None and f.id == coat.finisher), None)
    hone = bench.hone_price
    if hone is None and bench.hone_s is not None:
        rate = bench.rate_per_h / S_PER_H
        took = bench.hone_s
        hone = Fact(
            low=took.low * rate, nominal=took.nominal * rate, high=took.high * rate, unit="", source=took.source,
            strength=weaker_of(took.strength, "owner's guess"),
        )  # fmt: skip
    return CoatPrices(
        currency=currency, plug=finisher.plug_price if finisher else None,
        mask=finisher.mask_price if finisher else None, hone=hone, tap=bench.oversize_tap_price,
        tighter_coat=finisher.tighter_coat_price if finisher else None,
    )  # fmt: skip
